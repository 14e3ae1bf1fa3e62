"""The fewest readings that lead from point to point: by joins alone, or by joins and one separation among them.

Breadth-first, from one point to all at once. For chains with a separation each point stands twice, before it and
after it, and only separations lead from the one to the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order

from catalogue.core.document import Point
from catalogue.core.findings import Step

AT_HAND = 64
"""Points whose ways are kept while proofs are asked for, each of a number for each point."""

Numbers = NDArray[np.int64]


class Chain(NamedTuple):
    """Readings on the way, and the places among all joins of those that are joins."""

    steps: tuple[Step, ...]
    joins: tuple[int, ...]


class Chains:
    """Chains of joins and separations, which are known by their places in `joins` and `separations`.

    `net_index` leads from each of the `points` to what all joins together join to it.
    """

    def __init__(
        self,
        points: Sequence[Point],
        joins: Sequence[Step],
        separations: Sequence[Step],
        net_index: Mapping[Point, int],
    ) -> None:
        self.joins = joins
        self.separations = separations
        self.number = {point: number for number, point in enumerate(points)}
        self._net = np.array([net_index[point] for point in points], dtype=np.int64)
        self.joined = lru_cache(AT_HAND)(self._joined)
        self.apart = lru_cache(AT_HAND)(self._apart)
        self._graph_apart = lru_cache(1)(self._new_graph_apart)
        self._leading_from = lru_cache(AT_HAND)(self._new_leading_from)

    def _joined(self, root: Point, known: int) -> Ways:
        """The ways from one point over the first `known` joins."""
        graph = _graph(_both(self._join_ends[:known]), self._count)
        return Ways(self, breadth_first_order(graph, self.number[root]), 0)

    def _apart(self, root: Point, known: int) -> Ways:
        """The ways from one point over the first `known` joins and exactly one separation."""
        start = self.number[root]
        return Ways(self, breadth_first_order(self._graph_apart(int(self._net[start]), known), start), self._count)

    def _new_graph_apart(self, net: int, known: int) -> csr_array:
        """Joins before and after the separations of one net, and these between."""
        joins = _both(self._join_ends[:known])
        ends = np.concatenate((joins, joins + self._count, self._leading_from(net)))
        return _graph(ends, 2 * self._count)

    def _new_leading_from(self, net: int) -> Numbers:
        """The separations of one net, from their one point as it stands before to the other as it stands after."""
        ends = _both(self._separation_ends)
        leading: Numbers = ends[self._net[ends[:, 0]] == net] + np.array((0, self._count))
        return leading

    @property
    def _count(self) -> int:
        return len(self.number)

    @cached_property
    def _join_ends(self) -> Numbers:
        return self._ends(self.joins)

    @cached_property
    def _separation_ends(self) -> Numbers:
        return self._ends(self.separations)

    def _ends(self, steps: Sequence[Step]) -> Numbers:
        ends = [(self.number[step.start], self.number[step.finish]) for step in steps]
        return np.array(ends, dtype=np.int64).reshape(-1, 2)

    @cached_property
    def join_of(self) -> Mapping[int, int]:
        """For two points, by their key, the first join between them."""
        return self._first_of(self._join_ends)

    @cached_property
    def separation_of(self) -> Mapping[int, int]:
        """For two points, by their key, the first separation between them."""
        return self._first_of(self._separation_ends)

    def _first_of(self, ends: Numbers) -> dict[int, int]:
        keys = ends.min(axis=1) * self._count + ends.max(axis=1)
        return dict(zip(keys[::-1].tolist(), range(len(ends) - 1, -1, -1), strict=True))

    def key(self, one: int, other: int) -> int:
        return min(one, other) * self._count + max(one, other)


class Ways:
    """How each point is reached from one, by the fewest readings; nothing else is told of those that are not."""

    def __init__(self, chains: Chains, found: tuple[Numbers, Numbers], first_end: int) -> None:
        self._chains = chains
        self._order, before = found
        self._before = before.tolist()
        self._first_end = first_end

    def __contains__(self, point: Point) -> bool:
        end = self._end(point)
        return bool(self._before[end] >= 0 or end == self._order[0])

    def chain_to(self, point: Point) -> Chain:
        """The readings that lead to a point, each on from the one before."""
        between = []
        at = self._end(point)
        while (before := self._before[at]) >= 0:
            between.append(self._between(before, at))
            at = before
        return _told(reversed(between))

    def last_steps(self) -> Chain:
        """The last reading on the way to each point, nearest points first."""
        return _told(self._between(self._before[at], at) for at in self._order[1:].tolist())

    def _end(self, point: Point) -> int:
        return self._chains.number[point] + self._first_end

    def _between(self, before: int, at: int) -> tuple[Step, int | None]:
        """The step from one end to the next, turned this way, and its place when it is a join."""
        chains = self._chains
        count = len(chains.number)
        key = chains.key(before % count, at % count)
        join = chains.join_of[key] if before // count == at // count else None
        step = chains.separations[chains.separation_of[key]] if join is None else chains.joins[join]
        return (step if chains.number[step.start] == before % count else _turned(step)), join


def _turned(step: Step) -> Step:
    return Step(step.reading, step.finish, step.start, step.limit, step.ohms)


def _told(between: Iterable[tuple[Step, int | None]]) -> Chain:
    found = tuple(between)
    return Chain(tuple(step for step, _ in found), tuple(join for _, join in found if join is not None))


def _both(ends: Numbers) -> Numbers:
    return np.concatenate((ends, ends[:, ::-1]))


def _graph(ends: Numbers, count: int) -> csr_array:
    """The way from the first to the second of each two ends."""
    return csr_array((np.ones(len(ends)), tuple(ends.T)), shape=(count, count))
