"""Where breaks are before anything is measured: anywhere alike, at marks, and where others found theirs.

The prior is a mixture. Its even part and each mark and report have a weight; a mark or report is a normal
density about its place, cut off at the ends of the conductor. The weights are judgement, all in this file.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from catalogue.core.document import MarkKind
from catalogue.core.location.observations import Suspicion

Array = npt.NDArray[np.float64]

EVEN_WEIGHT = 2.0
REPORT_WEIGHT = 1.0
MARK_WEIGHTS: Mapping[MarkKind, float] = {
    MarkKind.CUT: 8.0,
    MarkKind.KINK: 4.0,
    MarkKind.CRUSH: 4.0,
    MarkKind.BURN: 4.0,
    MarkKind.STRAIN_RELIEF: 2.0,
    MarkKind.ABRASION: 1.0,
}
"""Weights beside each other: two reports of others count as much as all that is not known. Judgement."""

MARK_SPREAD_M = 0.03
REPORT_SPREAD_M = 0.05
"""How far from a mark, or from the place that a report tells, the break usually is. Judgement: the reach of a kink, and
a tape measure on another specimen."""

REPORT_PLACES_M = 0.01
"""Reports are gathered by places of this size, so that thousands of them cost no more than hundreds."""


@dataclass(frozen=True)
class Prior:
    """A density over 0 to `length_m`. `reports_m` are places of breaks in other specimens of the same section."""

    length_m: float
    marks: tuple[Suspicion, ...] = ()
    reports_m: tuple[float, ...] = ()

    def density(self, at_m: Array) -> Array:
        """Per metre, at n places."""
        even = self._weights[0] / self.length_m
        found: Array = even + self._weights[1:] @ self._peaks(at_m)
        return found

    def mark_shares(self, at_m: Array) -> Array:
        """For each mark (rows) and place, the chance that a break there is the mark's doing."""
        count = len(self.marks)
        shares: Array = self._weights[1 : count + 1, None] * self._peaks(at_m)[:count] / self.density(at_m)
        return shares

    @property
    def features_m(self) -> Array:
        """Places between which the density bends, for a grid to follow."""
        bends = self._spreads[:, None] * np.arange(-3.0, 4.0)
        places: Array = (self._centres[:, None] + bends).ravel()
        return places

    @cached_property
    def _reports(self) -> Sequence[tuple[float, int]]:
        rounded = Counter(round(at_m / REPORT_PLACES_M) for at_m in self.reports_m if 0 <= at_m <= self.length_m)
        return [(min(place * REPORT_PLACES_M, self.length_m), count) for place, count in sorted(rounded.items())]

    @cached_property
    def _weights(self) -> Array:
        """Of the even part, the marks and the reports; they sum to 1."""
        marks = [MARK_WEIGHTS[mark.kind] for mark in self.marks]
        reports = [REPORT_WEIGHT * count for _, count in self._reports]
        weights = np.array([EVEN_WEIGHT, *marks, *reports])
        shares: Array = weights / weights.sum()
        return shares

    @cached_property
    def _centres(self) -> Array:
        return np.array([*(mark.at_m for mark in self.marks), *(at_m for at_m, _ in self._reports)])

    @cached_property
    def _spreads(self) -> Array:
        return np.repeat([MARK_SPREAD_M, REPORT_SPREAD_M], [len(self.marks), len(self._reports)])

    def _peaks(self, at_m: Array) -> Array:
        """Density of each mark and report (rows) at the places."""
        centre, spread = self._centres[:, None], self._spreads[:, None]
        inside = ndtr((self.length_m - centre) / spread) - ndtr(-centre / spread)
        peaks: Array = np.exp(-0.5 * ((at_m - centre) / spread) ** 2) / (np.sqrt(2 * np.pi) * spread * inside)
        return peaks
