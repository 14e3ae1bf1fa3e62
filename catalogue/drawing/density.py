"""Where a break is along a cable: its density above the axes of the sections, and where 90 % of it are as bands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, product

from catalogue.core.location.posterior import Posterior, Stretch
from catalogue.core.location.ways import Leg, Way
from catalogue.core.topology import Spot
from catalogue.drawing.dot import TEXT, Handle, Sheet
from catalogue.drawing.header import DENSITY_ROOM, FLAG_WORDS, Flag, Header
from catalogue.drawing.places import Plan, Track
from catalogue.drawing.rows import Row
from catalogue.drawing.symbols import LESS_LIKELY, LIKELY, Sign, draw_interval
from catalogue.drawing.text import fitted

BAR = 2.5
"""Points that one bar of a density is wide, about."""

INTERVAL_WORDS = 300.0
"""Points for the words of the stretches, which may name two sections."""

HEIGHT = DENSITY_ROOM - 4.0

LIKELIEST = Handle("likeliest")
"""Where a page opens the chart."""


@dataclass(frozen=True)
class Break:
    """Where a break is: the way that its place is told on, the density along it, and the stretches with 90 % of it.

    There is one such stretch or several, from near to far. All metres are from the way's near end. `open_next_m` is
    None as long as opening is not what comes next.
    """

    way: Way
    found: Posterior
    stretches_m: tuple[Stretch, ...]
    open_next_m: float | None = None

    @property
    def likeliest(self) -> Spot:
        return self.way.spot(self.found.likeliest_m)

    def words_at(self, along_m: float) -> str:
        """A place to the centimetre; with its section where there are several."""
        spot = self.way.spot(along_m)
        where = f"{spot.at_m:.2f} m"
        return f"{spot.section} {where}" if len(self.way.legs) > 1 else where


class DrawnBreak:
    """A break on a plan. `levels` are those of the axes that its density stands on."""

    def __init__(self, located: Break, plan: Plan) -> None:
        self.located = located
        numbers = {link.section.name: number for number, link in enumerate(plan.tree.links) if link.section.name}
        self.legs = [(leg, numbers[leg.section]) for leg in located.way.legs if leg.section in numbers]
        self.plan = plan
        self.levels = {plan.tracks[number].level for _, number in self.legs}

    def flags(self) -> Iterator[Flag]:
        """The words of the stretches, and where to open next."""
        stretches_m = self.located.stretches_m
        words = f"90 % in {len(stretches_m)} stretches"
        if len(stretches_m) == 1:
            words = f"90 % from {' to '.join(map(self.located.words_at, stretches_m[0]))}"
        spans = list(self._spans())
        if spans:
            x, _, number = min(spans)
            yield Flag(Sign.INTERVAL, x, self.plan.tracks[number].level, fitted(words, INTERVAL_WORDS, TEXT), number)
        if self.located.open_next_m is not None:
            spot = self.located.way.spot(self.located.open_next_m)
            words = f"open next at {self.located.words_at(self.located.open_next_m)}"
            for leg, number in self.legs:
                if leg.section == spot.section:
                    track = self.plan.tracks[number]
                    short = fitted(words, FLAG_WORDS, TEXT)
                    yield Flag(Sign.OPEN_NEXT, track.x_at(spot.at_m), track.level, short, number)

    def draw_bands(self, sheet: Sheet, header: Header, rows: Sequence[Row], bottom: float) -> None:
        """The stretches as bands under the rails."""
        for x0, x1, number in self._spans():
            level = self.plan.tracks[number].level
            axis = header.axis_y[level]
            head = (axis - DENSITY_ROOM, axis)
            for top, finish in header.spans_below(head, x0, x1, level, number, rows, bottom):
                draw_interval(sheet, x0, x1, top, finish)

    def draw_density(self, sheet: Sheet, header: Header) -> None:
        """Bars on the axes, all to one scale; neighbours of one height are one bar."""
        drawn = [
            (leg, track, self._parts(leg, track)) for leg, number in self.legs for track in [self.plan.tracks[number]]
        ]
        highest = max((per_m for _, _, parts in drawn for _, _, per_m in parts), default=0.0) or 1.0
        for leg, track, parts in drawn:
            axis = header.axis_y[track.level]
            bars = ((round(2 * HEIGHT * per_m / highest) / 2, self._is_likely(a, b), a, b) for a, b, per_m in parts)
            for (height, is_likely), group in groupby(bars, key=lambda bar: bar[:2]):
                run = list(group)
                x0, x1 = sorted(track.x_at(leg.section_m(along_m)) for along_m in (run[0][2], run[-1][3]))
                if height:
                    fill = LIKELY if is_likely else LESS_LIKELY
                    sheet.box(x0, axis - height, x1, axis, fill=fill, handle=LIKELIEST if height == HEIGHT else None)

    def _parts(self, leg: Leg, track: Track) -> list[tuple[float, float, float]]:
        """Equal parts of a leg, near ones first: from and to in metres of the way, and the density per metre."""
        count = max(1, round((track.x1 - track.x0) / BAR))
        part_m = leg.length_m / count
        shares = self.located.found.shares(leg.near_m, leg.near_m + leg.length_m, count)
        return [
            (leg.near_m + at * part_m, leg.near_m + (at + 1) * part_m, share / part_m)
            for at, share in enumerate(shares)
        ]

    def _is_likely(self, start_m: float, finish_m: float) -> bool:
        """Whether a part of the way reaches into one of the stretches."""
        return any(start_m < b_m and a_m < finish_m for a_m, b_m in self.located.stretches_m)

    def _spans(self) -> Iterator[tuple[float, float, int]]:
        """The stretches on each section that they touch: from x to x, and the section's number."""
        for (leg, number), (start_m, finish_m) in product(self.legs, self.located.stretches_m):
            a_m, b_m = max(start_m, leg.near_m), min(finish_m, leg.near_m + leg.length_m)
            if a_m < b_m:
                x0, x1 = sorted(self.plan.tracks[number].x_at(leg.section_m(along_m)) for along_m in (a_m, b_m))
                yield x0, x1, number
