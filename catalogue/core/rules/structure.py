"""Rules about the document's own order: what it names must be declared, and must lie where it can."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from catalogue.core.document import CUSTOM_CONNECTOR, Point
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import listed, metres
from catalogue.core.rules.remark import Remark


def contact_unknown(context: Context) -> Iterator[Remark]:
    yield from _unknown_connectors(context)
    yield from _unknown_places(context)
    yield from _unknown_contacts(context)
    yield from _unknown_names(context)
    yield from _unknown_points_in_readings(context)


def _unknown_connectors(context: Context) -> Iterator[Remark]:
    for index, end in enumerate(context.document.ends):
        if end.connector != CUSTOM_CONNECTOR and end.connector not in context.reference.connectors:
            yield Remark(
                f"End {end.name} has the connector {end.connector}, which is not in the list of standard "
                "connectors. Take one from the list, or `custom` with the rows of its contacts.",
                at=(f"/ends/{index}/connector",),
            )


def _unknown_places(context: Context) -> Iterator[Remark]:
    places = context.document.place_names
    for index, section in enumerate(context.document.sections):
        for field, place in (("from", section.start), ("to", section.finish)):
            if place not in places:
                yield Remark(
                    f"Section {section.name} runs {field} {place}, but there is no end, module or split of that name.",
                    at=(f"/sections/{index}/{field}",),
                )


def _unknown_contacts(context: Context) -> Iterator[Remark]:
    for index, net in enumerate(context.document.nets):
        for place, contact in enumerate(net.contacts):
            if contact not in context.contacts:
                at = f"/nets/{index}/contacts/{place}"
                yield _unknown_point(context, f"Net {net.name} lists {contact}", contact, at)
    for index, path in enumerate(context.document.paths):
        for field, contact in (("from", path.start), ("to", path.finish)):
            if contact not in context.contacts:
                at = f"/paths/{index}/{field}"
                yield _unknown_point(context, f"Path {path.name} runs {field} {contact}", contact, at)


def _unknown_point(context: Context, said: str, point: Point, at: str) -> Remark:
    why = context.unknown(point) or "a core in an opening is not a contact"
    return Remark(f"{said}, but {why}.", contacts=(point,), at=(at,))


def _unknown_names(context: Context) -> Iterator[Remark]:
    document = context.document
    sections = {section.name for section in document.sections}
    for index, core in enumerate(document.cores):
        yield from _missing(f"Core {core.name} lies in", "section", core.section, sections, f"/cores/{index}/section")
        if core.carries and core.carries not in context.nets and core.carries not in context.paths:
            yield Remark(
                f"Core {core.name} carries {core.carries}, but there is no net or path of that name.",
                at=(f"/cores/{index}",),
            )
    for index, part in enumerate(document.parts):
        for place, name in enumerate(part.between):
            said = f"The {part.kind} between {listed(part.between)} needs"
            yield from _missing(said, "net", name, context.nets, f"/parts/{index}/between/{place}")
    for index, mark in enumerate(document.marks):
        yield from _missing(f"The {mark.kind} mark is in", "section", mark.section, sections, f"/marks/{index}/section")
    for index, opening in enumerate(document.openings):
        yield from _missing("An opening is in", "section", opening.section, sections, f"/openings/{index}/section")
    for index, fault in enumerate(document.faults):
        for name in fault.nets:
            yield from _missing(f"A fault ({fault.kind}) is on", "net", name, context.nets, f"/faults/{index}")
        if fault.section:
            said = f"A fault ({fault.kind}) is in"
            yield from _missing(said, "section", fault.section, sections, f"/faults/{index}/section")


def _missing(said: str, kind: str, name: str, known: Collection[str], at: str) -> Iterator[Remark]:
    if name not in known:
        yield Remark(f"{said} {kind} {name}, but there is no {kind} of that name.", at=(at,))


def _unknown_points_in_readings(context: Context) -> Iterator[Remark]:
    for index, reading in enumerate(context.document.readings):
        why = {
            point: unknown
            for point in dict.fromkeys((reading.red, *reading.black))
            if (unknown := context.unknown(point))
        }
        if why:
            yield Remark(
                f"Reading {reading.id} probes {listed(why)}, but {listed(dict.fromkeys(why.values()), 3)}. "
                "Until that is mended, nothing is concluded from this reading.",
                contacts=tuple(why),
                readings=(reading.id,),
                at=(f"/readings/{index}",),
            )


def contact_in_two_nets(context: Context) -> Iterator[Remark]:
    first: dict[Point, tuple[int, int]] = {}
    for index, net in enumerate(context.document.nets):
        for place, contact in enumerate(net.contacts):
            other, other_place = first.setdefault(contact, (index, place))
            if other != index:
                yield Remark(
                    f"{contact} is listed in net {net.name} and in net {context.document.nets[other].name}. "
                    "If they are one conductor, make one net of them; else strike it from one of the two.",
                    contacts=(contact,),
                    at=(f"/nets/{index}/contacts/{place}", f"/nets/{other}/contacts/{other_place}"),
                )


def core_out_of_place(context: Context) -> Iterator[Remark]:
    yield from _beyond_sections(context)
    yield from _outside_openings(context)
    yield from _loops(context)
    yield from _islands(context)


def _beyond_sections(context: Context) -> Iterator[Remark]:
    lengths = {section.name: section.length_m for section in context.document.sections}
    for said, section, at_m, at in _placed(context):
        if context.beyond(section, at_m):
            length_m = lengths.get(section)
            end = "" if length_m is None else f", but that section is {metres(length_m)} long"
            yield Remark(f"{said} lies at {metres(at_m)} of section {section}{end}.", at=(at,))


def _placed(context: Context) -> Iterator[tuple[str, str, float, str]]:
    """What lies at a place along a section: its name, the section, the metres, and the JSON pointer."""
    for index, opening in enumerate(context.document.openings):
        yield "The opening", opening.section, opening.at_m, f"/openings/{index}/at_m"
    for index, mark in enumerate(context.document.marks):
        yield f"The {mark.kind} mark", mark.section, mark.at_m, f"/marks/{index}/at_m"
    for index, fault in enumerate(context.document.faults):
        if fault.at_m is not None:
            yield f"The fault ({fault.kind})", fault.section, fault.at_m, f"/faults/{index}/at_m"


def _outside_openings(context: Context) -> Iterator[Remark]:
    for index, reading in enumerate(context.document.readings):
        for point in dict.fromkeys((reading.red, *reading.black)):
            if why := context.misplaced(point):
                yield Remark(
                    f"Reading {reading.id} probes {point}, but {why}. Declare the opening, or correct the "
                    "place. Until then, nothing is concluded from this reading.",
                    contacts=(point,),
                    readings=(reading.id,),
                    at=(f"/readings/{index}",),
                )


def _loops(context: Context) -> Iterator[Remark]:
    for index in context.topology.loops:
        section = context.document.sections[index]
        yield Remark(
            f"Section {section.name} from {section.start} to {section.finish} closes a loop: there is a way "
            "between the two already. The sections of a cable form a tree.",
            at=(f"/sections/{index}",),
        )


def _islands(context: Context) -> Iterator[Remark]:
    islands = context.topology.islands
    if context.document.sections and len(islands) > 1:
        parts = [listed(island) for island in islands]
        yield Remark(
            f"The sections do not connect the whole cable: no section leads from {parts[0]} to "
            f"{listed(parts[1:], 3)}. Add the sections that are missing.",
            at=("/sections",),
        )
