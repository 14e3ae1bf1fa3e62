"""Draws one rail of a chart: its cores section by section, how they join at places, pads, gaps, faults."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from catalogue.core.document import Core, CoreKind, Fault, FaultKind, Via
from catalogue.core.reference import Colour
from catalogue.core.words import word
from catalogue.drawing.contacts import Contacts
from catalogue.drawing.dot import INK, TEXT, Handle, Sheet
from catalogue.drawing.pads import GAP, draw_pad, line_width
from catalogue.drawing.places import Band, Plan, Span, Track
from catalogue.drawing.rows import Row
from catalogue.drawing.symbols import (
    COLOUR_NOT_KNOWN,
    FAULT,
    SIGN_OF_VIA,
    SYMBOL_WIDTH,
    Paint,
    Sign,
    draw_core,
    draw_cross,
    draw_part,
    draw_ring,
    draw_sleeve,
    draw_way_on,
    paint_of,
    sign_of,
)
from catalogue.drawing.text import fitted, width_of
from catalogue.drawing.tree import Kind, Side

JOIN = 1.4
"""Points that the lines joining cores and pads are thick."""

WITHIN = 24.0
TAG_SPARE = 8.0
TAG_FILL = "#dbe4ee"
INDENT = 10.0
SLEEVE_SPARE = 6.0
WORDS_ROOM = 130.0
NAME_ROOM = 60.0
LETTERS_ROOM = 56.0
"""Points that the words of a fault leave for those of the core."""


@dataclass(frozen=True, slots=True)
class _Gap:
    """Where a path is no conductor: at a place, or in a section, by its number."""

    x: float
    place: str | None = None
    link: int | None = None


@dataclass
class Wires:
    """Draws rows on a sheet. `signs` gathers what was used, `untold` what found no place on a rail."""

    sheet: Sheet
    plan: Plan
    contacts: Contacts
    colours: Mapping[str, Colour]
    tag_width: Mapping[Side, float]
    faults: Mapping[str, Sequence[Fault]]
    signs: set[Sign] = field(default_factory=set)
    untold: list[str] = field(default_factory=list)
    drawn: set[str] = field(default_factory=set)

    def draw(self, row: Row) -> None:
        taken: dict[tuple[int, int], list[Span]] = {}
        gap = self._gap(row)
        for number in row.links:
            self._draw_section(row, number, gap, taken)
        for place in self._places(row):
            self._draw_place(row, place, gap)
        for end in row.pads:
            self._draw_pads(row, end)
        for fault in self.faults.get(row.rail.name, ()):
            self._draw_fault(row, fault, taken)
        for number in row.links:
            self._draw_sleeves(row, number, taken)

    def _cores(self, row: Row, number: int) -> Sequence[Core | None]:
        """The rail's cores in a section, by the section's number; one None where none is described."""
        return row.rail.cores.get(self.plan.tree.links[number].section.name) or (None,)

    def _places(self, row: Row) -> list[str]:
        """The places that the rail touches, each once."""
        links = (self.plan.tree.links[number] for number in row.links)
        return list(
            dict.fromkeys((*row.pads, *(place for link in links for place in (link.left, link.right))))
        )

    def _look(self, row: Row, core: Core | None) -> tuple[Sign, Paint]:
        if core is not None:
            paint = paint_of(core, self.colours)
            return sign_of(core, paint), paint
        described = any(core.kind is CoreKind.FIBRE for cores in row.rail.cores.values() for core in cores)
        fibre = row.rail.via is Via.FIBRE and not described
        return (Sign.FIBRE if fibre else Sign.PLAIN), Paint(COLOUR_NOT_KNOWN)

    def _gap(self, row: Row) -> _Gap | None:
        """A path's gap: in the first module on its way, else in the middle of its longest section."""
        if row.rail.via not in SIGN_OF_VIA:
            return None
        links = self.plan.tree.links
        lefts, rights = (
            {links[number].left for number in row.links},
            {links[number].right for number in row.links},
        )
        for place in self._places(row):
            if self.plan.tree.kinds[place] is Kind.MODULE and place in lefts and place in rights:
                return _Gap(self.plan.bands[place].x, place=place)
        if not row.links:
            return None
        longest = max(row.links, key=lambda number: self.plan.tracks[number].x1 - self.plan.tracks[number].x0)
        track = self.plan.tracks[longest]
        return _Gap((track.x0 + track.x1) / 2, link=longest)

    def _draw_section(
        self, row: Row, number: int, gap: _Gap | None, taken: dict[tuple[int, int], list[Span]]
    ) -> None:
        track, handle = self.plan.tracks[number], Handle(row.rail.classes)
        for strand, core in enumerate(self._cores(row, number)):
            y = row.y(row.links[number] + strand)
            sign, paint = self._look(row, core)
            self.signs.add(sign)
            if gap is None or gap.link != number:
                draw_core(self.sheet, sign, paint, track.x0, track.x1, y, handle)
                continue
            half = SYMBOL_WIDTH / 2
            draw_core(self.sheet, sign, paint, track.x0, gap.x - half, y, handle)
            draw_core(self.sheet, sign, paint, gap.x + half, track.x1, y, handle)
            self._draw_way_on(row, gap.x, y)
            taken.setdefault((number, strand), []).append((gap.x - half - 3, gap.x + half + 3))

    def _draw_way_on(self, row: Row, x: float, y: float) -> None:
        if row.rail.via is not None:
            sign = SIGN_OF_VIA[row.rail.via]
            self.signs.add(sign)
            draw_way_on(self.sheet, sign, x, y)

    def _draw_place(self, row: Row, place: str, gap: _Gap | None) -> None:
        """Joins what meets at a place; a lone core that ends there gets a ring."""
        band = self.plan.bands[place]
        from_left = self._strands(row, place, towards_left=True)
        from_right = self._strands(row, place, towards_left=False)
        pads = (
            [row.y(row.pads[place] + line) for line in range(len(row.pad_lines[place]))]
            if place in row.pads
            else []
        )
        if gap is not None and gap.place == place:
            self._draw_gap_at(row, from_left, from_right, gap.x, band)
            return
        if row.rail.via is not None and not row.links:
            self._draw_way_within(row, place, pads)
            return
        if not pads and not (from_left and from_right) and len(from_left) + len(from_right) == 1:
            self.signs.add(Sign.ENDS_HERE)
            draw_ring(self.sheet, band.x0 if from_left else band.x1, (from_left + from_right)[0])
            return
        for y in from_left:
            self._wire(row, band.x0, band.x, y)
        for y in from_right:
            self._wire(row, band.x, band.x1, y)
        self._bar(row, band.x, from_left + from_right + pads)

    def _strands(self, row: Row, place: str, towards_left: bool) -> list[float]:
        """The y of each core that reaches a place from its left or right."""
        return [
            y
            for number in row.links
            if place
            == (self.plan.tree.links[number].right if towards_left else self.plan.tree.links[number].left)
            for y in (row.y(row.links[number] + strand) for strand in range(row.strands[number]))
        ]

    def _draw_gap_at(
        self, row: Row, from_left: Sequence[float], from_right: Sequence[float], x: float, band: Band
    ) -> None:
        half = SYMBOL_WIDTH / 2
        for ys, edge, near in ((from_left, band.x0, x - half), (from_right, band.x1, x + half)):
            for y in ys:
                self._wire(row, min(edge, near), max(edge, near), y)
            self._bar(row, near, [*ys, from_left[0]])
        self._draw_way_on(row, x, from_left[0])

    def _draw_way_within(self, row: Row, place: str, ys: Sequence[float]) -> None:
        """A path from an end to itself: what it goes through stands beside the pads, on an upright wire."""
        band = self.plan.bands[place]
        x = band.x0 - WITHIN if place in self.plan.tree.right else band.x1 + WITHIN
        for y in ys:
            self._wire(row, min(band.x, x), max(band.x, x), y)
        self._bar(row, x, ys)
        if len(ys) > 1:
            self._draw_within(row, x, (ys[0] + ys[-1]) / 2)

    def _draw_within(self, row: Row, x: float, y: float) -> None:
        if row.rail.via is Via.CAPACITOR:
            draw_part(self.sheet, Sign.PART_CAPACITOR, x, y)
        elif row.rail.via is not None:
            draw_way_on(self.sheet, SIGN_OF_VIA.get(row.rail.via, Sign.FIBRE), x, y)

    def _wire(self, row: Row, x0: float, x1: float, y: float) -> None:
        if x1 > x0:
            self.sheet.box(x0, y - JOIN / 2, x1, y + JOIN / 2, fill=INK, handle=Handle(row.rail.classes))

    def _bar(self, row: Row, x: float, ys: Sequence[float]) -> None:
        top, bottom = min(ys), max(ys)
        if bottom > top:
            half = JOIN / 2
            self.sheet.box(
                x - half, top - half, x + half, bottom + half, fill=INK, handle=Handle(row.rail.classes)
            )

    def _draw_pads(self, row: Row, end: str) -> None:
        """The rail's contacts at one end on a wire that joins them; the end's name where it has company."""
        tree, band = self.plan.tree, self.plan.bands[end]
        side = Side.LEFT if end in tree.left else Side.RIGHT if end in tree.right else None
        joined = row.rail.via is None or bool(row.links)
        for number, line in enumerate(row.pad_lines[end]):
            y, width = row.y(row.pads[end] + number), line_width(line)
            if side is None:
                left = band.x - width / 2
            elif side is Side.LEFT:
                left = band.x - self.tag_width[side] - width
            else:
                left = band.x + self.tag_width[side]
            if joined:
                self._wire(row, min(left, band.x), max(left + width, band.x), y)
            for pad in line:
                first = pad.contact not in self.drawn
                self.drawn.add(pad.contact)
                draw_pad(
                    self.sheet,
                    pad,
                    left,
                    y,
                    self.contacts.handle(pad.contact, "rail", (row.rail.number,), first),
                )
                left += pad.width + GAP
        if side is not None and self.tag_width[side] > TAG_SPARE:
            self._draw_tag(row, end, side)

    def _draw_tag(self, row: Row, end: str, side: Side) -> None:
        room = self.tag_width[side] - TAG_SPARE
        left = self.plan.bands[end].x + (
            TAG_SPARE / 2 if side is Side.RIGHT else TAG_SPARE / 2 - self.tag_width[side]
        )
        y = row.y(row.pads[end])
        self.sheet.box(left, y - 5.5, left + room, y + 5.5, fill=TAG_FILL, words=fitted(end, room, TEXT))

    def _draw_fault(self, row: Row, fault: Fault, taken: dict[tuple[int, int], list[Span]]) -> None:
        """A cross at its place on the first core of the section, and its words beside it."""
        links = self.plan.tree.links
        number = next(
            (number for number in row.links if fault.section in ("", links[number].section.name)), None
        )
        choices = fault_words(fault, row.rail.name)
        if number is None:
            self.untold.append(f"{row.rail.name}: {choices[0]}")
            return
        track, y = self.plan.tracks[number], row.y(row.links[number])
        x = (track.x0 + track.x1) / 2 if fault.at_m is None else track.x_at(fault.at_m)
        spans = taken.setdefault((number, 0), [])
        spans.append((x - 7, x + 7))
        for words in choices:
            width = width_of(words, TEXT) + SLEEVE_SPARE
            slots = [slot for slot in _free(track, spans) if slot[1] - slot[0] >= width]
            if not slots:
                continue
            lefts = (max(slot[0], min(x + 7, slot[1] - width)) for slot in slots)
            left = min(lefts, key=lambda left: abs(left - x))
            span = (left - 3, left + width + 3)
            room = max(slot[1] - slot[0] for slot in _free(track, [*spans, span]))
            if room >= LETTERS_ROOM or words == choices[-1]:
                draw_sleeve(self.sheet, left, y, words, width, FAULT)
                spans.append(span)
                break
        else:
            self.untold.append(f"{row.rail.name}: {choices[0]}")
        draw_cross(self.sheet, x, y, Handle(row.rail.classes))
        self.signs.add(Sign.BREAK)

    def _draw_sleeves(self, row: Row, number: int, taken: Mapping[tuple[int, int], Sequence[Span]]) -> None:
        """What is known of each core, as much of it as there is room for, at the left of its section."""
        track = self.plan.tracks[number]
        for strand, core in enumerate(self._cores(row, number)):
            if core is None:
                continue
            slots = _free(track, taken.get((number, strand), ()))
            for words in core_words(core, row.rail.name):
                width = width_of(words, TEXT) + SLEEVE_SPARE
                slot = next((slot for slot in slots if slot[1] - slot[0] >= width), None)
                if slot is not None:
                    draw_sleeve(self.sheet, slot[0], row.y(row.links[number] + strand), words, width)
                    break
            else:
                self.untold.append(f"{row.rail.name}: {core_words(core, '')[0]} in {core.section}")


def core_words(core: Core, rail: str) -> tuple[str, ...]:
    """What is written on a core, the fullest first: name, unless it is the rail's, colour, kind, gauge."""
    name = "" if core.name == rail else fitted(core.name, NAME_ROOM, TEXT)
    letters = fitted("".join(core.colours), NAME_ROOM, TEXT)
    kind = word(core.kind)
    gauge = ""
    if core.awg is not None:
        gauge = f"AWG {core.awg:g}"
    elif core.area_mm2 is not None:
        gauge = f"{core.area_mm2:g} mm²"
    choices = (
        (name, letters, kind, gauge),
        (name, letters, kind),
        (letters, kind, gauge),
        (name, letters),
        (letters or kind,),
    )
    return tuple(" ".join(part for part in choice if part) for choice in choices)


def fault_words(fault: Fault, rail: str) -> tuple[str, ...]:
    """What is wrong on a rail, the fullest first: `short to GND at 3.1 m`, `short to GND`, `short`."""
    kind = {FaultKind.OPEN: "open", FaultKind.SHORT: "short", FaultKind.HIGH: "reads high"}[fault.kind]
    others = ", ".join(net for net in fault.nets if net != rail)
    what = fitted(f"{kind} to {others}" if others else kind, WORDS_ROOM, TEXT)
    where = "somewhere" if fault.at_m is None else f"at {fault.at_m:g} m"
    return (f"{what} {where}", what, kind)


def _free(track: Track, taken: Sequence[Span]) -> list[Span]:
    """What is left of a section's length between the spans taken, from left to right."""
    free: list[Span] = []
    x = track.x0 + INDENT
    for start, finish in sorted(taken):
        free.append((x, start))
        x = max(x, finish)
    free.append((x, track.x1 - INDENT))
    return free
