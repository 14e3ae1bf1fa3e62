"""What a reading shows of an unknown plug: its source is joined to one of the contacts probed, or to none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from catalogue.core.bounds import distinct, span_ohms
from catalogue.core.document import Meter, Mode, Point, Reading, Result


@dataclass(frozen=True, slots=True)
class Sign:
    """What one reading shows: `source` is joined to one of `members`, or else to none of them."""

    reading: str
    source: Point
    members: tuple[Point, ...]
    joined: bool


def signs(readings: Sequence[Reading], meter: Meter) -> tuple[Sign, ...]:
    """What the readings show of joined and apart; some show nothing, as between `join_ohms` and a beep."""
    found = []
    for reading in readings:
        shows = _shows(reading, meter)
        members = tuple(point for point in distinct(reading.black) if point != reading.red)
        if shows is not None and len(members) == len(distinct(reading.black)):
            found.append(Sign(reading.id, reading.red, members, shows))
    return tuple(found)


def _shows(reading: Reading, meter: Meter) -> bool | None:
    if reading.flexed:
        return None
    if reading.mode in (Mode.BEEP, Mode.SWEEP):
        return reading.result is Result.BEEPS
    span = span_ohms(reading, meter)
    if span is None:
        return None
    lower, upper = span
    return True if upper <= meter.join_ohms else False if lower > meter.join_ohms else None
