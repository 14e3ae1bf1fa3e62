"""What the rules look things up in: one map, the published facts, and what several rules need computed once.

Everything is computed when first asked for. A document may be half broken: what it names without declaring it
is told by one rule (`contact-unknown`) and left out of everything else here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Protocol, TypeVar

from catalogue.core.bounds import Bound, Violation, bounds, violations
from catalogue.core.document import (
    CUSTOM_CONNECTOR,
    Core,
    End,
    FaultKind,
    MapDocument,
    Net,
    PartKind,
    Path,
    Point,
    Reading,
    end_of,
    split_core_point,
)
from catalogue.core.nets import Deduction, deduce
from catalogue.core.network import resistance_distances
from catalogue.core.reference import Reference, StandardContact
from catalogue.core.rules.phrases import metres
from catalogue.core.topology import Spot, Topology, topology
from catalogue.core.wiring import all_contacts, standard_contacts

SAME_PLACE_M = 0.01
"""Two places along a section this near to each other are one: nobody measures a cable finer."""


@dataclass(frozen=True)
class Context:
    """One document, looked at by every rule."""

    document: MapDocument
    reference: Reference

    # Names

    @cached_property
    def contacts(self) -> dict[Point, None]:
        """Every contact the ends declare, in their order."""
        return dict.fromkeys(all_contacts(self.document, self.reference))

    @cached_property
    def ends(self) -> dict[str, End]:
        return _by_name(self.document.ends)

    @cached_property
    def cores(self) -> dict[str, Core]:
        return _by_name(self.document.cores)

    @cached_property
    def nets(self) -> dict[str, Net]:
        return _by_name(self.document.nets)

    @cached_property
    def paths(self) -> dict[str, Path]:
        return _by_name(self.document.paths)

    @cached_property
    def net_pointers(self) -> dict[str, str]:
        """JSON pointer of each net, by its name."""
        return _pointers("nets", self.document.nets)

    @cached_property
    def core_pointers(self) -> dict[str, str]:
        return _pointers("cores", self.document.cores)

    @cached_property
    def reading_places(self) -> dict[str, int]:
        """Where in the list of readings each one stands, by its id."""
        places: dict[str, int] = {}
        for index, reading in enumerate(self.document.readings):
            places.setdefault(reading.id, index)
        return places

    def reading(self, name: str) -> Reading:
        return self.document.readings[self.reading_places[name]]

    def readings_at(self, names: Iterable[str]) -> tuple[str, ...]:
        """JSON pointers of readings."""
        return tuple(f"/readings/{self.reading_places[name]}" for name in names)

    @cached_property
    def _standard_contacts(self) -> dict[Point, StandardContact]:
        return standard_contacts(self.document, self.reference)

    def standard(self, point: Point) -> StandardContact | None:
        """What the standard of its connector says about a contact, None where there is none."""
        return self._standard_contacts.get(point)

    # Probe points

    def in_core(self, point: Point) -> tuple[Core, float] | None:
        """Core and metres of a probe point in an opening; None for contacts and for undeclared cores."""
        parts = None if point in self.contacts else split_core_point(point)
        return (self.cores[parts[0]], parts[1]) if parts and parts[0] in self.cores else None

    def unknown(self, point: Point) -> str:
        """What about a probe point is not declared, as a sentence; empty when all is."""
        if point in self.contacts:
            return ""
        if self.in_core(point) is not None:
            return ""
        if (parts := split_core_point(point)) is not None:
            return f"there is no core {parts[0]}"
        end = self.ends.get(end_of(point))
        if end is None:
            return f"there is no end {end_of(point)}"
        contact = point.partition(":")[2]
        if end.connector == CUSTOM_CONNECTOR:
            return f"the rows of {end.name} have no contact {contact}"
        if end.connector not in self.reference.connectors:
            return f"the contacts of {end.name} are not known"
        if self.standard(point) is not None:
            return f"the plug of {end.connector} leaves contact {contact} of {end.name} empty"
        return f"{end.name} is a {end.connector}, which has no contact {contact}"

    def misplaced(self, point: Point) -> str:
        """Why no opening lets a probe reach this point of a declared core; empty when one does."""
        if (found := self.in_core(point)) is None:
            return ""
        core, at_m = found
        opened = any(
            opening.section == core.section and _apart_m(opening.at_m, at_m) <= SAME_PLACE_M
            for opening in self.document.openings
        )
        if opened and not self.beyond(core.section, at_m):
            return ""
        return f"no opening at {metres(at_m)} of section {core.section}, where {core.name} lies, is declared"

    def beyond(self, section: str, at_m: float) -> bool:
        """Whether a place lies outside a section, as far as its length is known."""
        length_m = next((each.length_m for each in self.document.sections if each.name == section), None)
        inside_m = max(at_m, 0.0) if length_m is None else min(max(at_m, 0.0), length_m)
        return _apart_m(at_m, inside_m) > SAME_PLACE_M

    @cached_property
    def sound_readings(self) -> tuple[Reading, ...]:
        """The readings whose probe points are all declared: only these are reasoned from."""
        points = {point for reading in self.document.readings for point in (reading.red, *reading.black)}
        sound = {point for point in points if not self.unknown(point) and not self.misplaced(point)}
        return tuple(
            reading for reading in self.document.readings if reading.red in sound and sound.issuperset(reading.black)
        )

    @cached_property
    def net_of(self) -> Mapping[Point, str]:
        """The declared net of every contact that one lists, and of every core point that was probed."""
        probed = {point for reading in self.sound_readings for point in (reading.red, *reading.black)}
        carried = {
            point: found[0].carries
            for point in sorted(probed)
            if (found := self.in_core(point)) is not None and found[0].carries in self.nets
        }
        listed = {point: net for point, net in self.document.net_of_contact.items() if point in self.contacts}
        return carried | listed

    def spot(self, point: Point) -> str | Spot:
        """Where along the cable a point that is declared lies: its end, or its spot in a section."""
        found = self.in_core(point)
        return end_of(point) if found is None else Spot(found[0].section, found[1])

    # What follows from the readings

    @cached_property
    def topology(self) -> Topology:
        return topology(self.document)

    @cached_property
    def bounds(self) -> tuple[Bound, ...]:
        return bounds(self.sound_readings, self.document.meter)

    @cached_property
    def violations(self) -> tuple[Violation, ...]:
        return violations(self.bounds)

    @cached_property
    def deduction(self) -> Deduction:
        return deduce(tuple(self.contacts), self.sound_readings, self.document.meter)

    def known_contacts(self, net: Net) -> tuple[Point, ...]:
        """The contacts of a net that the ends declare, each once."""
        return tuple(dict.fromkeys(contact for contact in net.contacts if contact in self.contacts))

    # Faults of the specimen

    @cached_property
    def declared_shorts(self) -> dict[str, str]:
        """Nets with a declared short, each with one name that stands for all it is shorted to."""
        group: dict[str, str] = {}
        for fault in self.document.faults:
            if fault.kind is FaultKind.SHORT:
                merged = {group.get(name, name) for name in fault.nets}
                for name in fault.nets:
                    group.setdefault(name, name)
                group |= {name: min(merged) for name, known in group.items() if known in merged}
        return group

    def declared_shorted(self, a: str, b: str) -> bool:
        """Whether the document declares a short between two nets, if need be by way of others."""
        return a in self.declared_shorts and self.declared_shorts[a] == self.declared_shorts.get(b)

    @cached_property
    def declared_interrupted(self) -> frozenset[str]:
        """Nets that the document declares open, or reading too high."""
        kinds = (FaultKind.OPEN, FaultKind.HIGH)
        return frozenset(name for fault in self.document.faults if fault.kind in kinds for name in fault.nets)

    # Parts

    @cached_property
    def _part_ohms(self) -> dict[frozenset[str], float]:
        """Resistance between two declared nets through the declared resistors, if need be by way of others."""
        place = {name: number for number, name in enumerate(self.nets)}
        links = [
            (place[part.between[0]], place[part.between[1]], part.value)
            for part in self.document.parts
            if part.kind is PartKind.RESISTOR and part.value and all(name in place for name in part.between)
        ]
        if not links:
            return {}
        touched = sorted({number for link in links for number in link[:2]})
        row = {number: place for place, number in enumerate(touched)}
        between = resistance_distances(len(touched), [(row[a], row[b], ohms) for a, b, ohms in links if a != b])
        names = list(self.nets)
        return {
            frozenset((names[a], names[b])): float(between[row[a], row[b]])
            for a, b in combinations(touched, 2)
            if math.isfinite(between[row[a], row[b]])
        }

    def part_ohms(self, net: str, other: str) -> float:
        """Ohms between two nets through the resistors that the document declares; infinite without any."""
        return self._part_ohms.get(frozenset((net, other)), math.inf)

    @cached_property
    def _diodes(self) -> frozenset[frozenset[str]]:
        return frozenset(frozenset(part.between) for part in self.document.parts if part.kind is PartKind.DIODE)

    def diode_between(self, a: Point, b: Point) -> bool:
        """Whether a diode is declared between the nets of two points."""
        between = frozenset(self.net_of.get(point, "") for point in (a, b))
        return between in self._diodes


def _apart_m(one: float, other: float) -> float:
    """Distance along a section, to the tenth of a millimetre that documents are written to."""
    return round(abs(one - other), 4)


class _HasName(Protocol):
    @property
    def name(self) -> str: ...


Named = TypeVar("Named", bound=_HasName)


def _by_name(values: Iterable[Named]) -> dict[str, Named]:
    """The first of each name, in their order."""
    found: dict[str, Named] = {}
    for value in values:
        found.setdefault(value.name, value)
    return found


def _pointers(field: str, values: Iterable[_HasName]) -> dict[str, str]:
    found: dict[str, str] = {}
    for index, value in enumerate(values):
        found.setdefault(value.name, f"/{field}/{index}")
    return found
