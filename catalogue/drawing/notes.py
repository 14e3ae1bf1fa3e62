"""What of a map no rail shows, in words or as lists, so that a chart hides nothing."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from catalogue.core.document import MapDocument, Point
from catalogue.core.reference import Reference
from catalogue.drawing.contacts import Contacts
from catalogue.drawing.parts import drawable, part_words
from catalogue.drawing.rails import Rail
from catalogue.drawing.sleeves import core_words, fault_words
from catalogue.drawing.tree import Tree


def spare_contacts(rails: Iterable[Rail], contacts: Contacts) -> list[tuple[str, list[Point]]]:
    """The contacts that no rail has, by end; ends without any are left out."""
    on_rails = {contact for rail in rails for group in rail.contacts.values() for contact in group}
    spare = ((end, [contact for contact in group if contact not in on_rails]) for end, group in contacts.by_end.items())
    return [(end, group) for end, group in spare if group]


def notes_of(
    document: MapDocument, rails: Sequence[Rail], nets: Collection[str], contacts: Contacts, tree: Tree
) -> list[str]:
    """In words, what the document says of things that it does not declare, or that hang on no rail."""
    return [
        *(f"section {name}: closes a loop, or leads to a place not declared" for name in tree.left_out),
        *_loose_cores(document, {rail.name for rail in rails}, tree),
        *(
            f"{part.kind} {part_words(part)} between {part.between[0]} and {part.between[1]}"
            for part in document.parts
            if not drawable(part, nets)
        ),
        *(
            f"{net}: {fault_words(fault, net)[0]}"
            for fault in document.faults
            for net in fault.nets[:1]
            if not any(rail.name in fault.nets for rail in rails)
        ),
        *(f"contact {contact}: its end is not declared" for contact in _strange_contacts(rails, contacts)),
    ]


def colour_letters(document: MapDocument, reference: Reference) -> str:
    """The colour letters used on the cores, with their names; empty when none is told."""
    codes = sorted({code for core in document.cores for code in core.colours})
    colours = reference.colours
    names = (f"{code} {colours[code].name if code in colours else 'not in the table'}" for code in codes)
    return f"Colour letters (IEC 60757): {', '.join(names)}" if codes else ""


def _loose_cores(document: MapDocument, rails: Collection[str], tree: Tree) -> list[str]:
    sections = {link.section.name for link in tree.links} - {""}
    return [
        f"core {next(core_words(core))} in {core.section or 'no section'}: on no rail"
        for core in document.cores
        if core.carries not in rails or core.section not in sections
    ]


def _strange_contacts(rails: Iterable[Rail], contacts: Contacts) -> list[Point]:
    """Contacts of ends that are not declared."""
    strange = (group for rail in rails for end, group in rail.contacts.items() if end not in contacts.by_end)
    return list(dict.fromkeys(contact for group in strange for contact in group))
