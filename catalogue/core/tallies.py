"""What reports that have something in common add up to: how many there are, of how many cables, and how they ended."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from catalogue.core.chances import Interval, wilson_interval
from catalogue.core.failures import Ending
from catalogue.core.outcomes import Outcomes


@dataclass(frozen=True)
class Tally:
    """The reports that share `value`. `mending` are those whose mending was tried and has ended."""

    value: str
    reports: int
    cables: int
    endings: Mapping[Ending, int]
    mending: Outcomes

    @property
    def interval(self) -> Interval | None:
        """Where the share that is mended when mending is tried may lie; None where nobody tried.

        It has no prior in it. Reports are of those who cared to write, and so is it.
        """
        return wilson_interval(self.mending.succeeded, self.mending.tried) if self.mending.tried else None
