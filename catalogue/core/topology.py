"""Places and sections of a cable as a tree: what hangs together, and which stretch lies between two spots.

A sound cable is one tree: every end, module and split is reached by exactly one way along the sections.
`topology` also takes documents where that fails; it then names the sections that close a loop and the islands
that do not connect.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from catalogue.core.document import MapDocument, Section


@dataclass(frozen=True, slots=True)
class Spot:
    """A spot inside a section, `at_m` metres from the place where the section starts."""

    section: str
    at_m: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of one section; `length_m` is None when the section was not measured."""

    section: str
    length_m: float | None


@dataclass(frozen=True)
class Topology:
    """The tree of a cable.

    `sections` are those whose both places are declared and which close no loop, by name; `loops` are the
    places in the document's list of those that close one; `islands` are the places that hang together, in the
    document's order.
    """

    sections: Mapping[str, Section]
    loops: tuple[int, ...]
    islands: tuple[tuple[str, ...], ...]
    _towards_root: Mapping[str, tuple[str, Section] | None]

    def stretches(self, a: str | Spot, b: str | Spot) -> tuple[Stretch, ...] | None:
        """The cable between two places or spots, from a to b; None when no known way joins them."""
        if isinstance(a, Spot) and isinstance(b, Spot) and a.section == b.section:
            return (Stretch(a.section, abs(a.at_m - b.at_m)),) if a.section in self.sections else None
        if isinstance(a, Spot):
            return self._from_spot(a, b)
        if isinstance(b, Spot):
            way = self._from_spot(b, a)
            return None if way is None else way[::-1]
        return self._between_places(a, b)

    def _from_spot(self, spot: Spot, target: str | Spot) -> tuple[Stretch, ...] | None:
        section = self.sections.get(spot.section)
        if section is None:
            return None
        remaining_m = None if section.length_m is None else section.length_m - spot.at_m
        for place, length_m in ((section.start, spot.at_m), (section.finish, remaining_m)):
            way = self.stretches(place, target)
            if way is not None and all(stretch.section != section.name for stretch in way):
                return (Stretch(section.name, length_m), *way)
        return None

    def _between_places(self, a: str, b: str) -> tuple[Stretch, ...] | None:
        up, down = self._way_to_root(a), self._way_to_root(b)
        if not up or not down or up[-1][0] != down[-1][0]:
            return None
        while up and down and up[-1] == down[-1]:
            up.pop()
            down.pop()
        sections = [section for _, section in (*up, *reversed(down)) if section is not None]
        return tuple(Stretch(section.name, section.length_m) for section in sections)

    def _way_to_root(self, place: str) -> list[tuple[str, Section | None]]:
        way: list[tuple[str, Section | None]] = []
        if place not in self._towards_root:
            return way
        while (step := self._towards_root[place]) is not None:
            way.append((place, step[1]))
            place = step[0]
        way.append((place, None))
        return way


def topology(document: MapDocument) -> Topology:
    """The tree of the document's places and sections, without those that lead to undeclared places."""
    neighbours: dict[str, list[tuple[str, Section]]] = {place: [] for place in document.place_names}
    island_of = {place: place for place in neighbours}

    def island(place: str) -> str:
        while island_of[place] != place:
            island_of[place] = island_of[island_of[place]]
            place = island_of[place]
        return place

    sections: dict[str, Section] = {}
    loops: list[int] = []
    for index, section in enumerate(document.sections):
        if section.start not in neighbours or section.finish not in neighbours:
            continue
        if island(section.start) == island(section.finish):
            loops.append(index)
            continue
        island_of[island(section.start)] = island(section.finish)
        neighbours[section.start].append((section.finish, section))
        neighbours[section.finish].append((section.start, section))
        sections.setdefault(section.name, section)

    islands: dict[str, list[str]] = {}
    for place in neighbours:
        islands.setdefault(island(place), []).append(place)
    towards_root: dict[str, tuple[str, Section] | None] = {}
    for places in islands.values():
        _walk(places[0], neighbours, towards_root)
    return Topology(sections, tuple(loops), tuple(tuple(places) for places in islands.values()), towards_root)


def _walk(
    root: str,
    neighbours: Mapping[str, list[tuple[str, Section]]],
    towards_root: dict[str, tuple[str, Section] | None],
) -> None:
    towards_root[root] = None
    ahead = [root]
    while ahead:
        place = ahead.pop()
        for neighbour, section in neighbours[place]:
            if neighbour not in towards_root:
                towards_root[neighbour] = (place, section)
                ahead.append(neighbour)
