"""How the rest of a cable may be wired: the chance of each two nets to be one, guessed from what is known.

Guesses only order the readings: they make a plan longer when they are wrong, and never prove anything. All
weights here are judgement, in the unit of a contact at another end about which nothing is known.

A net is *spare* (nothing more belongs to it), or has one *mate*, or belongs to a *hub*, as grounds and supplies
do: a net of three contacts or more, one that is known or one that is not found yet. Contacts beside each other
go where their neighbours go: after A:4–B:7, A:5–B:8 is likely, and beside a ground lies another. How likely,
is learned from the pairs decided so far. `expected` groups (a similar map, a standard) count as far as they
have come true.

The weights become chances by scaling them so that for each net they sum to one (Sinkhorn's way, the largest
entropy that fits the weights).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.core.document import Point, end_of
from catalogue.core.planning.reach import Reach

Matrix = NDArray[np.float64]
Mask = NDArray[np.bool_]

SPARE, SPARE_MATED = 1.9, 6.0
"""Weight of a single contact, and of a net of two, to be complete."""
SAME_END = 0.05
SAME_NUMBER = 6.0
MATED = 0.02
"""How much less a contact that has a mate draws another."""
HUB, NEW_HUB, FIRST_HUB = 0.75, 0.4, 1.5
"""Weight of all hubs known together, of one not found yet, and of that while none is known."""
BESIDE_HUB = 6.0
HUB_MATED = 0.26
HUBS = 6
"""The largest nets taken for hubs; work grows with their number."""
HUB_TO_HUB = 0.02
ROUNDS = 12
SURE = 0.97


@dataclass(frozen=True)
class Known:
    """What is decided between nets: `net` of each point, `size` of each net, `open` where a pair is undecided.

    `beeped` has, by source net, what its sweeps beeped on: sets of nets left of which at least one is joined.
    """

    net: NDArray[np.intp]
    size: NDArray[np.intp]
    open: Mask
    beeped: Mapping[int, Sequence[frozenset[int]]]


@dataclass(frozen=True)
class Guesses:
    """Chances of nets: to be spare; to be mates, by pairs; to be in each of `hubs`, the last column being a new one."""

    hubs: NDArray[np.intp]
    is_hub: Mask
    spare: NDArray[np.float64]
    mates: Matrix
    in_hub: Matrix

    def together(self, known: Known) -> Matrix:
        """The chance of each two nets to be one, as far as guesses say, without those through a new hub."""
        chances = self.mates.copy()
        for place, hub in enumerate(self.hubs):
            chances[:, hub] += self.in_hub[:, place]
            chances[hub] = self.in_hub[:, place]
        return np.clip(np.where(known.open, chances, 0.0), 0.0, SURE)


def guess(known: Known, reach: Reach, expected: Mapping[Point, object]) -> Guesses:
    """`expected` groups points that may well be one net; points outside it are not expected to be anything."""
    seats = _Seats.of(reach, expected)
    count = len(known.size)
    ends_met = np.zeros((count, int(seats.end.max()) + 1), dtype=bool)
    ends_met[known.net, seats.end] = True
    hub_like = (known.size >= 3) | ((known.size == 2) & (ends_met.sum(axis=1) == 1))
    hubs = np.flatnonzero(hub_like)
    hubs = np.sort(hubs[np.argsort(-known.size[hubs], kind="stable")][:HUBS])
    is_hub = np.zeros(count, dtype=bool)
    is_hub[hubs] = True
    mated = (known.size > 1) & ~is_hub
    pairs = _Pairs.of(known, seats.group)
    pair = _mate_weights(known, seats, pairs, is_hub, mated)
    spare = np.where(mated, SPARE_MATED, SPARE)
    for source, sets in known.beeped.items():
        if not is_hub[source]:
            spare[source] = 0.0
            cannot = np.ones(count, dtype=bool)
            cannot[list(frozenset.intersection(*sets))] = False
            pair[source, cannot] = 0.0
            pair[cannot, source] = 0.0
    return _scaled(known, hubs, is_hub, spare, pair, _hub_weights(known, seats, pairs, hubs, is_hub, mated))


@dataclass(frozen=True)
class _Seats:
    """By point: its end, its row, its place along the row and from the other side, its expected group or -1."""

    end: NDArray[np.intp]
    row: NDArray[np.intp]
    place: NDArray[np.intp]
    group: NDArray[np.intp]
    before: NDArray[np.intp]
    after: NDArray[np.intp]
    facing: NDArray[np.intp]

    @staticmethod
    def of(reach: Reach, expected: Mapping[Point, object]) -> _Seats:
        count = len(reach.points)
        ends: dict[str, int] = {}
        end = np.array([ends.setdefault(end_of(point), len(ends)) for point in reach.points])
        groups: dict[object, int] = {}
        group = np.array(
            [groups.setdefault(expected[point], len(groups)) if point in expected else -1 for point in reach.points]
        )
        row = np.arange(count) + len(reach.rows)
        place = np.zeros(count, dtype=np.intp)
        before, after, facing = (np.full(count, -1) for _ in range(3))
        for number, points in enumerate(reach.rows):
            run = np.array(points)
            row[run], place[run] = number, np.arange(len(run))
            after[run[:-1]], before[run[1:]] = run[1:], run[:-1]
        for upper, lower in zip(reach.rows, reach.rows[1:], strict=False):
            if end[upper[0]] == end[lower[0]]:
                shared = min(len(upper), len(lower))
                facing[list(upper[:shared])], facing[list(lower[:shared])] = lower[:shared], upper[:shared]
        return _Seats(end, row, place, group, before, after, facing)


@dataclass(frozen=True)
class _Pairs:
    """Of points: which are one net, which apart, and which are expected together or not.

    `trust` is the share of what was expected together that came true.
    """

    one: Mask
    apart: Mask
    together: Mask
    otherwise: Mask
    trust: float

    @staticmethod
    def of(known: Known, group: NDArray[np.intp]) -> _Pairs:
        one = known.net[:, None] == known.net[None, :]
        apart = ~known.open[np.ix_(known.net, known.net)] & ~one
        told = (group >= 0)[:, None] & (group >= 0)[None, :]
        together = told & (group[:, None] == group[None, :])
        np.fill_diagonal(together, False)
        came, failed = float((together & one).sum()), float((together & apart).sum())
        return _Pairs(one, apart, together, told & ~together, (came + 8) / (came + failed + 9))


def _mate_weights(known: Known, seats: _Seats, pairs: _Pairs, is_hub: Mask, mated: Mask) -> Matrix:
    net, count = known.net, len(known.size)
    across = seats.end[:, None] != seats.end[None, :]
    weights = np.where(across, 1.0, SAME_END)
    weights[across & (seats.place[:, None] == seats.place[None, :])] = SAME_NUMBER
    single = ~is_hub[net]
    told = single[:, None] & single[None, :]
    likely = max(1.0, int((known.size == 1).sum()) / 2)
    joined = pairs.one & across & (known.size[net] <= 4)[:, None]
    for follows in ((seats.after, seats.after), (seats.after, seats.before)):
        carried = _carried_on(joined, *follows) & across
        came, failed = (carried & joined).sum() / 2, (carried & pairs.apart & told).sum() / 2
        rate = (came / 2 + 2) / (came / 2 + failed + 3.5)
        weights = np.where(carried, np.maximum(weights, likely * rate / (1.03 - rate)), weights)
    weights = _as_expected(weights, pairs, likely)
    pair = np.zeros((count, count))
    np.maximum.at(pair, (net[:, None], net[None, :]), weights)
    pair[is_hub] = pair[:, is_hub] = 0.0
    damped = np.where(mated, MATED, 1.0)
    return np.where(known.open, pair, 0.0) * damped[:, None] * damped[None, :]


def _carried_on(joined: Mask, one: NDArray[np.intp], other: NDArray[np.intp]) -> Mask:
    """Pairs that follow a joined pair, stepping along both rows, either way."""
    found = np.zeros_like(joined)
    a, b = np.nonzero(joined)
    for first, second in ((one, other), (_reverse(one), _reverse(other))):
        near, far = first[a], second[b]
        there = (near >= 0) & (far >= 0)
        found[near[there], far[there]] = True
    return found | found.T


def _reverse(follows: NDArray[np.intp]) -> NDArray[np.intp]:
    found = np.full(len(follows), -1)
    start = np.flatnonzero(follows >= 0)
    found[follows[start]] = start
    return found


def _as_expected(weights: Matrix, pairs: _Pairs, likely: float) -> Matrix:
    hopeful = np.maximum(weights, 4 * likely * pairs.trust / (1.03 - pairs.trust))
    return np.where(pairs.together, hopeful, np.where(pairs.otherwise, weights * (1 - 0.98 * pairs.trust), weights))


def _hub_weights(
    known: Known, seats: _Seats, pairs: _Pairs, hubs: NDArray[np.intp], is_hub: Mask, mated: Mask
) -> Matrix:
    """Of shape (nets, hubs + 1): how much each hub draws each net; the last is a hub not found yet."""
    net, count = known.net, len(known.size)
    drawn = np.full((count, len(hubs) + 1), NEW_HUB if len(hubs) else FIRST_HUB)
    trust = pairs.trust
    share = known.size[hubs] / max(1, known.size[hubs].sum())
    for place, hub in enumerate(hubs):
        members = net == hub
        weight = np.full(len(net), HUB * share[place])
        for neighbour in (seats.before, seats.after, seats.facing):
            beside = (neighbour >= 0) & members[neighbour]
            weight[beside] = HUB * share[place] * BESIDE_HUB
        hoped, feared = pairs.together[:, members].any(axis=1), pairs.otherwise[:, members].any(axis=1)
        weight = np.where(
            hoped, 4 * HUB * trust / (1.03 - trust), np.where(feared, weight * (1 - 0.98 * trust), weight)
        )
        drawn[:, place] = 0.0
        np.maximum.at(drawn[:, place], net, weight)
        drawn[:, place] *= known.open[:, hub]
    drawn[mated] *= HUB_MATED
    drawn[is_hub] = 0.0
    return drawn


def _scaled(
    known: Known, hubs: NDArray[np.intp], is_hub: Mask, spare: NDArray[np.float64], pair: Matrix, drawn: Matrix
) -> Guesses:
    scale = np.where(is_hub, 0.0, 0.15)
    in_hub = np.full(drawn.shape, 0.15)
    for turn in range(ROUNDS):
        if turn % 4 == 0:
            pulled = drawn.copy()
            for source, sets in known.beeped.items():
                pulled[source] *= _may_explain(sets, in_hub, hubs)
        scale = np.where(is_hub, 0.0, np.sqrt(scale / (pair @ scale + spare + pulled.sum(axis=1) + 1e-12)))
        in_hub = np.clip(pulled * scale[:, None], 0.0, SURE)
    mates = pair * scale[:, None] * scale[None, :]
    alone = spare * scale
    whole = np.where(is_hub, 1.0, mates.sum(axis=1) + alone + (pulled * scale[:, None]).sum(axis=1))
    whole = np.where(whole > 0, whole, 1.0)
    in_hub = np.clip(pulled * (scale / whole)[:, None], 0.0, SURE)
    in_hub[is_hub] = HUB_TO_HUB
    return Guesses(hubs, is_hub, alone / whole, mates / whole[:, None], in_hub)


def _may_explain(sets: Sequence[frozenset[int]], in_hub: Matrix, hubs: NDArray[np.intp]) -> NDArray[np.float64]:
    """For each hub the chance that sweeps from a member of it would have beeped on one of each set."""
    factor = np.ones(in_hub.shape[1])
    for nets in sets:
        beeps = 1 - np.prod(1 - in_hub[list(nets)], axis=0)
        factor *= np.where(np.append(np.isin(hubs, list(nets)), False), 1.0, beeps)
    return factor + 1e-6
