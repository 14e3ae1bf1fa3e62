"""Where failures gather along a cable, as numbers for a small drawing: a bar for each section.

All lengths here are in the drawing's own units, `WIDTH` from edge to edge. Bars are to one scale, the longest
section filling the width, so that sections can be compared by eye.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from catalogue.core.document import Section
from catalogue.core.failures import FailurePoint

WIDTH = 320.0
EDGE = 12.0
SHORTEST = 40.0
LEVEL_HEIGHT = 24.0
DOT = 10.0
FOOT = 26.0
SHORT = 90.0


@dataclass(frozen=True, slots=True)
class Pin:
    """One failure point: a dot with its count at (`x`, `y`), above the stretch it spans on the bar."""

    point: FailurePoint
    x: float
    y: float
    first_x: float
    span: float


@dataclass(frozen=True, slots=True)
class Strip:
    """The bar of one section, from `EDGE` to `finish` at height `base`, in a drawing `height` high.

    `anchor` says how the length is written there: a short bar leaves no room to its left.
    """

    section: Section
    bar: float
    finish: float
    anchor: str
    base: float
    height: float
    pins: tuple[Pin, ...]

    @property
    def reports(self) -> int:
        return sum(pin.point.count for pin in self.pins)


def strips(
    sections: Sequence[Section], points: Iterable[FailurePoint], even_without_points: bool = False
) -> tuple[Strip, ...]:
    """A strip for each section of known length, if failures were reported at known places in any of them."""
    lengths = {section.name: section.length_m for section in sections if section.length_m}
    placed = [point for point in points if point.at_m is not None and point.section in lengths]
    longest_m = max(lengths.values(), default=0.0)
    return tuple(
        _strip(section, section.length_m, longest_m, [point for point in placed if point.section == section.name])
        for section in sections
        if (placed or even_without_points) and section.length_m
    )


def _strip(section: Section, length_m: float, longest_m: float, points: list[FailurePoint]) -> Strip:
    bar = max(SHORTEST, (WIDTH - 2 * EDGE) * length_m / longest_m)
    scale = bar / length_m
    along = sorted(points, key=lambda point: point.at_m or 0.0)
    places = [EDGE + (point.at_m or 0.0) * scale for point in along]
    levels = _levels(places)
    base = EDGE + (max(levels, default=-1) + 1) * LEVEL_HEIGHT
    pins = tuple(
        Pin(
            point=point,
            x=x,
            y=base - (level + 1) * LEVEL_HEIGHT + DOT,
            first_x=EDGE + (point.first_m or 0.0) * scale,
            span=((point.last_m or 0.0) - (point.first_m or 0.0)) * scale,
        )
        for point, x, level in zip(along, places, levels, strict=True)
    )
    anchor = "start" if bar < SHORT else "end"
    return Strip(section, bar, EDGE + bar, anchor, base, base + FOOT, pins)


def _levels(places: Sequence[float]) -> list[int]:
    """The lowest level for each dot, from left to right, at which it touches no dot before it."""
    taken_to: list[float] = []
    levels = []
    for x in places:
        level = next((level for level, taken in enumerate(taken_to) if x - taken >= 2 * DOT), len(taken_to))
        taken_to[level:] = [x, *taken_to[level + 1 :]]
        levels.append(level)
    return levels
