"""Whether resistances between nets can come from resistors at all, and which resistors those would be.

The effective resistances between the terminals of a network of resistors fix that network, as far as it can
be seen from the terminals: from the matrix of resistances the Laplacian is recovered exactly
(`conductances`), and no conductance in it may be negative. Where they are known only within bounds, or some are
not known, `Network` has one resistor, at most, for each pair that was read: as many unknowns as values. It is
fitted by bounded least squares, and resistors that the values can do without are then taken away, so that three
values along a chain are two resistors. Intervals hold every network over the pairs read that keeps to all bounds,
to first order.

Source: D. J. Klein and M. Randić, "Resistance distance", J. Math. Chem. 12 (1993) 81-95; R_ij = G_ii + G_jj -
2 G_ij with G the pseudo-inverse of the Laplacian.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares, linprog
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components, shortest_path

Matrix = npt.NDArray[np.float64]
Link = tuple[int, int, float]
"""Two node numbers and the ohms between them."""

ROUNDING = 1e-14
"""Share of a terminal's conductance that is lost in rounding anyway."""

MOST_UNREAD = 8
"""Terminals beyond which no resistors are sought across pairs that were not read."""

MISS = 1e-6
"""A network keeps to the bounds when it misses none of them by more than this share of the resistance."""

NOTHING = 1e-9
"""Stands for no resistor, as a share of the conductance that its pair can have, and keeps all connected."""

GREATEST = 1e3
"""The most conductance of an unread pair, against that of the way that was read: more would be one net."""

LEAST_START = 0.1
"""Where a fit begins, no unknown is less than this: from none at all, it may not find the way to some."""

MOST_STEPS = 200
"""Steps of one fit."""

MOST_ROUNDS = 80
"""Linear programs before a network is given up; simulated cables needed 33 at most."""

LEAST_REACH = 1e-3
"""Share of the usual reach of a linear program, below which the worst miss is least."""

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


def conductances(resistance: Matrix) -> Matrix:
    """The network behind a matrix of effective resistances.

    Takes an n by n symmetric matrix in ohms, zero on the diagonal and positive elsewhere. Gives the n by n
    matrix of the conductances between the terminals in siemens, zero on the diagonal. A negative one means
    that no network of resistors has these resistances.
    """
    size = len(resistance)
    centring = np.eye(size) - 1 / size
    laplacian = np.linalg.pinv(-0.5 * centring @ resistance @ centring, hermitian=True)
    found: Matrix = np.negative(laplacian, dtype=np.float64)
    np.fill_diagonal(found, 0.0)
    return found


def resistances(conductance: Matrix) -> Matrix:
    """Effective resistances (ohms) between all terminals of a connected network of conductances (siemens)."""
    inverse = _grounded_inverse(conductance)
    diagonal = np.diag(inverse)
    found: Matrix = diagonal[:, None] + diagonal[None, :] - 2 * inverse
    return found


def resistance_distances(nodes: int, links: Sequence[Link]) -> Matrix:
    """Resistance between every two nodes of a network, in ohms; infinite where no way leads between them.

    Takes the number of nodes and the resistors, each above 0 ohms. R_ij = G_ii + G_jj - 2 G_ij holds for
    any generalised inverse G of the Laplacian (Klein and Randić 1993); here that of the Laplacian with each
    connected part tied together by a constant, which is invertible.
    """
    start, finish = (np.array([link[side] for link in links], dtype=np.int64) for side in (0, 1))
    siemens = 1 / np.array([ohms for _, _, ohms in links], dtype=np.float64)
    laplacian = np.zeros((nodes, nodes))
    np.add.at(laplacian, (start, finish), -siemens)
    np.add.at(laplacian, (finish, start), -siemens)
    np.fill_diagonal(laplacian, 0.0)
    np.fill_diagonal(laplacian, -laplacian.sum(axis=1))
    _, part = connected_components(coo_array((siemens, (start, finish)), shape=(nodes, nodes)), directed=False)
    together = part[:, None] == part[None, :]
    inverse = np.linalg.inv(laplacian + together)
    ohms = inverse.diagonal()[:, None] + inverse.diagonal()[None, :] - 2 * inverse
    np.fill_diagonal(ohms, 0.0)
    return np.where(together, np.maximum((ohms + ohms.T) / 2, 0.0), np.inf)


class Network:
    """Resistors over some pairs of nodes. An unknown is the conductance of its pair times the ohms in the middle
    of its bounds: 0 for no resistor, about 1 for one that is all that was read there.
    """

    def __init__(self, lower: Matrix, upper: Matrix, over_all_pairs: bool = False) -> None:
        self._size = len(lower)
        self._lower, self._upper = lower, upper
        pairs = np.transpose(np.triu_indices(self._size, k=1))
        self._read = pairs[np.isfinite(_at(upper, pairs))]
        self._pairs = pairs if over_all_pairs else self._read
        self.is_crossed = bool((lower > upper).any())
        self.is_complete = len(self._read) == len(pairs)
        self._least, self._most = _at(lower, self._read), _at(upper, self._read)
        self._middle = (self._least + self._most) / 2
        self._half = np.maximum((self._most - self._least) / 2, MISS * self._middle)
        # Between two nodes that were not read against each other is no more than on the way that was read.
        self._ohms = (_at(lower, self._pairs) + _at(shortest_path(upper, directed=False), self._pairs)) / 2
        # No resistor is less than the least resistance across it, or the whole would read less there.
        self._cap = self._ohms / np.maximum(_at(lower, self._pairs), self._ohms / GREATEST)

    def fits(self) -> bool:
        """Whether a network over the pairs read is found that keeps to all bounds."""
        return self._fitting(np.ones(len(self._pairs), dtype=bool), self._start()) is not None

    def spans(self) -> dict[tuple[int, int], Span] | Unsolved:
        """The resistors by their two nodes, or why there is no telling."""
        if self.is_crossed:
            return Unsolved.NONE_FITS
        values = self._fitting(np.ones(len(self._pairs), dtype=bool), self._start())
        if values is None:
            if len(self._pairs) == math.comb(self._size, 2):
                return Unsolved.NONE_FITS
            if self._size > MOST_UNREAD:
                return Unsolved.UNREAD_PAIRS
            return Network(self._lower, self._upper, over_all_pairs=True).spans()
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
        return np.maximum(_at(conductances(middle), self._pairs) * self._ohms, LEAST_START)

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
        values: Values = fitted.x
        worst, reach = self._worst_miss(values), 1.0
        for _ in range(MOST_ROUNDS):
            if self._keeps_to_bounds(values):
                return values
            if reach < LEAST_REACH:
                break
            nearer = self._nearer(values, cap, reach)
            miss = self._worst_miss(nearer)
            if miss < worst:
                values, worst, reach = nearer, miss, min(2 * reach, 8.0)
            else:
                reach /= 4
        return None

    def _worst_miss(self, values: Values) -> float:
        return float(np.abs(self._missed(values)).max())

    def _nearer(self, values: Values, cap: Values, share: float) -> Values:
        """The unknowns within reach, or a share of it, whose worst miss is least, to first order."""
        slope, missed = self._slope(values), self._missed(values)
        miss = np.ones((len(missed), 1))
        reach = share * (0.3 * values + 0.1)
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


def _grounded_inverse(conductance: Matrix) -> Matrix:
    """Inverse of the Laplacian with the first terminal as ground; resistances follow from it as well.

    Scaling by the diagonal keeps it accurate over many decades, and what is added to the diagonal keeps it
    from being singular where they are too many.
    """
    laplacian = np.diag(conductance.sum(axis=1)) - conductance
    root = np.sqrt(laplacian.diagonal()[1:])
    scaled = laplacian[1:, 1:] / np.outer(root, root) + ROUNDING * np.eye(len(root))
    inverse = np.zeros_like(laplacian)
    inverse[1:, 1:] = np.linalg.inv(scaled) / np.outer(root, root)
    return inverse
