"""The places of a cable along a line: which end stands left, which right, how long each section is drawn.

The trunk is the longest way between two ends. Everything else hangs off it as a branch that runs to the
side it is nearer to, beside the trunk's own sections there: it has its own axis, on a level of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from catalogue.core.document import MapDocument, Section
from catalogue.core.topology import topology

LEAST = 130.0
"""Points that a section takes at least: room for what is written on its cores."""

TRUNK = 440.0
LONGEST_TRUNK = 820.0
"""Points that the sections of a trunk take together: usually, and at most for the sake of a true scale."""

POINTS_PER_METRE = 72 / 0.0254
SCALES = tuple(
    sorted(step * ten for step in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8) for ten in (1e-2, 0.1, 1, 10, 100, 1000))
)
"""One to so many: the ratios a reader can reckon with."""

HUB = ""
"""The name of a place that no document names: where ends meet when nobody said how."""


Span = tuple[float, float]


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

    `left`, `right` and `inline` are the ends by where their contacts are drawn: at a side, or in the line.
    `beyond` has, for each link, all places on its far side.
    """

    trunk: tuple[str, ...]
    links: tuple[Link, ...]
    kinds: Mapping[str, Kind]
    left: tuple[str, ...]
    right: tuple[str, ...]
    inline: tuple[str, ...]
    beyond: tuple[frozenset[str], ...]
    left_out: tuple[str, ...]

    def way(self, places: frozenset[str]) -> list[int]:
        """The links that hold these places together, by number."""
        return [
            number
            for number, beyond in enumerate(self.beyond)
            if not places <= beyond and not places.isdisjoint(beyond)
        ]


@dataclass(frozen=True, slots=True)
class Track:
    """A link as drawn, from x0 to x1 in points. `length_m` is None when not known.

    `axis_m` is how far the axis reaches: the length, or a little beyond what is told of the section.
    """

    link: Link
    x0: float
    x1: float
    level: int
    length_m: float | None
    axis_m: float | None

    def x_at(self, at_m: float) -> float:
        """Where a place of the section is, its metres counted from where the section starts."""
        if not self.axis_m:
            return (self.x0 + self.x1) / 2
        share = min(max(at_m / self.axis_m, 0.0), 1.0)
        if self.link.section.start != self.link.left:
            share = 1 - share
        return self.x0 + share * (self.x1 - self.x0)


@dataclass(frozen=True, slots=True)
class Band:
    """A place as drawn: from x0 to x1 in points; of no width for an end at a side."""

    x0: float
    x1: float
    level: int

    @property
    def x(self) -> float:
        return (self.x0 + self.x1) / 2


@dataclass(frozen=True)
class Plan:
    """All places and sections with where they are drawn.

    `scale` is one to so many, None when not to scale.
    """

    tree: Tree
    tracks: tuple[Track, ...]
    bands: Mapping[str, Band]
    x0: float
    x1: float
    scale: float | None

    def alone(self, x0: float, x1: float, level: int) -> bool:
        """Whether nothing of another level is drawn between two x."""
        return all(track.level == level or track.x1 <= x0 or x1 <= track.x0 for track in self.tracks)


def arrange(document: MapDocument, contacts: Mapping[str, int]) -> Tree:
    """The tree of a document's places. Of equally long ways the one whose ends have more `contacts` is trunk.

    Sections that close a loop or lead to no declared place are left out, and named in `left_out`. Islands
    are held together by unnamed sections. Raises ValueError when there is no end at all.
    """
    found = topology(document)
    kinds = _kinds(document)
    sections = [*found.sections.values(), *_bridges(document, found.islands, kinds, contacts)]
    growth = _Growth(document, sections, contacts)
    trunk = growth.trunk()
    links = growth.links(trunk)
    at_side = {side: _side_ends(document, trunk, links, side) for side in Side}
    return Tree(
        trunk=trunk,
        links=links,
        kinds=kinds,
        left=at_side[Side.LEFT],
        right=at_side[Side.RIGHT],
        inline=tuple(
            end.name
            for end in document.ends
            if end.name not in at_side[Side.LEFT] and end.name not in at_side[Side.RIGHT]
        ),
        beyond=_beyond(links),
        left_out=tuple(
            section.name for section in document.sections if found.sections.get(section.name) is not section
        ),
    )


def lay_out(tree: Tree, x0: float, band_widths: Mapping[str, float], reach_m: Mapping[str, float]) -> Plan:
    """Places and sections along x, from x0 in points to the right.

    `band_widths` has the width of each place drawn as a band. `reach_m` has the farthest place told in a
    section: an axis reaches at least so far when nobody measured the section.
    """
    spacing = _Spacing(tree, band_widths)
    bands, spans = spacing.laid(x0)
    levels = _levels(tree, spans)
    tracks = tuple(
        Track(
            link,
            *span,
            level,
            link.section.length_m,
            link.section.length_m or 1.25 * reach_m.get(link.section.name, 0.0) or None,
        )
        for link, span, level in zip(tree.links, spans, levels, strict=True)
    )
    level_of = {track.link.far: track.level for track in tracks}
    return Plan(
        tree=tree,
        tracks=tracks,
        bands={place: Band(*span, level_of.get(place, 0)) for place, span in bands.items()},
        x0=x0,
        x1=max((x for span in bands.values() for x in span), default=x0),
        scale=_scale(tracks),
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
            Section("", place, inner[0])
            for island, place in zip(islands, meeting, strict=True)
            if island is not home
        ]
    if len(islands) == 2:
        return [Section("", meeting[0], meeting[1])]
    return [Section("", place, HUB) for place in meeting]


def _meeting_place(island: Sequence[str], kinds: Mapping[str, Kind], contacts: Mapping[str, int]) -> str:
    inner = [place for place in island if kinds[place] is not Kind.END]
    return inner[0] if inner else max(island, key=lambda place: contacts.get(place, 0))


class _Growth:
    """The tree before it has a direction: neighbours of each place, and how far they are."""

    def __init__(
        self, document: MapDocument, sections: Sequence[Section], contacts: Mapping[str, int]
    ) -> None:
        self.ends = [end.name for end in document.ends]
        self.contacts = contacts
        self.neighbours: dict[str, list[tuple[str, Section]]] = {place: [] for place in document.place_names}
        for section in sections:
            self.neighbours.setdefault(section.start, []).append((section.finish, section))
            self.neighbours.setdefault(section.finish, []).append((section.start, section))
        known = [section.length_m for section in sections if section.length_m]
        self.usual_m = sum(known) / len(known) if known else 1.0

    def trunk(self) -> tuple[str, ...]:
        """The longest way between two ends, from the one named first; from a lone end, the longest there is."""
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


def _side_ends(
    document: MapDocument, trunk: Sequence[str], links: Sequence[Link], side: Side
) -> tuple[str, ...]:
    ends = {end.name for end in document.ends}
    near = {link.near for link in links}
    tip = trunk[:1] if side is Side.LEFT else trunk[1:][-1:]
    branches = [
        link.far for link in links if link.side is side and link.far not in near and link.far not in trunk
    ]
    return tuple(place for place in (*tip, *branches) if place in ends)


def _beyond(links: Sequence[Link]) -> tuple[frozenset[str], ...]:
    places: dict[str, set[str]] = {}
    beyond: list[frozenset[str]] = []
    for link in reversed(links):
        places.setdefault(link.far, {link.far})
        places.setdefault(link.near, {link.near}).update(places[link.far])
        beyond.append(frozenset(places[link.far]))
    return tuple(reversed(beyond))


class _Spacing:
    """How much room each section and place takes along x."""

    def __init__(self, tree: Tree, band_widths: Mapping[str, float]) -> None:
        self.tree = tree
        self.at_side = {*tree.left, *tree.right}
        self.band_widths = band_widths
        inner = max(len(tree.trunk) - 1, 0)
        self.trunk_links, self.branch_links = tree.links[:inner], tree.links[inner:]
        self.need: dict[str, float] = {}
        self.root_need: dict[tuple[str, Side], float] = {}
        for link in reversed(self.branch_links):
            key, need = (link.near, link.side), self._branch_need(link)
            self.need[link.near] = max(self.need.get(link.near, 0.0), need)
            self.root_need[key] = max(self.root_need.get(key, 0.0), need)

    def laid(self, x0: float) -> tuple[dict[str, Span], list[Span]]:
        """From and to of each place, and of each link."""
        bands: dict[str, Span] = {}
        spans: list[Span] = []
        x = x0
        for place, width in zip(self.tree.trunk, (*self._trunk_widths(), 0.0), strict=True):
            bands[place] = (x, x + self._band(place))
            x = bands[place][1] + width
            spans.append((bands[place][1], x))
        spans.pop()
        edges = {Side.LEFT: x0, Side.RIGHT: x}
        spans += [self._outwards(link, bands, edges[link.side]) for link in self.branch_links]
        return bands, spans

    def _outwards(self, link: Link, bands: dict[str, Span], edge: float) -> Span:
        """Stretches one branch section so that the whole branch ends at the edge; places its far place."""
        start = bands[link.near][link.side is Side.RIGHT]
        room = abs(edge - start)
        if self.need.get(link.far):
            length = room * LEAST / self._branch_need(link)
        else:
            length = room - self._band(link.far)
        sign = 1 if link.side is Side.RIGHT else -1
        finish = start + sign * length
        far = finish + sign * self._band(link.far)
        bands[link.far] = (min(finish, far), max(finish, far))
        return min(start, finish), max(start, finish)

    def _band(self, place: str) -> float:
        return 0.0 if place in self.at_side else self.band_widths.get(place, 0.0)

    def _branch_need(self, link: Link) -> float:
        """Points that a branch takes at least, from this section outwards."""
        return LEAST + self._band(link.far) + self.need.get(link.far, 0.0)

    def _trunk_widths(self) -> list[float]:
        """Points for each section of the trunk, widened where a branch beside it needs more room."""
        widths = _drawn_widths([link.section.length_m for link in self.trunk_links])
        trunk = self.tree.trunk
        bands = [self._band(place) for place in trunk]
        for at in reversed(range(len(widths))):
            room = sum(widths[at:]) + sum(bands[at + 1 :])
            widths[at] += max(self.root_need.get((trunk[at], Side.RIGHT), 0.0) - room, 0.0)
        for at in range(1, len(widths) + 1):
            room = sum(widths[:at]) + sum(bands[:at])
            widths[at - 1] += max(self.root_need.get((trunk[at], Side.LEFT), 0.0) - room, 0.0)
        return widths


def _drawn_widths(lengths_m: Sequence[float | None]) -> list[float]:
    """Points for each section of the trunk: to a plain scale where that is legible, else longer ones longer."""
    known = [length_m for length_m in lengths_m if length_m]
    total_m = sum(known)
    if known and len(known) == len(lengths_m):
        least = max(LEAST / min(known), TRUNK * 0.75 / total_m)
        for scale in reversed(SCALES):
            if least <= POINTS_PER_METRE / scale <= LONGEST_TRUNK / total_m:
                return [length_m * POINTS_PER_METRE / scale for length_m in known]
    usual_m = total_m / len(known) if known else 1.0
    shares = [(length_m or usual_m) ** 0.5 for length_m in lengths_m]
    spare = max(TRUNK - LEAST * len(shares), 0.0)
    return [LEAST + spare * share / sum(shares) for share in shares]


def _levels(tree: Tree, spans: Sequence[tuple[float, float]]) -> list[int]:
    """The level of each link: 0 for the trunk, for a branch the lowest where nothing else lies in its way."""
    taken: list[tuple[int, float, float]] = []
    levels: list[int] = []
    trunk = set(tree.trunk)
    for link, (x0, x1) in zip(tree.links, spans, strict=True):
        level = 0 if link.far in trunk else 1
        while level and any(at == level and a < x1 and x0 < b for at, a, b in taken):
            level += 1
        taken.append((level, x0, x1))
        levels.append(level)
    return levels


def _scale(tracks: Iterable[Track]) -> float | None:
    """One to so many, where every section is drawn in one proportion."""
    drawn = [(track.x1 - track.x0, track.length_m) for track in tracks]
    if not drawn or any(not length_m for _, length_m in drawn):
        return None
    scale = drawn[0][1] / drawn[0][0] * POINTS_PER_METRE  # type: ignore[operator]
    if any(abs(width - (length_m or 0.0) * POINTS_PER_METRE / scale) > 0.5 for width, length_m in drawn):
        return None
    return scale
