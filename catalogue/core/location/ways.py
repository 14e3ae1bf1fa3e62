"""The way of a conductor through a cable: the sections from one place to another as one axis in metres.

A meter at two ends reads through every section between them, so what it tells of a break counts along all of them.
Marks, reports and openings are told by section; a `Way` takes places from one to the other and back.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from math import fsum

from catalogue.core.document import MapDocument
from catalogue.core.topology import Spot, Topology, topology


@dataclass(frozen=True, slots=True)
class Leg:
    """One section of a way, `near_m` metres from the way's near end; `forwards` when it is gone from its start."""

    section: str
    near_m: float
    length_m: float
    forwards: bool

    def along_m(self, at_m: float) -> float:
        """Metres of the way for metres of the section."""
        return self.near_m + (at_m if self.forwards else self.length_m - at_m)

    def section_m(self, along_m: float) -> float:
        """Metres of the section for metres of the way."""
        gone_m = min(max(along_m - self.near_m, 0.0), self.length_m)
        return gone_m if self.forwards else self.length_m - gone_m


@dataclass(frozen=True)
class Way:
    """From the place `near` to the place `far`, every section of it measured."""

    near: str
    far: str
    legs: tuple[Leg, ...]

    @property
    def length_m(self) -> float:
        return fsum(leg.length_m for leg in self.legs)

    def along_m(self, section: str, at_m: float) -> float | None:
        """Metres from the near end of a place in a section; None when the way does not lead there."""
        leg = next((leg for leg in self.legs if leg.section == section), None)
        return None if leg is None or not 0 <= at_m <= leg.length_m else leg.along_m(at_m)

    def spot(self, along_m: float) -> Spot:
        """The place in a section that is so many metres from the near end."""
        passed = [leg for leg in self.legs if leg.near_m <= along_m]
        leg = passed[-1] if passed else self.legs[0]
        return Spot(leg.section, leg.section_m(along_m))


def ways_of(document: MapDocument) -> tuple[Way, ...]:
    """Every way on which a break can be told in metres: between two ends, then single sections of longer ways."""
    tree = topology(document)
    found = [way for a, b in combinations(document.ends, 2) if (way := _way(tree, a.name, b.name))]
    whole = {way.legs[0].section for way in found if len(way.legs) == 1}
    single = (_way(tree, section.start, section.finish) for section in tree.sections.values())
    return (*found, *(way for way in single if way and way.legs[0].section not in whole))


def _way(tree: Topology, near: str, far: str) -> Way | None:
    """None where nothing joins the two, or a section between them was not measured."""
    legs = tuple(_legs(tree, near, far))
    return Way(near, far, legs) if legs and all(leg.length_m > 0 for leg in legs) else None


def _legs(tree: Topology, near: str, far: str) -> Iterator[Leg]:
    place, near_m = near, 0.0
    for stretch in tree.stretches(near, far) or ():
        section, length_m = tree.sections[stretch.section], stretch.length_m or 0.0
        forwards = section.start == place
        yield Leg(section.name, near_m, length_m, forwards)
        place, near_m = section.finish if forwards else section.start, near_m + length_m
