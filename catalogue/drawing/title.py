"""What every drawing says about itself, and the failure reports that may stand along its axis."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """`name` is maker, model and hardware revision, `revision` the map's, `drawn` its ISO date."""

    name: str
    revision: str
    drawn: str


@dataclass(frozen=True, slots=True)
class ReportCount:
    """How many failures were reported at a section or a place, `at_m` from the section's start where told."""

    place: str
    at_m: float | None
    count: int
