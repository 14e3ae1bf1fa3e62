"""What stands above the rails: for each section an axis in metres with flags along it, and the places.

A flag is a line of words beside an upright leader. Flags are put down from right to left, each as low as it
goes, so that no leader runs through the words of another flag.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from catalogue.core.document import MapDocument, MarkKind
from catalogue.drawing.dot import TEXT, Align, Dash, Sheet
from catalogue.drawing.places import Plan, Span, Track
from catalogue.drawing.rows import PITCH, Row
from catalogue.drawing.symbols import HAIR, QUIET, Sign, count_width, draw_band, draw_count, draw_notch, draw_open_next
from catalogue.drawing.text import fitted, width_of
from catalogue.drawing.title import ReportCount
from catalogue.drawing.tree import Kind

LANE = 13.0
"""Points from one line of flags to the next."""

AXIS_ROOM = 30.0
"""Points below an axis for its numbers and name."""

NOTCH = 11.0
"""Points above an axis that only leaders and notches use."""

DENSITY_ROOM = 44.0
"""Points above an axis that a density on it takes, more than `NOTCH`."""

TICK_ROOM = 30.0
STEPS = tuple(step * ten for ten in (0.01, 0.1, 1.0, 10.0, 100.0, 1000.0) for step in (1, 2, 5))
FLAG_WORDS = 200.0

MOST_TOLD = 6
"""Failure points that are told in words. Of more, each is a disc at its place on the axis: words would pile up."""

PLACE_NAME = 9.0
PLACE_LANE = 24.0
PLACE_FILLS = {Kind.MODULE: "#d3dde8", Kind.SPLIT: "#dcdcdc", Kind.END: "#eef2f6"}


@dataclass(frozen=True, slots=True)
class Flag:
    """Something at an x of one level. `link` is its section's number, `count` how many reports it means."""

    sign: Sign
    x: float
    level: int
    words: str
    link: int | None = None
    count: int = 0

    @property
    def width(self) -> float:
        disc = count_width(self.count) if self.sign is Sign.REPORTS else 0.0
        return disc + (width_of(self.words, TEXT) + 14 if self.words else 4)


def flags_of(
    document: MapDocument, plan: Plan, reports: Sequence[ReportCount]
) -> tuple[tuple[Flag, ...], tuple[str, ...]]:
    """Everything told of places along the cable, and in words what has no place on any axis."""
    numbers = {link.section.name: number for number, link in enumerate(plan.tree.links) if link.section.name}
    flags: list[Flag] = []
    untold: list[str] = []

    def put(sign: Sign, section: str, at_m: float | None, words: str, count: int = 0) -> None:
        short = fitted(words, FLAG_WORDS, TEXT)
        if section in numbers:
            track = plan.tracks[numbers[section]]
            x = (track.x0 + track.x1) / 2 if at_m is None else track.x_at(at_m)
            flags.append(Flag(sign, x, track.level, short, numbers[section], count))
        elif count and section in plan.bands:
            flags.append(Flag(sign, plan.bands[section].x, plan.bands[section].level, short, None, count))
        else:
            counted = f"{count} {words}" if count else words
            untold.append(f"{counted}, in {section}" if section else counted)

    for mark in document.marks:
        sign = Sign.RELIEF if mark.kind is MarkKind.STRAIN_RELIEF else Sign.DAMAGE
        put(sign, mark.section, mark.at_m, f"{mark.kind.replace('-', ' ')} {mark.at_m:g} m")
    for opening in document.openings:
        put(Sign.OPENING, opening.section, opening.at_m, f"opened {opening.at_m:g} m")
    is_crowded = sum(report.at_m is not None for report in reports) > MOST_TOLD
    for report in reports:
        words = "report" if report.count == 1 else "reports"
        if is_crowded and report.at_m is not None and report.place in numbers:
            words = ""
        elif report.at_m is not None:
            words += f" at {round(report.at_m, 2):g} m"
        elif report.place not in numbers:
            words += f" at {report.place}"
        put(Sign.REPORTS, report.place, report.at_m, words, report.count)
    return tuple(flags), tuple(untold)


def in_lanes(spans: Sequence[tuple[float, float]]) -> list[int]:
    """The lane of each flag, 0 lowest, from where its leader is to where its words end."""
    lanes: list[list[tuple[float, float]]] = []
    lane_of = [0] * len(spans)
    for number in sorted(range(len(spans)), key=lambda number: spans[number][0], reverse=True):
        x0, x1 = spans[number]
        lane = next((at for at, taken in enumerate(lanes) if all(x1 <= a or b <= x0 for a, b in taken)), len(lanes))
        lane_of[number] = lane
        while len(lanes) <= lane:
            lanes.append([])
        for at in range(lane):
            lanes[at].append((x0 - 1, x0))
        lanes[lane].append((x0, x1))
    return lane_of


class Header:
    """The axes with their flags, and the places' names below; `bottom` is where the rails may begin.

    `labels` has for each place its name, and what it is. Axes of the levels in `dense` have a density on them.
    """

    def __init__(
        self,
        plan: Plan,
        flags: Sequence[Flag],
        labels: Mapping[str, tuple[str, str]],
        top: float,
        dense: Collection[int] = (),
    ) -> None:
        self.plan = plan
        self.flags = flags
        self.labels = labels
        self.axis_y: list[float] = []
        self.flag_y = [0.0] * len(flags)
        y = top
        levels = [*(track.level for track in plan.tracks), *(flag.level for flag in flags)]
        for level in range(1 + max(levels, default=-1)):
            numbers = [number for number, flag in enumerate(flags) if flag.level == level]
            lanes = in_lanes([(flags[number].x, flags[number].x + flags[number].width) for number in numbers])
            clear = NOTCH + (DENSITY_ROOM if level in dense else 0.0)
            y += LANE * (1 + max(lanes, default=-1)) + clear
            self.axis_y.append(y)
            for number, lane in zip(numbers, lanes, strict=True):
                self.flag_y[number] = y - clear - LANE * (lane + 0.5)
            y += AXIS_ROOM
        # Of ends that share a side the last comes lowest.
        places = [*labels][::-1]
        lanes = in_lanes([self._label_span(place) for place in places])
        self.bottom = y + PLACE_LANE * (1 + max(lanes, default=-1))
        self.place_y = {place: self.bottom - PLACE_LANE * (lane + 1) for place, lane in zip(places, lanes, strict=True)}

    def _label_span(self, place: str) -> Span:
        band = self.plan.bands[place]
        words = max(width_of(line, PLACE_NAME, bold=True) for line in self.labels[place]) + 6
        if place in self.plan.tree.left:
            return band.x0 - words, band.x0
        return band.x0, max(band.x1, band.x0 + words)

    def draw_bands(self, sheet: Sheet, rows: Sequence[Row], bottom: float) -> None:
        """Places and marks as upright bands, to be drawn under the rails.

        Beside a section that runs in parallel, a band shows only on the lines of what it belongs to.
        """
        for place, top in self.place_y.items():
            band = self.plan.bands[place]
            if band.x0 == band.x1:
                continue
            fill = PLACE_FILLS[self.plan.tree.kinds[place]]
            spans = [(top, top + PLACE_LANE - 2), *(_touched(self.plan, row, place) for row in rows)]
            if self.plan.alone(band.x0, band.x1, band.level):
                spans = [(top, bottom)]
            for start, finish in spans:
                if finish > start:
                    sheet.box(band.x0, start, band.x1, finish, fill=fill, edge=HAIR)
        for flag, y in zip(self.flags, self.flag_y, strict=True):
            if flag.sign not in (Sign.DAMAGE, Sign.RELIEF):
                continue
            head = (y - 5, self.axis_y[flag.level] + 4)
            for start, finish in self.spans_below(head, flag.x - 5, flag.x + 5, flag.level, flag.link, rows, bottom):
                draw_band(sheet, flag.sign, flag.x, start, finish)

    def spans_below(
        self, head: Span, x0: float, x1: float, level: int, link: int | None, rows: Sequence[Row], bottom: float
    ) -> list[Span]:
        """From where to where a band that begins with `head` is drawn: down to the bottom, but beside a section that
        runs in parallel only on the lines of its own section."""
        if self.plan.alone(x0, x1, level):
            return [(head[0], bottom)]
        return [(start, finish) for start, finish in (head, *(_covered(row, link) for row in rows)) if finish > start]

    def draw(self, sheet: Sheet) -> None:
        for track in self.plan.tracks:
            _draw_axis(sheet, track, self.axis_y[track.level])
        for flag, y in zip(self.flags, self.flag_y, strict=True):
            _draw_flag(sheet, flag, y, self.axis_y[flag.level])
        for place, y in self.place_y.items():
            align, shift = (Align.END, -3) if place in self.plan.tree.left else (Align.START, 3)
            x = self.plan.bands[place].x0 + shift
            name, what = self.labels[place]
            sheet.text(x, y + 7, name, align=align, size=PLACE_NAME, bold=True)
            sheet.text(x, y + 17, what, align=align)


def _touched(plan: Plan, row: Row, place: str) -> Span:
    """From where to where a row's lines meet a place; from 0 to 0 when they do not."""
    lines = [
        first + line
        for number, first in row.links.items()
        if place in (plan.tree.links[number].left, plan.tree.links[number].right)
        for line in (0, row.strands[number] - 1)
    ]
    if place in row.pads:
        lines += [row.pads[place], row.pads[place] + len(row.pad_lines[place]) - 1]
    return (row.y(min(lines)) - PITCH / 2, row.y(max(lines)) + PITCH / 2) if lines else (0.0, 0.0)


def _covered(row: Row, link: int | None) -> Span:
    """From where to where a row's lines run in a section; from 0 to 0 when none does."""
    if link is None or link not in row.links:
        return 0.0, 0.0
    first = row.links[link]
    return row.y(first) - PITCH / 2, row.y(first + row.strands[link] - 1) + PITCH / 2


def _draw_axis(sheet: Sheet, track: Track, y: float) -> None:
    """The axis of a section, with metres from where the section starts, and its name and length below."""
    section = track.link.section
    middle, room = (track.x0 + track.x1) / 2, track.x1 - track.x0 - 4
    if not section.name:
        sheet.line(((track.x0, y), (track.x1, y)), ink=QUIET, dash=Dash.DASHED)
        sheet.text(middle, y + 10, fitted("section not described", room, TEXT), align=Align.MIDDLE, ink=QUIET)
        return
    ticks = _ticks(track)
    sheet.line(
        ((track.x0, y), (track.x1, y)),
        *(((x, y - 4), (x, y + 4)) for x in (track.x0, track.x1)),
        *(((x, y), (x, y + 3)) for _, x in ticks),
    )
    for metres, x in ticks:
        sheet.text(x, y + 9, f"{metres:g}", align=Align.MIDDLE, ink=QUIET)
    length = "length not known" if track.length_m is None else f"{track.length_m:g} m"
    name_room = room - width_of(f"  {length}", TEXT, bold=True)
    sheet.text(
        middle,
        y + 20,
        f"{fitted(section.name, name_room, TEXT, bold=True)}  {length}",
        align=Align.MIDDLE,
        bold=True,
    )


def _ticks(track: Track) -> list[tuple[float, float]]:
    """Metres and x of each tick, as close as their numbers allow."""
    if not track.axis_m:
        return []
    least_m = TICK_ROOM * track.axis_m / (track.x1 - track.x0)
    step = next((step for step in STEPS if step >= least_m), None)
    if step is None:
        return []
    return [(at * step, track.x_at(at * step)) for at in range(int(track.axis_m / step + 1e-9) + 1)]


def _draw_flag(sheet: Sheet, flag: Flag, y: float, axis: float) -> None:
    words_x = flag.x + 8
    if flag.sign is Sign.OPENING:
        sheet.line(((flag.x, y - 5), (flag.x, axis - 7)), pen=0.7)
        draw_notch(sheet, flag.x, axis)
        words_x = flag.x + 4
    elif flag.sign is Sign.OPEN_NEXT:
        sheet.line(((flag.x, y - 5), (flag.x, axis - 9)), pen=1.4)
        draw_open_next(sheet, flag.x, axis)
        words_x = flag.x + 4
    elif flag.sign is Sign.INTERVAL:
        words_x = flag.x + 4
    elif flag.sign is Sign.REPORTS:
        sheet.line(((flag.x, y - 5), (flag.x, axis)), pen=0.7)
        half = count_width(flag.count) / 2
        draw_count(sheet, flag.x + 3 + half, y, flag.count)
        words_x = flag.x + 6 + 2 * half
    if flag.words:
        sheet.text(words_x, y, flag.words)
