"""Contacts in wiring order, and the handles by which a page finds one contact in every drawing of a map."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from catalogue.core.document import MapDocument, Point, end_of
from catalogue.core.reference import Reference
from catalogue.core.wiring import all_contacts
from catalogue.drawing.dot import Handle


@dataclass(frozen=True)
class Contacts:
    """`number` is a contact's place in wiring order: end by end, declared ones before those only listed."""

    number: Mapping[Point, int]
    by_end: Mapping[str, tuple[Point, ...]]

    def handle(self, contact: Point, chart: str, rails: tuple[int, ...], first: bool = True) -> Handle:
        """The handle of one drawn contact; only where it is drawn first does it carry the id."""
        number = self.number[contact]
        classes = " ".join(("contact", f"contact-{number}", *(f"net-{rail}" for rail in rails)))
        return Handle(classes, f"{chart}-contact-{number}" if first else "")


def contacts_of(document: MapDocument, reference: Reference) -> Contacts:
    """Every contact of the declared ends; one that only a net or path lists comes after those declared."""
    by_end: dict[str, list[Point]] = {end.name: [] for end in document.ends}
    listed = (
        *all_contacts(document, reference),
        *(contact for net in document.nets for contact in net.contacts),
        *(contact for path in document.paths for contact in (path.start, path.finish)),
    )
    for contact in dict.fromkeys(listed):
        if end_of(contact) in by_end:
            by_end[end_of(contact)].append(contact)
    return Contacts(
        number={
            contact: number for number, contact in enumerate(contact for group in by_end.values() for contact in group)
        },
        by_end={end: tuple(group) for end, group in by_end.items()},
    )


def designation(contact: Point) -> str:
    """The contact's own name within its end: `1` of `USB:1`."""
    return contact.partition(":")[2]
