"""Search trees over places in a row: which to look at first, so that the fewest looks are expected.

A look at a place finds the thing there, or tells on which side it lies. `keys` (n) are the chances of the places,
`gaps` (n + 1) those of the stretches before, between and after them. The cost of a tree is the usual one,
sum of keys·(depth + 1) + sum of gaps·(depth + 1), with the root at depth 0; `looks` counts looks only, so that
a stretch costs its depth.

Source: D. E. Knuth, "Optimum binary search trees", Acta Informatica 1 (1971) 14-25: the best root of a stretch lies
between the best roots of the stretch without its last and without its first place, which makes it O(n²).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

TIE = 1e-12
"""Costs this near to each other are alike but for rounding; of alike roots the first is taken."""


@dataclass(frozen=True, slots=True)
class SearchTree:
    """The best tree: every root it may have (0 to n - 1, of n places), its cost, and the looks it takes on average.

    Chances that do not sum to 1 weigh the cost alike.
    """

    roots: tuple[int, ...]
    cost: float
    looks: float


def best_tree(keys: Array, gaps: Array) -> SearchTree:
    """The tree of least cost over n places, 1 or more. Takes O(n²) time and memory: 24 bytes for each n²."""
    count = len(keys)
    if count == 0 or len(gaps) != count + 1:
        raise ValueError("a tree needs a place, and one more gap than places")
    costs = _costs(np.asarray(keys, dtype=np.float64), np.asarray(gaps, dtype=np.float64))
    cost = float(costs[0, count])
    either_side = costs[0, :-1] + costs[1:, count]
    roots = np.flatnonzero(either_side <= either_side.min() + TIE)
    return SearchTree(tuple(roots.tolist()), cost, cost - float(np.sum(gaps)))


def _costs(keys: Array, gaps: Array) -> Array:
    """Least cost of the places i to j - 1, for all i ≤ j, one length after the other."""
    count = len(keys)
    costs = np.zeros((count + 1, count + 1))
    roots = np.zeros((count + 1, count + 1), dtype=np.intp)
    np.fill_diagonal(costs, gaps)
    until = np.concatenate([[0.0], np.cumsum(keys + gaps[:-1])])
    for length in range(1, count + 1):
        first = np.arange(count + 1 - length)
        last = first + length
        least = roots[first, last - 1] if length > 1 else first
        most = roots[first + 1, last] if length > 1 else first
        tried, starts, owner = _ranges(least, most)
        both = costs[first[owner], tried] + costs[tried + 1, last[owner]]
        best = np.minimum.reduceat(both, starts)
        reached = np.flatnonzero(both <= best[owner] + TIE)
        roots[first, last] = tried[reached[np.searchsorted(reached, starts)]]
        costs[first, last] = best + until[last] - until[first] + gaps[last]
    return costs


def _ranges(
    least: npt.NDArray[np.intp], most: npt.NDArray[np.intp]
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """All numbers least[k] to most[k], one range after the other; where each starts; and to which k each belongs."""
    sizes = most - least + 1
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    owner = np.repeat(np.arange(len(least)), sizes)
    return least[owner] + np.arange(len(owner)) - starts[owner], starts, owner


def halving_looks(until: Array, after: Array) -> float:
    """Looks on average when each is at the middle of the places that are left.

    `until` (n) is the chance of all that lies before a place, `after` (n) the same with the place itself.
    """
    before = np.concatenate([until, [1.0]])
    beyond = np.concatenate([[0.0], after])
    first, last = np.array([0]), np.array([len(until)])
    looks = 0.0
    while len(first):
        looks += float(np.sum(np.maximum(before[last] - beyond[first], 0.0)))
        middle = (first + last) // 2
        first, last = np.concatenate([first, middle + 1]), np.concatenate([middle, last])
        some = first < last
        first, last = first[some], last[some]
    return looks
