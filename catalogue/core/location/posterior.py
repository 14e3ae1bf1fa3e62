"""A density over places, as chances of cells that are small where the chance is: made, and summed up.

The cells start alike; those that hold much are parted until none does. A likelihood of any narrowness is found
in this way, since its logarithm is smooth: the cell nearest to its peak holds most, and is parted next.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Stretch = tuple[float, float]

CELLS = 300
"""Cells of equal length to start with."""

PARTS = 4
"""A cell is parted into so many."""

LEAST_CELL_M = 1e-6
SLIVER_M = 1e-9
"""A cell shorter than this would have no density for rounding."""

MOST_ROUNDS = 60

ROUNDING = 1e-9
"""What sums of chances, and densities, differ by for rounding alone."""


@dataclass(frozen=True)
class Posterior:
    """Edges of n cells in metres (n + 1, rising), and their chances (n, summing to 1), spread evenly in each cell."""

    edges_m: Array
    chances: Array

    @cached_property
    def middles_m(self) -> Array:
        found: Array = (self.edges_m[1:] + self.edges_m[:-1]) / 2
        return found

    @cached_property
    def per_m(self) -> Array:
        found: Array = self.chances / np.diff(self.edges_m)
        return found

    @cached_property
    def until(self) -> Array:
        """Chance of all that lies before each edge."""
        found: Array = np.minimum(np.concatenate([[0.0], np.cumsum(self.chances)]), 1.0)
        found[-1] = 1.0
        return found

    @cached_property
    def mean_m(self) -> float:
        return float(self.chances @ self.middles_m)

    @cached_property
    def median_m(self) -> float:
        return self.place_m(0.5)

    @cached_property
    def likeliest_m(self) -> float:
        return float(self.middles_m[self._by_density[0]])

    def place_m(self, share: float) -> float:
        """The first place before which that share of the chance lies."""
        return float(self._first(np.array([share]))[0])

    def before(self, at_m: Array) -> Array:
        """Chance of all that lies before each of the places."""
        found: Array = np.interp(at_m, self.edges_m, self.until)
        return found

    def coarser(self, most: int) -> Posterior:
        """The same with at most so many cells, neighbours taken together."""
        firsts = np.arange(0, len(self.chances), -(-len(self.chances) // most))
        edges = np.append(self.edges_m[firsts], self.edges_m[-1])
        return Posterior(edges, np.add.reduceat(self.chances, firsts))

    def shares(self, start_m: float, end_m: float, parts: int) -> list[float]:
        """The chance of each of the equal parts of a stretch."""
        found: list[float] = np.diff(self.before(np.linspace(start_m, end_m, parts + 1))).tolist()
        return found

    def between(self, start_m: float, end_m: float) -> Posterior | None:
        """What it is once the place is known to lie between the two. None when it gave that no chance."""
        inside = self.edges_m[(self.edges_m > start_m + SLIVER_M) & (self.edges_m < end_m - SLIVER_M)]
        edges = np.concatenate([[start_m], inside, [end_m]])
        chances = np.diff(self.before(edges))
        total = chances.sum()
        return Posterior(edges, chances / total) if end_m - start_m > SLIVER_M and total > 0 else None

    def shortest_interval(self, share: float) -> Stretch:
        """The shortest stretch that holds the share; of several, the one about the median."""
        edges, until = self.edges_m, self.until
        begins, ends = until + share <= 1, until - share >= 0
        starts = np.concatenate([edges[begins], self._last(until[ends] - share)])
        finishes = np.concatenate([self._first(until[begins] + share), edges[ends]])
        lengths = finishes - starts
        near = lengths <= lengths.min() * (1 + ROUNDING)
        aside = np.where(near, np.abs((starts + finishes) / 2 - self.median_m), np.inf)
        chosen = int(np.argmin(aside))
        return float(starts[chosen]), float(finishes[chosen])

    def densest_stretches(self, share: float) -> tuple[Stretch, ...]:
        """The highest-density region that holds the share: one stretch or several, in order, to the nearest cell."""
        order = self._by_density
        enough = int(np.searchsorted(np.cumsum(self.chances[order]), share - ROUNDING)) + 1
        chosen = np.zeros(len(self.chances) + 2, dtype=np.int8)
        chosen[order[:enough] + 1] = 1
        turns = np.flatnonzero(np.diff(chosen))
        return tuple((float(self.edges_m[a]), float(self.edges_m[b])) for a, b in turns.reshape(-1, 2))

    @cached_property
    def _by_density(self) -> npt.NDArray[np.intp]:
        """Cells, the densest first; of those alike but for rounding, the one nearest to the median."""
        with np.errstate(divide="ignore"):
            density = np.round(np.log(self.per_m), 9)
        order: npt.NDArray[np.intp] = np.lexsort((np.abs(self.middles_m - self.median_m), -density))
        return order

    def _first(self, shares: Array) -> Array:
        """The first places before which the shares lie."""
        cell = np.clip(np.searchsorted(self.until, shares, side="left") - 1, 0, len(self.chances) - 1)
        return self._within(cell, shares)

    def _last(self, shares: Array) -> Array:
        """The last ones."""
        cell = np.clip(np.searchsorted(self.until, shares, side="right") - 1, 0, len(self.chances) - 1)
        return self._within(cell, shares)

    def _within(self, cell: npt.NDArray[np.intp], shares: Array) -> Array:
        chance = np.maximum(self.chances[cell], np.finfo(float).tiny)
        part = np.clip((shares - self.until[cell]) / chance, 0.0, 1.0)
        found: Array = self.edges_m[cell] + part * np.diff(self.edges_m)[cell]
        return found


def posterior(
    length_m: float,
    features_m: Iterable[float],
    log_density: Callable[[Array], Array],
    most_in_a_cell: float = 0.004,
) -> Posterior | None:
    """The density over 0 to `length_m` whose logarithm, up to a constant, is given at any places.

    Cells end at `features_m`, where it jumps or bends. None when it is nowhere above nothing.
    """
    edges = _edges(length_m, features_m)
    logs = log_density((edges[1:] + edges[:-1]) / 2)
    for _ in range(MOST_ROUNDS):
        chances = _chances(edges, logs)
        if chances is None:
            return None
        parted = _to_part(edges, chances, most_in_a_cell)
        if not parted.any():
            break
        edges, fresh = _parted(edges, parted)
        repeated = np.repeat(logs, np.where(parted, PARTS, 1))
        repeated[fresh] = log_density(((edges[1:] + edges[:-1]) / 2)[fresh])
        logs = repeated
    chances = _chances(edges, logs)
    return None if chances is None else Posterior(edges, chances)


def _edges(length_m: float, features_m: Iterable[float]) -> Array:
    features = np.fromiter(features_m, dtype=np.float64)
    inside = features[(features > 0) & (features < length_m)]
    edges = np.unique(np.concatenate([np.linspace(0.0, length_m, CELLS + 1), inside]))
    apart: Array = edges[np.concatenate([[True], np.diff(edges) > SLIVER_M])]
    apart[-1] = length_m
    return apart


def _chances(edges: Array, logs: Array) -> Array | None:
    weighed = logs + np.log(np.diff(edges))
    top = weighed.max()
    if not np.isfinite(top):
        return None
    chances = np.exp(weighed - top)
    found: Array = chances / chances.sum()
    return found


def _to_part(edges: Array, chances: Array, most: float) -> npt.NDArray[np.bool_]:
    """Cells that hold too much, and longer neighbours of theirs, where the peak may as well be."""
    lengths = np.diff(edges)
    heavy = chances > most
    padded = np.concatenate([[np.inf], np.where(heavy, lengths, np.inf), [np.inf]])
    beside = np.minimum(padded[:-2], padded[2:])
    found: npt.NDArray[np.bool_] = (heavy | (lengths > 1.5 * beside)) & (lengths > LEAST_CELL_M)
    return found


def _parted(edges: Array, parted: npt.NDArray[np.bool_]) -> tuple[Array, npt.NDArray[np.bool_]]:
    """The edges with some cells parted, and which of the cells are new."""
    counts = np.where(parted, PARTS, 1)
    owner = np.repeat(np.arange(len(parted)), counts)
    firsts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    step = (np.arange(len(owner)) - firsts[owner]) / counts[owner]
    lengths = np.diff(edges)
    return np.concatenate([edges[owner] + step * lengths[owner], edges[-1:]]), parted[owner]
