"""What each reading says about resistance, and which readings cannot be true together.

A reading bounds the resistance between two points from below and from above. Resistance between the
terminals of a linear passive network is a metric (Klein and Randić, J. Math. Chem. 12 (1993) 81-95), so
readings can be true together, as a metric, exactly when no lower bound exceeds the shortest path of upper
bounds between its two points. That one test finds disagreeing repeats, broken chains (A-B and B-C joined,
A-C open) and broken triangles, and the path is its witness.

Bounds hold for what is linear. A path is proof only when each of its links is ohmic.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, dijkstra

from catalogue.core.document import Meter, Mode, Point, Reading, Result
from catalogue.core.findings import Limit, Step

OHMIC_OHMS = 200.0
"""What reads no more than this is no junction: a hand meter drives about 1 mA at most, and a junction takes
0.2 V or more at that (common practice)."""

COARSE_COUNTS = 2000
"""Steps of the coarsest display in use, `1999` (common practice): taken where a reading names no last
digit, because a digit taken too fine would refuse readings that are true."""

LOWEST_RANGE_OHMS = 200.0
"""The lowest range of such a display, 0.1 Ω to the digit (common practice)."""

RANGE_PLAY = 0.9
"""A meter that picks its range may stay on a higher one down to this share of the range below (common
practice)."""

SLACK = 1e-9
"""Share of a path, and ohms, by which a bound must exceed it: far below any meter, far above rounding."""

BLOCK_CELLS = 4_000_000
"""Distances held at once while many points are searched from, about 50 MB with their predecessors."""

Numbers = NDArray[np.int64]
Ohms = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Bound:
    """The resistance between `a` and `b` is at least `lower` and at most `upper` ohms, says one reading.

    `upper` is infinite when the reading says nothing from above. `ohmic`: it is no junction that was read,
    so `upper` holds for either polarity and at any current. Where a value is no proof of that by itself, `alike` is
    the reading that shows the same with the probes changed over.
    """

    reading: str
    a: Point
    b: Point
    lower: float
    upper: float
    ohmic: bool
    alike: str = ""


@dataclass(frozen=True)
class Violation:
    """A lower bound that cannot be: `path` leads from `bound.a` to `bound.b` and adds up to
    `shortest_ohms`, less.

    The path is empty for a point probed against itself. `ohmic`: every link of the path is, so this is
    proof; else a part that is not linear may explain it. There can be as many violations as readings, with
    hundreds of links each, so the path is walked when it is asked for.
    """

    bound: Bound
    shortest_ohms: float
    ohmic: bool
    ways: _Ways | None = field(repr=False, compare=False)

    @cached_property
    def path(self) -> tuple[Bound, ...]:
        walked = () if self.ways is None else tuple(self.ways.back_from(self.bound.b))
        return tuple(link for _, link in reversed(walked))


def bounds(readings: Sequence[Reading], meter: Meter) -> tuple[Bound, ...]:
    """What the readings say about resistance, in their order; a silent sweep says one thing for each member.

    Nothing is said by a reading taken while flexing, by diode and capacitance readings, and by a sweep that
    beeped on several contacts (one of them is joined, nobody knows which: see `catalogue.core.nets`).
    """
    found: list[Bound] = []
    values: list[int] = []
    for reading in readings:
        span = span_ohms(reading, meter)
        if span is None:
            continue
        lower, upper = span
        if reading.result is Result.VALUE:
            values.append(len(found))
        is_ohmic = upper <= OHMIC_OHMS
        found += [Bound(reading.id, reading.red, black, lower, upper, is_ohmic) for black in distinct(reading.black)]
    for place, alike in _read_alike_both_ways(found, values):
        found[place] = replace(found[place], ohmic=True, alike=alike)
    return tuple(found)


def span_ohms(reading: Reading, meter: Meter) -> tuple[float, float] | None:
    """Lower and upper bound in ohms of every pair that one reading probed, or None when it says nothing.

    The meter shows the sum of the resistance asked for, its leads (`lead_ohms`, known) and the touch of both
    probes (0 to `contact_ohms`), right to `accuracy_pct` of the value shown and `accuracy_digits` of its last
    digit. Over limit is such a value at the end of the range in use. Neither bound is below 0.
    """
    if reading.flexed:
        return None
    if reading.mode is Mode.OHMS:
        return _ohms_span(reading, meter)
    if reading.mode is Mode.BEEP or reading.mode is Mode.SWEEP:
        return _buzzer_span(reading, meter)
    return None


def _ohms_span(reading: Reading, meter: Meter) -> tuple[float, float] | None:
    if reading.value is not None:
        shown, range_ohms = reading.value, reading.range_ohms
    elif reading.result is Result.OVER:
        shown = range_ohms = meter.range_ohms if reading.range_ohms is None else reading.range_ohms
    else:
        return None
    digit = _coarse_digit_ohms(shown, range_ohms) if reading.digit_ohms is None else reading.digit_ohms
    half = meter.accuracy_pct / 100 * shown + meter.accuracy_digits * digit
    lower = max(shown - half - meter.lead_ohms - meter.contact_ohms, 0.0)
    upper = math.inf if reading.value is None else max(shown + half - meter.lead_ohms, 0.0)
    return lower, upper


def _coarse_digit_ohms(shown: float, range_ohms: float | None) -> float:
    """Weight of the coarsest display's last digit, on the range named or on the highest it may have been."""
    span, room = (LOWEST_RANGE_OHMS, RANGE_PLAY) if range_ohms is None else (range_ohms, 1.0)
    while 0 < room * span < shown:
        span *= 10
    return span / COARSE_COUNTS


def _buzzer_span(reading: Reading, meter: Meter) -> tuple[float, float] | None:
    if reading.result is Result.SILENT:
        return max(meter.beep_ohms[0] - meter.lead_ohms - meter.contact_ohms, 0.0), math.inf
    if reading.result is Result.BEEPS and len(distinct(reading.black)) == 1:
        return 0.0, meter.beep_ohms[1]
    return None


def distinct(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """The points without repeats, in their order."""
    return points if len(points) == 1 else tuple(dict.fromkeys(points))


def _read_alike_both_ways(found: Sequence[Bound], values: Sequence[int]) -> Iterator[tuple[int, str]]:
    """Which of the values, being no proof by themselves, one with the probes changed over overlaps; and that one."""
    if all(found[place].ohmic for place in values):
        return
    by_probes: dict[tuple[Point, Point], list[int]] = defaultdict(list)
    for place in values:
        by_probes[found[place].a, found[place].b].append(place)
    for (red, black), one_way in by_probes.items():
        other_way = sorted((found[place] for place in by_probes.get((black, red), ())), key=lambda bound: bound.lower)
        lowers = [bound.lower for bound in other_way]
        highest = list(accumulate(other_way, _of_greater_upper))
        for place in one_way:
            reachable = 0 if found[place].ohmic else bisect_right(lowers, found[place].upper)
            if reachable and highest[reachable - 1].upper >= found[place].lower:
                yield place, highest[reachable - 1].reading


def _of_greater_upper(one: Bound, other: Bound) -> Bound:
    return other if other.upper > one.upper else one


def violations(bounds: Sequence[Bound], ohmic_only: bool = False) -> tuple[Violation, ...]:
    """Every lower bound that exceeds a path of upper bounds, in the order given, each with its shortest path.

    Paths of ohmic links are tried first; what they do not refuse is tried over all links, if wanted. Exact but for
    rounding (`SLACK`). Dijkstra's search from one end of each lower bound whose two ends hang together at
    all, no farther than the greatest lower bound asked for: for readings that are mostly over limit the
    cost is near the bare reading of them.
    """
    table = _Table(bounds)
    ohmic = np.array([bound.ohmic for bound in bounds], dtype=bool)
    refused = {
        index: Violation(bounds[index], shortest, True, ways)
        for index, shortest, ways in table.refused(np.ones(len(bounds), dtype=bool), ohmic)
    }
    if not ohmic_only and not ohmic[np.isfinite(table.upper)].all():
        left = np.array([index not in refused for index in range(len(bounds))], dtype=bool)
        for index, shortest, ways in table.refused(left, np.ones(len(bounds), dtype=bool)):
            refused[index] = Violation(bounds[index], shortest, False, ways)
    return tuple(refused[index] for index in sorted(refused))


def disputed(violations: Iterable[Violation]) -> tuple[str, ...]:
    """The readings that take part in violations: each bound with its path. Walks no link twice from one point."""
    found: dict[str, None] = {}
    walked: set[tuple[_Ways, int]] = set()
    for violation in violations:
        found[violation.bound.reading] = None
        if (ways := violation.ways) is None:
            continue
        for at, link in ways.back_from(violation.bound.b):
            if (ways, at) in walked:
                break
            walked.add((ways, at))
            found[link.reading] = None
    return tuple(found)


def steps(violation: Violation) -> tuple[Step, ...]:
    """The witness: the links of the path with what each allows at most, then the bound that asks more."""
    bound = violation.bound
    walked = []
    at = bound.a
    for link in violation.path:
        onward = link.b if link.a == at else link.a
        walked.append(Step(link.reading, at, onward, Limit.AT_MOST, link.upper))
        at = onward
    return (*walked, Step(bound.reading, bound.a, bound.b, Limit.AT_LEAST, bound.lower))


class _Table:
    """The bounds as columns: numbers of both points, lower and upper ohms."""

    def __init__(self, bounds: Sequence[Bound]) -> None:
        numbers: dict[Point, int] = {}
        ends = [
            (numbers.setdefault(bound.a, len(numbers)), numbers.setdefault(bound.b, len(numbers))) for bound in bounds
        ]
        pairs = np.array(ends, dtype=np.int64).reshape(-1, 2)
        self.bounds = bounds
        self.numbers = numbers
        self.points = len(numbers)
        self.start: Numbers = pairs[:, 0]
        self.finish: Numbers = pairs[:, 1]
        self.lower: Ohms = np.array([bound.lower for bound in bounds], dtype=np.float64)
        self.upper: Ohms = np.array([bound.upper for bound in bounds], dtype=np.float64)

    def refused(self, asked: NDArray[np.bool_], usable: NDArray[np.bool_]) -> Iterator[tuple[int, float, _Ways | None]]:
        """Those of the bounds `asked` that a path of `usable` links undercuts: their number, and the path's ohms.

        The ways lead to the path's end; there are none for a point probed against itself.
        """
        positive = np.flatnonzero(asked & (self.lower > SLACK))
        alone = self.start[positive] == self.finish[positive]
        for index in positive[alone].tolist():
            yield index, 0.0, None
        links = self._least_links(usable)
        if not links.size:
            return
        graph = self._graph(links)
        _, component = connected_components(graph, directed=False)
        reached = component[self.start[positive]] == component[self.finish[positive]]
        yield from self._searched(graph, links, positive[~alone & reached])

    def _least_links(self, usable: NDArray[np.bool_]) -> Numbers:
        """One bound for each pair of points that has any: the least upper bound, the earliest of equals."""
        links = np.flatnonzero(usable & np.isfinite(self.upper) & (self.start != self.finish))
        pair = self._pair_keys(self.start[links], self.finish[links])
        order = np.lexsort((links, self.upper[links], pair))
        first = np.ones(order.size, dtype=bool)
        first[1:] = np.diff(pair[order]) > 0
        return links[order[first]]

    def _pair_keys(self, one: Numbers, other: Numbers) -> Numbers:
        return np.minimum(one, other) * self.points + np.maximum(one, other)

    def _graph(self, links: Numbers) -> csr_array:
        """Links in both directions. A link of 0 Ω is a stored zero, which is a link and not its absence."""
        rows = np.concatenate((self.start[links], self.finish[links]))
        columns = np.concatenate((self.finish[links], self.start[links]))
        return csr_array((np.tile(self.upper[links], 2), (rows, columns)), shape=(self.points, self.points))

    def _searched(self, graph: csr_array, links: Numbers, asked: Numbers) -> Iterator[tuple[int, float, _Ways]]:
        """Searches from the starts of the bounds asked, as many at a time as memory should hold."""
        keys = self._pair_keys(self.start[links], self.finish[links]).tolist()
        link_of = {key: self.bounds[link] for key, link in zip(keys, links.tolist(), strict=True)}
        sources = np.unique(self.start[asked])
        many = max(1, BLOCK_CELLS // self.points)
        for offset in range(0, sources.size, many):
            block = sources[offset : offset + many]
            here = asked[np.isin(self.start[asked], block)]
            distance, before = dijkstra(graph, indices=block, return_predecessors=True, limit=self.lower[here].max())
            row = np.searchsorted(block, self.start[here])
            shortest = distance[row, self.finish[here]]
            broken = self.lower[here] > shortest * (1 + SLACK) + SLACK
            ways = {
                source: _Ways(self.numbers, link_of, before[source].copy())
                for source in np.unique(row[broken]).tolist()
            }
            for index, ohms, source in zip(
                here[broken].tolist(), shortest[broken].tolist(), row[broken].tolist(), strict=True
            ):
                yield index, ohms, ways[source]


@dataclass(frozen=True, eq=False)
class _Ways:
    """The shortest ways from one point: for each point, by its number, the one `before` it; negative at the start.

    `link_of` leads from the numbers of two points, the lower times their count plus the other, to the link.
    """

    numbers: Mapping[Point, int]
    link_of: Mapping[int, Bound]
    before: NDArray[np.int32]

    def back_from(self, point: Point) -> Iterator[tuple[int, Bound]]:
        """Each point on the way back to the start, by its number, and the link that leads to it."""
        at = self.numbers[point]
        while (previous := int(self.before[at])) >= 0:
            yield at, self.link_of[min(previous, at) * len(self.numbers) + max(previous, at)]
            at = previous
