"""Where the places and sections of a cable lie along x, and on which level their axes stand.

Trunk sections are drawn in proportion where that is legible. A branch is stretched to end where its side of
the trunk ends, beside the trunk's own sections, with its own axis on a level of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from catalogue.drawing.tree import Link, Side, Tree

LEAST = 130.0
LEAST_WITH_FAULTS = 200.0
"""Points that a section takes at least: room for what is written on its cores, and of faults on them."""

TRUNK = 440.0
LONGEST_TRUNK = 820.0
"""Points that the sections of a trunk take together: usually, and at most for the sake of a true scale."""

AXES_APART = 16.0
"""Points between axes on one level at least, so that their last and first numbers stay apart."""

POINTS_PER_METRE = 72 / 0.0254
SCALES = tuple(sorted(step * ten for step in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8) for ten in (1e-2, 0.1, 1, 10, 100, 1000)))
"""One to so many: the ratios a reader can reckon with."""

Span = tuple[float, float]


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
    """Where all places and sections are drawn. `scale` is one to so many, None when not to scale."""

    tree: Tree
    tracks: tuple[Track, ...]
    bands: Mapping[str, Band]
    x0: float
    x1: float
    scale: float | None

    def alone(self, x0: float, x1: float, level: int) -> bool:
        """Whether nothing of another level is drawn between two x."""
        return all(track.level == level or track.x1 <= x0 or x1 <= track.x0 for track in self.tracks)


def lay_out(
    tree: Tree,
    x0: float,
    band_widths: Mapping[str, float],
    reach_m: Mapping[str, float],
    least: float = LEAST,
) -> Plan:
    """Places and sections along x, from x0 in points to the right, each section at least `least` points long.

    `band_widths` has the width of each place drawn as a band. `reach_m` has the farthest place told in a
    section: an axis reaches at least so far when nobody measured the section.
    """
    spacing = _Spacing(tree, band_widths, least)
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


class _Spacing:
    """How much room each section and place takes along x."""

    def __init__(self, tree: Tree, band_widths: Mapping[str, float], least: float) -> None:
        self.tree = tree
        self.least = least
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
        length = room * self.least / self._branch_need(link) if self.need.get(link.far) else room - self._band(link.far)
        sign = 1 if link.side is Side.RIGHT else -1
        finish = start + sign * length
        far = finish + sign * self._band(link.far)
        bands[link.far] = (min(finish, far), max(finish, far))
        return min(start, finish), max(start, finish)

    def _band(self, place: str) -> float:
        return 0.0 if place in self.at_side else self.band_widths.get(place, 0.0)

    def _branch_need(self, link: Link) -> float:
        """Points that a branch takes at least, from this section outwards."""
        return self.least + self._band(link.far) + self.need.get(link.far, 0.0)

    def _trunk_widths(self) -> list[float]:
        """Points for each section of the trunk, widened where a branch beside it needs more room."""
        widths = _drawn_widths([link.section.length_m for link in self.trunk_links], self.least)
        trunk = self.tree.trunk
        bands = [self._band(place) for place in trunk]
        for at in reversed(range(len(widths))):
            room = sum(widths[at:]) + sum(bands[at + 1 :])
            widths[at] += max(self.root_need.get((trunk[at], Side.RIGHT), 0.0) - room, 0.0)
        for at in range(1, len(widths) + 1):
            room = sum(widths[:at]) + sum(bands[:at])
            widths[at - 1] += max(self.root_need.get((trunk[at], Side.LEFT), 0.0) - room, 0.0)
        return widths


def _drawn_widths(lengths_m: Sequence[float | None], least: float) -> list[float]:
    """Points for each section of the trunk: to a plain scale where legible, else longer ones longer."""
    known = [length_m for length_m in lengths_m if length_m]
    total_m = sum(known)
    if known and len(known) == len(lengths_m):
        least_per_m = max(least / min(known), TRUNK * 0.75 / total_m)
        for scale in reversed(SCALES):
            if least_per_m <= POINTS_PER_METRE / scale <= LONGEST_TRUNK / total_m:
                return [length_m * POINTS_PER_METRE / scale for length_m in known]
    usual_m = total_m / len(known) if known else 1.0
    shares = [(length_m or usual_m) ** 0.5 for length_m in lengths_m]
    spare = max(TRUNK - least * len(shares), 0.0)
    return [least + spare * share / sum(shares) for share in shares]


def _levels(tree: Tree, spans: Sequence[tuple[float, float]]) -> list[int]:
    """The level of each link: 0 for the trunk, for a branch the lowest where nothing else lies in its way."""
    taken: list[tuple[int, float, float]] = []
    levels: list[int] = []
    trunk = set(tree.trunk)
    for link, (x0, x1) in zip(tree.links, spans, strict=True):
        level = 0 if link.far in trunk else 1
        while level and any(at == level and a < x1 + AXES_APART and x0 < b + AXES_APART for at, a, b in taken):
            level += 1
        taken.append((level, x0, x1))
        levels.append(level)
    return levels


def _scale(tracks: Iterable[Track]) -> float | None:
    """One to so many, where every section is drawn in one proportion."""
    scales = [track.length_m and track.length_m * POINTS_PER_METRE / (track.x1 - track.x0) for track in tracks]
    known = [scale for scale in scales if scale]
    alike = bool(known) and len(known) == len(scales) and max(known) <= min(known) * 1.002
    return known[0] if alike else None
