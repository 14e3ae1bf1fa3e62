"""Whether resistances between nets can come from resistors at all, and which resistors those would be.

The effective resistances between the terminals of a network of resistors fix that network, as far as it can
be seen from the terminals: from the matrix of resistances the Laplacian is recovered exactly
(`conductances`), and no conductance in it may be negative. Where the resistances are known only within
bounds, `network_within` looks for a network that keeps to all of them.

Source: D. J. Klein and M. Randić, "Resistance distance", J. Math. Chem. 12 (1993) 81-95; R_ij = G_ii + G_jj -
2 G_ij with G the pseudo-inverse of the Laplacian.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.optimize import linprog
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

Matrix = npt.NDArray[np.float64]
Link = tuple[int, int, float]
"""Two node numbers and the ohms between them."""

NEGLIGIBLE = 1e-6
"""A network keeps to the bounds when it misses none of them by more than this share of the resistance."""

NOTHING = 1e-9
"""A conductance this far below what the bounds could notice stands for none, and keeps all connected."""

ROUNDING = 1e-14
"""Share of a terminal's conductance that is lost in rounding anyway."""

MOST_ROUNDS = 80
"""Linear programs before the search is given up; simulated cables of up to twelve nets needed 33 at most."""


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


def network_within(lower: Matrix, upper: Matrix) -> Matrix | None:
    """Conductances (siemens) of a network whose resistances all lie within the bounds, or None when none is
    found.

    Takes two n by n symmetric matrices in ohms with 0 <= lower <= upper, upper positive and finite off the
    diagonal. Method: the network of the midpoints, its negative conductances set to none; while that misses a
    bound, the worst miss is made smaller by linear programs on the linearised logarithms of the resistances,
    each within reach of the last. A resistance is a convex function of the conductances, so the upper bounds
    cannot trap the search; the lower ones could. None is therefore strong evidence and no proof.
    """
    search = _Search(lower, upper)
    recovered = search.pairs_of(conductances((lower + upper) / 2))
    values = np.clip(recovered, search.least, search.most)
    worst = search.worst_miss(values)
    reach = 1.0
    for _ in range(MOST_ROUNDS):
        if worst <= NEGLIGIBLE:
            return search.matrix(values)
        if reach < NEGLIGIBLE:
            break
        nearer = search.nearer(values, reach)
        miss = search.worst_miss(nearer)
        if miss < worst:
            values, worst, reach = nearer, miss, min(2 * reach, 8.0)
        else:
            reach /= 4
    return None


class _Search:
    """The unknowns are one conductance for each pair; none can exceed the inverse of the least resistance
    across it."""

    def __init__(self, lower: Matrix, upper: Matrix) -> None:
        self.size = len(lower)
        self.first, self.second = np.triu_indices(self.size, k=1)
        self.upper = self.pairs_of(upper)
        self.lower = np.maximum(self.pairs_of(lower), NOTHING * self.upper)
        self.least = np.full(len(self.upper), NOTHING / self.upper.max())
        self.most = (1 + NEGLIGIBLE) / self.lower

    def pairs_of(self, matrix: Matrix) -> Matrix:
        values: Matrix = matrix[self.first, self.second]
        return values

    def matrix(self, values: Matrix) -> Matrix:
        full = np.zeros((self.size, self.size))
        full[self.first, self.second] = full[self.second, self.first] = values
        return full

    def worst_miss(self, values: Matrix) -> float:
        found = self.pairs_of(resistances(self.matrix(values)))
        if not np.all(found > 0):
            return math.inf
        return float(np.maximum(np.log(self.lower / found), np.log(found / self.upper)).max())

    def nearer(self, values: Matrix, reach: float) -> Matrix:
        """The conductances within reach whose worst miss is least, to first order.

        The slope of R_ij by the conductance between k and l is minus the square of (e_i - e_j)' G (e_k -
        e_l).
        """
        inverse = _grounded_inverse(self.matrix(values))
        across = inverse[self.first] - inverse[self.second]
        transfer = across[:, self.first] - across[:, self.second]
        found = transfer.diagonal()
        step = values + 0.1 / self.upper
        slope = -(transfer**2) * step / found[:, None]
        miss = np.ones((len(values), 1))
        result = linprog(
            [*np.zeros(len(values)), 1.0],
            A_ub=np.block([[slope, -miss], [-slope, -miss]]),
            b_ub=np.concatenate([np.log(self.upper / found), np.log(found / self.lower)]),
            bounds=[
                *zip(
                    np.maximum(-reach, (self.least - values) / step),
                    np.minimum(reach, (self.most - values) / step),
                    strict=True,
                ),
                (0, None),
            ],
            method="highs",
        )
        if result.x is None:
            return values
        moved: Matrix = np.clip(values + result.x[:-1] * step, self.least, self.most)
        return moved


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
