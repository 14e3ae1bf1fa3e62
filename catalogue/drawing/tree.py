"""A cable's places as a tree with a direction: which way is the trunk, and what hangs off it to which side.

The trunk is the longest way between two ends. Everything else is a branch that runs to the side it is nearer
to.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from catalogue.core.document import MapDocument, Section
from catalogue.core.topology import topology

HUB = ""
"""The name of a place that no document names: where ends meet when nobody said how."""


class Kind(StrEnum):
    END = "end"
    MODULE = "module"
    SPLIT = "split"
    HUB = "hub"


class Side(StrEnum):
    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Link:
    """A section as it hangs in the tree: from the place nearer to the trunk outwards, on it from the left.

    A section that the document does not have, put in to hold places together, has an empty name.
    """

    section: Section
    near: str
    far: str
    side: Side

    @property
    def left(self) -> str:
        return self.near if self.side is Side.RIGHT else self.far

    @property
    def right(self) -> str:
        return self.far if self.side is Side.RIGHT else self.near


@dataclass(frozen=True)
class Tree:
    """`links` hold the trunk from left to right, then the branches, each after the one that it hangs on.

    `left` and `right` are the ends whose contacts are drawn at that side; other ends stand in the line.
    `beyond` has, for each link, all places on its far side.
    """

    trunk: tuple[str, ...]
    links: tuple[Link, ...]
    kinds: Mapping[str, Kind]
    left: tuple[str, ...]
    right: tuple[str, ...]
    beyond: tuple[frozenset[str], ...]
    left_out: tuple[str, ...]

    def way(self, places: frozenset[str]) -> list[int]:
        """The links that hold these places together, by number."""
        return [
            number
            for number, beyond in enumerate(self.beyond)
            if not places <= beyond and not places.isdisjoint(beyond)
        ]


def arrange(document: MapDocument, contacts: Mapping[str, int]) -> Tree:
    """The tree of a document's places. Of equally long ways the one whose ends have more `contacts` is trunk.

    Sections that close a loop or lead to no declared place are left out, and named in `left_out`. Islands
    are held together by unnamed sections. Raises ValueError when there is no end at all.
    """
    found = topology(document)
    kinds = _kinds(document)
    growth = _Growth(document, contacts)
    for section in found.sections.values():
        growth.add(section)
    for section in _bridges(document, growth.islands(), kinds, contacts):
        growth.add(section)
    trunk = growth.trunk()
    links = growth.links(trunk)
    at_side = {side: _side_ends(document, trunk, links, side) for side in Side}
    return Tree(
        trunk=trunk,
        links=links,
        kinds=kinds,
        left=at_side[Side.LEFT],
        right=at_side[Side.RIGHT],
        beyond=_beyond(links),
        left_out=tuple(
            section.name for section in document.sections if found.sections.get(section.name) is not section
        ),
    )


def _kinds(document: MapDocument) -> dict[str, Kind]:
    return {
        HUB: Kind.HUB,
        **dict.fromkeys(document.splits, Kind.SPLIT),
        **{module.name: Kind.MODULE for module in document.modules},
        **{end.name: Kind.END for end in document.ends},
    }


def _bridges(
    document: MapDocument,
    islands: Sequence[Sequence[str]],
    kinds: Mapping[str, Kind],
    contacts: Mapping[str, int],
) -> list[Section]:
    """Unnamed sections that hold the islands together: at a split or module, else at a hub."""
    if len(islands) < 2:
        return []
    inner = (*document.splits, *(module.name for module in document.modules))
    meeting = [_meeting_place(island, kinds, contacts) for island in islands]
    if inner:
        home = next(island for island in islands if inner[0] in island)
        return [
            Section("", place, inner[0]) for island, place in zip(islands, meeting, strict=True) if island is not home
        ]
    if len(islands) == 2:
        return [Section("", meeting[0], meeting[1])]
    return [Section("", place, HUB) for place in meeting]


def _meeting_place(island: Sequence[str], kinds: Mapping[str, Kind], contacts: Mapping[str, int]) -> str:
    inner = [place for place in island if kinds[place] is not Kind.END]
    return inner[0] if inner else max(island, key=lambda place: contacts.get(place, 0))


class _Growth:
    """The tree before it has a direction: neighbours of each place, and how far they are."""

    def __init__(self, document: MapDocument, contacts: Mapping[str, int]) -> None:
        self.ends = [end.name for end in document.ends]
        self.contacts = contacts
        self.neighbours: dict[str, list[tuple[str, Section]]] = {place: [] for place in document.place_names}
        known = [section.length_m for section in document.sections if section.length_m]
        self.usual_m = sum(known) / len(known) if known else 1.0

    def add(self, section: Section) -> None:
        self.neighbours.setdefault(section.start, []).append((section.finish, section))
        self.neighbours.setdefault(section.finish, []).append((section.start, section))

    def islands(self) -> list[list[str]]:
        """The places that hang together, in the document's order."""
        islands: list[list[str]] = []
        seen: set[str] = set()
        for start in self.neighbours:
            if start not in seen:
                reached = self._metres_from(start)
                seen.update(reached)
                islands.append([place for place in self.neighbours if place in reached])
        return islands

    def trunk(self) -> tuple[str, ...]:
        """The longest way between two ends, from the one named first; the longest of all from a lone end."""
        if not self.ends:
            raise ValueError("a cable without an end cannot be drawn")
        best: tuple[float, int, str, str] | None = None
        for place, start in enumerate(self.ends):
            metres = self._metres_from(start)
            others = self.ends[place + 1 :] if len(self.ends) > 1 else list(metres)
            for finish in others:
                weight = self.contacts.get(start, 0) + self.contacts.get(finish, 0)
                far_m = round(metres[finish], 6)
                if best is None or (far_m, weight) > best[:2]:
                    best = (far_m, weight, start, finish)
        assert best is not None
        return self._way(best[2], best[3])

    def links(self, trunk: Sequence[str]) -> tuple[Link, ...]:
        metres = self._metres_from(trunk[0])
        links = [Link(self._section(left, right), left, right, Side.RIGHT) for left, right in pairwise(trunk)]
        seen = set(trunk)
        half_m = metres[trunk[-1]] / 2
        rightwards = {place for place in trunk[:-1] if place == trunk[0] or metres[place] >= half_m}
        # The branch nearest to its side first: the line of one farther in then passes below it.
        for place in trunk:
            if place not in rightwards:
                links += self._branch(place, Side.LEFT, seen)
        for place in reversed(trunk):
            links += self._branch(place, Side.RIGHT, seen)
        return tuple(links)

    def _branch(self, root: str, side: Side, seen: set[str]) -> list[Link]:
        links: list[Link] = []
        ahead = [(root, place, section) for place, section in reversed(self.neighbours[root])]
        while ahead:
            near, far, section = ahead.pop()
            if far in seen:
                continue
            seen.add(far)
            links.append(Link(section, near, far, side))
            ahead += [(far, place, onward) for place, onward in reversed(self.neighbours[far])]
        return links

    def _section(self, a: str, b: str) -> Section:
        return next(section for place, section in self.neighbours[a] if place == b)

    def _metres_from(self, root: str) -> dict[str, float]:
        metres = {root: 0.0}
        ahead = [root]
        while ahead:
            place = ahead.pop()
            for neighbour, section in self.neighbours[place]:
                if neighbour not in metres:
                    metres[neighbour] = metres[place] + (section.length_m or self.usual_m)
                    ahead.append(neighbour)
        return metres

    def _way(self, start: str, finish: str) -> tuple[str, ...]:
        metres = self._metres_from(start)
        way = [finish]
        while way[-1] != start:
            way.append(min((place for place, _ in self.neighbours[way[-1]]), key=lambda place: metres[place]))
        return tuple(reversed(way))


def _side_ends(document: MapDocument, trunk: Sequence[str], links: Sequence[Link], side: Side) -> tuple[str, ...]:
    ends = {end.name for end in document.ends}
    near = {link.near for link in links}
    tip = trunk[:1] if side is Side.LEFT else trunk[1:][-1:]
    branches = [link.far for link in links if link.side is side and link.far not in near and link.far not in trunk]
    return tuple(place for place in (*tip, *branches) if place in ends)


def _beyond(links: Sequence[Link]) -> tuple[frozenset[str], ...]:
    places: dict[str, set[str]] = {}
    beyond: list[frozenset[str]] = []
    for link in reversed(links):
        places.setdefault(link.far, {link.far})
        places.setdefault(link.near, {link.near}).update(places[link.far])
        beyond.append(frozenset(places[link.far]))
    return tuple(reversed(beyond))
