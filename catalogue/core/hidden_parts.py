"""The resistors behind the values read between nets: identification parts, pull-ups, what a block hides.

Nets that hang together by values are the nodes of a network with one resistor, at most, for each pair that was
read: as many unknowns as values. Where every pair was read, the values fix the network exactly (Klein and
Randić, see `catalogue.core.network`); else it is the one over the pairs that were read, fitted by bounded
least squares. Resistors that the values can do without are then taken away, so that three values along a chain
are two resistors. Intervals hold every network over the pairs read that keeps to all bounds, to first order.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares, linprog
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components, shortest_path

from catalogue.core.bounds import Bound, bounds
from catalogue.core.document import Meter, Mode, Point, Reading, Result
from catalogue.core.nets import Deduction
from catalogue.core.network import Matrix, conductances, resistances

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
"""The first two figures of the values that resistors within 5 % are made in (IEC 60063, series E24)."""

MOST_NETS = 9
"""Nets that hang together beyond which nothing is recovered."""

MOST_NETS_UNREAD = 8
"""The same where parts have to be sought across pairs that were not read."""

MOST_EFFORT = 20_000
"""The fourth powers of the nets of each network, added up: some seconds. Small networks come first."""

MISS = 1e-6
"""A network keeps to the bounds when it misses none of them by more than this share of the resistance."""

NOTHING = 1e-9
"""Stands for no resistor, as a share of the conductance that its pair can have, and keeps all connected."""

GREATEST = 1e3
"""The most conductance of an unread pair, against that of the way that was read: more would be one net."""

MOST_STEPS = 200
"""Steps of one fit."""

MOST_ROUNDS = 12
"""Linear programs before a network is given up."""

Values = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Pairs = npt.NDArray[np.int64]


class Unsolved(StrEnum):
    """Why no network is told."""

    TOO_MANY_NETS = "too many nets hang together by values"
    UNREAD_PAIRS = "too many pairs of these nets are not read"
    NONE_FITS = "no network of resistors was found that reads like this"


@dataclass(frozen=True, slots=True)
class Span:
    """A resistance, and the interval that the readings leave it. The most is infinite where they would allow
    that the resistor is not there at all.
    """

    ohms: float
    least_ohms: float
    most_ohms: float


@dataclass(frozen=True, slots=True)
class HiddenPart:
    """A resistor between the nets of two contacts.

    `readings` are those of its two nets against each other; none where the pair was not read and others show
    it. `is_ohmic`: a low value, or one alike with the probes changed over, so that it is no junction.
    """

    between: tuple[Point, Point]
    span: Span
    readings: tuple[str, ...]
    is_ohmic: bool


@dataclass(frozen=True, slots=True)
class HiddenParts:
    """`complete` tells for each part, in their order, whether every pair of the nets it hangs together with was
    read. `unsolved` holds one contact of each net for the groups of nets that are left, and why.
    """

    parts: tuple[HiddenPart, ...]
    complete: tuple[bool, ...]
    unsolved: tuple[tuple[tuple[Point, ...], Unsolved], ...]


def hidden_parts(readings: Sequence[Reading], meter: Meter, deduction: Deduction) -> HiddenParts:
    """The resistors between nets, from values in ohms. `deduction` is that of the same readings.

    What lies within a net between the points that were probed widens the bounds; readings over limit count as
    lower bounds.
    """
    between = _Between(readings, meter, deduction)
    parts: list[HiddenPart] = []
    complete: list[bool] = []
    unsolved = []
    effort_left = MOST_EFFORT
    for group in between.groups():
        effort_left -= len(group) ** 4
        if len(group) > MOST_NETS or effort_left < 0:
            unsolved.append((between.contacts(group), Unsolved.TOO_MANY_NETS))
            continue
        network = between.network(group)
        found = network.spans()
        if isinstance(found, Unsolved):
            unsolved.append((between.contacts(group), found))
            continue
        parts += [between.part(group[a], group[b], span) for (a, b), span in found.items()]
        complete += [network.is_complete] * len(found)
    return HiddenParts(tuple(parts), tuple(complete), tuple(unsolved))


def nearest_e24(ohms: float) -> float:
    """The value of the series E24 that is nearest by ratio. Takes more than 0 ohms."""
    decade = math.floor(math.log10(ohms)) - 1
    values = [float(f"{figures}e{decade + up}") for up in (-1, 0, 1) for figures in E24]
    return min(values, key=lambda value: abs(math.log(value / ohms)))


class _Between:
    """What was read between nets, by the numbers of the nets, the lower first."""

    def __init__(self, readings: Sequence[Reading], meter: Meter, deduction: Deduction) -> None:
        self._deduction = deduction
        valued = {each.id for each in readings if each.mode is Mode.OHMS and each.result is Result.VALUE}
        self._values: dict[tuple[int, int], list[Bound]] = defaultdict(list)
        self._others: dict[tuple[int, int], list[Bound]] = defaultdict(list)
        for bound in bounds(readings, meter):
            one, other = sorted(deduction.net_index[point] for point in (bound.a, bound.b))
            if one != other and bound.lower > 0:
                is_value = bound.reading in valued and math.isfinite(bound.upper)
                (self._values if is_value else self._others)[one, other].append(bound)
        self._usual = self._probed_most()
        self._within_net = self._most_within_nets()

    def _probed_most(self) -> dict[int, Point]:
        """For each net with values, the contact that most of them were read at: it stands for the net."""
        times = Counter(point for found in self._values.values() for bound in found for point in (bound.a, bound.b))
        usual: dict[int, Point] = {}
        for point, _ in times.most_common():
            usual.setdefault(self._deduction.net_index[point], point)
        return usual

    def groups(self) -> list[list[int]]:
        """Nets that hang together by values, the smallest groups first."""
        if not self._values:
            return []
        nets = sorted(self._usual)
        place = {net: number for number, net in enumerate(nets)}
        pairs = np.array([(place[one], place[other]) for one, other in self._values])
        graph = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(nets), len(nets)))
        _, label = connected_components(graph, directed=False)
        groups: dict[int, list[int]] = defaultdict(list)
        for net, number in zip(nets, label.tolist(), strict=True):
            groups[number].append(net)
        return sorted(groups.values(), key=len)

    def contacts(self, group: Sequence[int]) -> tuple[Point, ...]:
        return tuple(self._usual[net] for net in group)

    def network(self, group: Sequence[int]) -> _Network:
        size = len(group)
        lower, upper = np.zeros((size, size)), np.full((size, size), np.inf)
        for a, b in combinations(range(size), 2):
            pair = group[a], group[b]
            both = [*self._values.get(pair, ()), *self._others.get(pair, ())]
            slacks = [self._within_net[bound.a] + self._within_net[bound.b] for bound in both]
            for bound, slack in zip(both, slacks, strict=True):
                lower[a, b] = lower[b, a] = max(lower[a, b], bound.lower - slack)
                upper[a, b] = upper[b, a] = min(upper[a, b], bound.upper + slack)
        return _Network(lower, upper)

    def part(self, one: int, other: int, span: Span) -> HiddenPart:
        found = self._values.get((one, other), ())
        return HiddenPart(
            between=(self._usual[one], self._usual[other]),
            span=span,
            readings=tuple(dict.fromkeys(bound.reading for bound in found)),
            is_ohmic=any(bound.ohmic for bound in found),
        )

    def _most_within_nets(self) -> dict[Point, float]:
        """The most resistance that the readings leave between each point and the one that stands for its net."""
        most = dict.fromkeys(self._usual.values(), 0.0)
        for usual in self._usual.values():
            for step in self._deduction.net_joins(usual):
                most[step.finish] = most[step.start] + step.ohms
        return most


class _Network:
    """Resistors over some pairs of nodes. An unknown is the conductance of its pair times the ohms in the middle
    of its bounds: 0 for no resistor, about 1 for one that is all that was read there.
    """

    def __init__(self, lower: Matrix, upper: Matrix, over_all_pairs: bool = False) -> None:
        self._size = len(lower)
        self._lower, self._upper = lower, upper
        pairs = np.transpose(np.triu_indices(self._size, k=1))
        self._read = pairs[np.isfinite(_at(upper, pairs))]
        self._pairs = pairs if over_all_pairs else self._read
        self.is_complete = len(self._read) == len(pairs)
        self._least, self._most = _at(lower, self._read), _at(upper, self._read)
        self._middle = (self._least + self._most) / 2
        self._half = np.maximum((self._most - self._least) / 2, MISS * self._middle)
        # Between two nodes that were not read against each other is no more than on the way that was read.
        self._ohms = (_at(lower, self._pairs) + _at(shortest_path(upper, directed=False), self._pairs)) / 2
        # No resistor is less than the least resistance across it, or the whole would read less there.
        self._cap = self._ohms / np.maximum(_at(lower, self._pairs), self._ohms / GREATEST)

    def spans(self) -> dict[tuple[int, int], Span] | Unsolved:
        """The resistors by their two nodes, or why there is no telling."""
        if (self._lower > self._upper).any():
            return Unsolved.NONE_FITS
        values = self._fitting(np.ones(len(self._pairs), dtype=bool), self._start())
        if values is None:
            if len(self._pairs) == math.comb(self._size, 2):
                return Unsolved.NONE_FITS
            if self._size > MOST_NETS_UNREAD:
                return Unsolved.UNREAD_PAIRS
            return _Network(self._lower, self._upper, over_all_pairs=True).spans()
        present, values = self._without_the_needless(values)
        spans = {}
        for pair in np.flatnonzero(present).tolist():
            one, other = self._pairs[pair].tolist()
            least, most = self._reach(values, pair)
            shares = (values[pair], most, least)
            spans[one, other] = Span(
                *(float(self._ohms[pair] / share) if share > 2 * NOTHING else math.inf for share in shares)
            )
        return spans

    def _start(self) -> Values:
        if not self.is_complete:
            return np.full(len(self._pairs), 0.5)
        middle = np.zeros((self._size, self._size))
        middle[tuple(self._read.T)] = middle[tuple(self._read.T[::-1])] = self._middle
        return _at(conductances(middle), self._pairs) * self._ohms

    def _fitting(self, present: Flags, start: Values) -> Values | None:
        """A network of resistors over the pairs `present` that keeps to all bounds, or None when none is found.

        Least squares comes near the middles; from there the worst miss is made smaller by linear programs, each
        within reach of the last.
        """
        if not self._is_connected(present):
            return None
        cap = np.where(present, self._cap, 2 * NOTHING)
        start = np.clip(start, 1.5 * NOTHING, cap - NOTHING / 2)
        fitted = least_squares(self._missed, start, self._slope, bounds=(NOTHING, cap), max_nfev=MOST_STEPS)
        if 2 * fitted.cost > len(self._read):
            return None  # the least sum of squares is more than that of a network within all bounds
        values = fitted.x
        worst = np.abs(self._missed(values)).max()
        for _ in range(MOST_ROUNDS):
            if self._keeps_to_bounds(values):
                return np.asarray(values)
            nearer = self._nearer(values, cap)
            miss = np.abs(self._missed(nearer)).max()
            if miss > worst * (1 - 1e-3):
                break
            values, worst = nearer, miss
        return None

    def _nearer(self, values: Values, cap: Values) -> Values:
        """The unknowns within reach whose worst miss is least, to first order."""
        slope, missed = self._slope(values), self._missed(values)
        miss = np.ones((len(missed), 1))
        reach = 0.3 * values + 0.1
        found = linprog(
            [*np.zeros(len(values)), 1.0],
            A_ub=np.block([[slope, -miss], [-slope, -miss]]),
            b_ub=np.concatenate((slope @ values - missed, missed - slope @ values)),
            bounds=[
                *np.transpose((np.maximum(NOTHING, values - reach), np.maximum(np.minimum(cap, values + reach), 0.0))),
                (0, None),
            ],
        ).x
        return values if found is None else np.clip(found[:-1], NOTHING, cap)

    def _without_the_needless(self, values: Values) -> tuple[Flags, Values]:
        """The resistors that are left, and their values, when as many as possible are taken away.

        The weakest of those that may be none go first, many at once and then fewer.
        """
        present = np.ones(len(values), dtype=bool)
        play = np.abs(np.linalg.pinv(self._slope(values))).sum(axis=1)
        square = len(self._pairs) == len(self._read)
        doubtful = [pair for pair in np.argsort(values).tolist() if values[pair] <= play[pair] or not square]
        many = len(doubtful)
        while doubtful:
            fewer = present.copy()
            fewer[doubtful[:many]] = False
            fitted = self._fitting(fewer, values)
            if fitted is not None:
                present, values = fewer, fitted
            elif many > 1:
                many = max(1, many // 2)
                continue
            doubtful = doubtful[many:]
        return present, values

    def _reach(self, values: Values, pair: int) -> tuple[float, float]:
        """The least and the most that one unknown can be while all bounds are kept to.

        To first order of the conductances read, the inverse of the resistances: so it is exact for one pair.
        """
        found = _at(self._resistances(values), self._read)
        slope = -self._slope(values) * (self._half / found**2 * self._middle)[:, None]
        fixed = self._middle / found - slope @ values
        greatest = self._middle / np.maximum(self._least, NOTHING * self._middle)
        limits = np.concatenate((greatest - fixed, fixed - self._middle / self._most)) + MISS
        rows, spans = np.concatenate((slope, -slope)), np.transpose((np.zeros(len(values)), self._cap))
        aim = np.zeros(len(values))
        ends = [float(values[pair])]
        for aim[pair] in (1.0, -1.0):
            reached = linprog(aim, A_ub=rows, b_ub=limits, bounds=spans).x
            ends.append(ends[0] if reached is None else float(reached[pair]))
        return min(ends), max(ends)

    def _is_connected(self, present: Flags) -> bool:
        pairs = tuple(self._pairs[present].T)
        graph = coo_array((np.ones(len(pairs[0])), pairs), shape=(self._size, self._size))
        return bool(connected_components(graph, directed=False)[0] == 1)

    def _keeps_to_bounds(self, values: Values) -> bool:
        found = self._resistances(values)
        kept = (found >= self._lower * (1 - MISS)) & (found <= self._upper * (1 + MISS))
        return bool(kept[~np.eye(self._size, dtype=bool)].all())

    def _missed(self, values: Values) -> Values:
        """How far each resistance read is off the middle of its bounds; they are kept to within 1 either way."""
        found: Values = (_at(self._resistances(values), self._read) - self._middle) / self._half
        return found

    def _slope(self, values: Values) -> Values:
        """How each miss moves with each unknown: R_ij by the conductance between k and l is minus the square
        of (R_il + R_jk - R_ik - R_jl) / 2.
        """
        found = self._resistances(values)
        i, j = self._read.T[:, :, None]
        k, m = self._pairs.T
        transfer = (found[i, m] + found[j, k] - found[i, k] - found[j, m]) / 2
        slope: Values = -(transfer**2) / self._ohms / self._half[:, None]
        return slope

    def _resistances(self, values: Values) -> Matrix:
        siemens = np.zeros((self._size, self._size))
        one, other = self._pairs.T
        siemens[one, other] = siemens[other, one] = values / self._ohms
        return resistances(siemens)


def _at(matrix: Matrix, pairs: Pairs) -> Values:
    found: Values = matrix[tuple(pairs.T)]
    return found
