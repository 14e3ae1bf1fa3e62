"""Draws one rail of a chart: its cores section by section, how they join at places, pads, gaps, faults."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain

from catalogue.core.document import Core, CoreKind, Via
from catalogue.core.reference import Colour
from catalogue.drawing.contacts import Contacts
from catalogue.drawing.dot import INK, TEXT, Handle, Sheet
from catalogue.drawing.pads import GAP, PadLine, draw_pad, line_width
from catalogue.drawing.places import Plan, Span
from catalogue.drawing.rows import Row
from catalogue.drawing.sleeves import GAP as SLEEVE_GAP
from catalogue.drawing.sleeves import Trouble, core_words, first_fitting, nearest_fitting, sleeve_width
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
from catalogue.drawing.text import fitted
from catalogue.drawing.tree import Kind, Side

JOIN = 1.4
"""Points that the lines joining cores and pads are thick."""

WITHIN = 24.0
"""Points from an end to the symbol of a path that leads back to it."""

CROSS = 7.0
TAG_SPARE = 8.0
TAG_FILL = "#dbe4ee"


@dataclass(frozen=True, slots=True)
class _Gap:
    """Where a path is no conductor: at a place, or in a section, by its number."""

    x: float
    place: str | None = None
    link: int | None = None


@dataclass
class Wires:
    """Draws rails on a sheet. `signs` gathers what was used, `untold` what found no room on a rail."""

    sheet: Sheet
    plan: Plan
    contacts: Contacts
    colours: Mapping[str, Colour]
    tag_width: Mapping[Side, float]
    troubles: Mapping[str, Sequence[Trouble]]
    signs: set[Sign] = field(default_factory=set)
    untold: list[str] = field(default_factory=list)
    drawn: set[str] = field(default_factory=set)

    def draw(self, row: Row) -> None:
        """Draws one rail in its row."""
        rail = _DrawnRail(self, row)
        rail.draw_sections()
        rail.draw_places()
        rail.draw_pads()
        for trouble in self.troubles.get(row.rail.name, ()):
            rail.draw_trouble(trouble)
        rail.draw_core_words()


class _DrawnRail:
    """One rail while it is drawn. `taken` has what already stands on each core, by section and strand."""

    def __init__(self, wires: Wires, row: Row) -> None:
        self.wires, self.row, self.rail = wires, row, row.rail
        self.sheet, self.plan = wires.sheet, wires.plan
        self.handle = Handle(row.rail.classes)
        self.taken: dict[tuple[int, int], list[Span]] = {}
        self.from_left: dict[str, list[float]] = {}
        self.from_right: dict[str, list[float]] = {}
        for number, first in row.links.items():
            ys = [row.y(first + strand) for strand in range(row.strands[number])]
            link = self.plan.tree.links[number]
            self.from_left.setdefault(link.right, []).extend(ys)
            self.from_right.setdefault(link.left, []).extend(ys)
        self.gap = self._gap()

    def _cores(self, number: int) -> Sequence[Core | None]:
        """The rail's cores in a section, by the section's number; one None where none is described."""
        return self.rail.cores.get(self.plan.tree.links[number].section.name) or (None,)

    def _look(self, core: Core | None) -> tuple[Sign, Paint]:
        if core is not None:
            paint = paint_of(core, self.wires.colours)
            return sign_of(core, paint), paint
        described = any(core.kind is CoreKind.FIBRE for core in chain(*self.rail.cores.values()))
        fibre = self.rail.via is Via.FIBRE and not described
        return (Sign.FIBRE if fibre else Sign.PLAIN), Paint(COLOUR_NOT_KNOWN)

    def _gap(self) -> _Gap | None:
        """A path's gap: in the first module on its way, else in the middle of its longest section."""
        if self.rail.via not in SIGN_OF_VIA or not self.row.links:
            return None
        ends = [(self.plan.tree.links[number].left, self.plan.tree.links[number].right) for number in self.row.links]
        passed = Counter(chain(*ends))
        for place, times in passed.items():
            if times > 1 and self.plan.tree.kinds[place] is Kind.MODULE:
                return _Gap(self.plan.bands[place].x, place=place)
        tracks = self.plan.tracks
        longest = max(self.row.links, key=lambda number: tracks[number].x1 - tracks[number].x0)
        return _Gap((tracks[longest].x0 + tracks[longest].x1) / 2, link=longest)

    def draw_sections(self) -> None:
        for number, first in self.row.links.items():
            track = self.plan.tracks[number]
            for strand, core in enumerate(self._cores(number)):
                y = self.row.y(first + strand)
                sign, paint = self._look(core)
                self.wires.signs.add(sign)
                if self.gap is None or self.gap.link != number:
                    draw_core(self.sheet, sign, paint, track.x0, track.x1, y, self.handle)
                    continue
                left, right = self.gap.x - SYMBOL_WIDTH / 2, self.gap.x + SYMBOL_WIDTH / 2
                draw_core(self.sheet, sign, paint, track.x0, left, y, self.handle)
                draw_core(self.sheet, sign, paint, right, track.x1, y, self.handle)
                self._draw_way_on(self.gap.x, y)
                self.taken[number, strand] = [(left - SLEEVE_GAP, right + SLEEVE_GAP)]

    def draw_places(self) -> None:
        for place in dict.fromkeys((*self.row.pads, *self.from_left, *self.from_right)):
            if self.gap is not None and self.gap.place == place:
                self._draw_gap_at(place)
            elif self.rail.via is not None and not self.row.links:
                self._draw_way_within(place)
            else:
                self._draw_join(place)

    def _draw_join(self, place: str) -> None:
        """Joins what meets at a place; a lone core that ends there gets a ring."""
        band = self.plan.bands[place]
        from_left, from_right = self.from_left.get(place, []), self.from_right.get(place, [])
        pads = self._pad_ys(place)
        if len(from_left) + len(from_right) == 1 and not pads:
            self.wires.signs.add(Sign.ENDS_HERE)
            draw_ring(self.sheet, band.x0 if from_left else band.x1, (*from_left, *from_right)[0])
        elif len(from_left) == 1 and from_left == from_right:
            self._draw_wire(band.x0, band.x1, from_left[0])
            self._draw_bar(band.x, (*from_left, *pads))
        else:
            for y in from_left:
                self._draw_wire(band.x0, band.x, y)
            for y in from_right:
                self._draw_wire(band.x, band.x1, y)
            self._draw_bar(band.x, (*from_left, *from_right, *pads))

    def _pad_ys(self, end: str) -> list[float]:
        if end not in self.row.pads:
            return []
        first = self.row.pads[end]
        return [self.row.y(first + line) for line in range(len(self.row.pad_lines[end]))]

    def _draw_gap_at(self, place: str) -> None:
        """The symbol in a module; on an upright wire where the path turns back to the side it came from."""
        band, x = self.plan.bands[place], self.plan.bands[place].x
        if place not in self.from_left or place not in self.from_right:
            from_left = self.from_left.get(place)
            self._draw_turn(band.x0 if from_left else band.x1, x, from_left or self.from_right[place])
            return
        middle = self.from_left[place][0]
        for ys, edge, near in (
            (self.from_left[place], band.x0, x - SYMBOL_WIDTH / 2),
            (self.from_right[place], band.x1, x + SYMBOL_WIDTH / 2),
        ):
            for y in ys:
                self._draw_wire(min(edge, near), max(edge, near), y)
            self._draw_bar(near, (*ys, middle))
        self._draw_way_on(x, middle)

    def _draw_way_within(self, place: str) -> None:
        """A path from an end to itself: what it goes through stands beside the pads, on an upright wire."""
        band = self.plan.bands[place]
        x = band.x0 - WITHIN if place in self.plan.tree.right else band.x1 + WITHIN
        self._draw_turn(band.x, x, self._pad_ys(place))

    def _draw_turn(self, edge: float, x: float, ys: Sequence[float]) -> None:
        """Wires from an edge to an upright one at x, with the symbol of what the path goes through on it."""
        for y in ys:
            self._draw_wire(min(edge, x), max(edge, x), y)
        self._draw_bar(x, ys)
        middle = (ys[0] + ys[-1]) / 2
        if self.rail.via is Via.CAPACITOR:
            self.wires.signs.add(Sign.CAPACITOR)
            draw_part(self.sheet, Sign.PART_CAPACITOR, x, middle)
        else:
            self._draw_way_on(x, middle)

    def _draw_way_on(self, x: float, y: float) -> None:
        if self.rail.via is not None:
            sign = SIGN_OF_VIA.get(self.rail.via, Sign.FIBRE)
            self.wires.signs.add(sign)
            draw_way_on(self.sheet, sign, x, y)

    def _draw_wire(self, x0: float, x1: float, y: float) -> None:
        if x1 > x0:
            self.sheet.box(x0, y - JOIN / 2, x1, y + JOIN / 2, fill=INK, handle=self.handle)

    def _draw_bar(self, x: float, ys: Sequence[float]) -> None:
        top, bottom = min(ys), max(ys)
        if bottom > top:
            half = JOIN / 2
            self.sheet.box(x - half, top - half, x + half, bottom + half, fill=INK, handle=self.handle)

    def draw_pads(self) -> None:
        """The rail's contacts at each end on wires that join them; the end's name where it has company."""
        joined = self.rail.via is None or bool(self.row.links)
        for end in self.row.pads:
            side = self._side(end)
            x = self.plan.bands[end].x
            for line, y in zip(self.row.pad_lines[end], self._pad_ys(end), strict=True):
                left = self._first_pad_x(end, side, line)
                if joined:
                    self._draw_wire(min(left, x), max(left + line_width(line), x), y)
                self._draw_pad_line(line, left, y)
            if side is not None and self.wires.tag_width[side] > TAG_SPARE:
                self._draw_tag(end, side)

    def _side(self, end: str) -> Side | None:
        """The side at which an end stands; None in the line."""
        if end in self.plan.tree.left:
            return Side.LEFT
        return Side.RIGHT if end in self.plan.tree.right else None

    def _first_pad_x(self, end: str, side: Side | None, line: PadLine) -> float:
        x = self.plan.bands[end].x
        if side is None:
            return x - line_width(line) / 2
        if side is Side.LEFT:
            return x - self.wires.tag_width[side] - line_width(line)
        return x + self.wires.tag_width[side]

    def _draw_pad_line(self, line: PadLine, left: float, y: float) -> None:
        for pad in line:
            first = pad.contact not in self.wires.drawn
            self.wires.drawn.add(pad.contact)
            handle = self.wires.contacts.handle(pad.contact, "rail", (self.rail.number,), first)
            draw_pad(self.sheet, pad, left, y, handle)
            left += pad.width + GAP

    def _draw_tag(self, end: str, side: Side) -> None:
        """The name of an end between its pads and the cable."""
        room = self.wires.tag_width[side] - TAG_SPARE
        edge = self.plan.bands[end].x
        left = edge + TAG_SPARE / 2 if side is Side.RIGHT else edge - TAG_SPARE / 2 - room
        y = self.row.y(self.row.pads[end])
        self.sheet.box(left, y - 5.5, left + room, y + 5.5, fill=TAG_FILL, words=fitted(end, room, TEXT))

    def draw_trouble(self, trouble: Trouble) -> None:
        """Words on the first core of the section, and a cross at the place where that is known."""
        sections = {self.plan.tree.links[number].section.name: number for number in reversed(self.row.links)}
        number = sections.get(trouble.section, None if trouble.section else min(self.row.links, default=None))
        choices = trouble.words
        if number is None:
            self.wires.untold.append(f"{self.rail.name}: {choices[0]}")
            return
        self.wires.signs.add(Sign.BREAK)
        track, y = self.plan.tracks[number], self.row.y(self.row.links[number])
        taken = self.taken.setdefault((number, 0), [])
        x = (track.x0 + track.x1) / 2
        if trouble.at_m is not None:
            x = track.x_at(trouble.at_m)
            taken.append((x - CROSS, x + CROSS))
            draw_cross(self.sheet, x, y, self.handle)
        found = nearest_fitting(track, taken, choices, x, CROSS)
        if found is None:
            self.wires.untold.append(f"{self.rail.name}: {choices[0]}")
            return
        words, left = found
        draw_sleeve(self.sheet, left, y, words, sleeve_width(words), FAULT)
        taken.append((left - SLEEVE_GAP, left + sleeve_width(words) + SLEEVE_GAP))

    def draw_core_words(self) -> None:
        """What is known of each core, as much of it as there is room for, at the left of its section."""
        for number, first in self.row.links.items():
            for strand, core in enumerate(self._cores(number)):
                if core is None:
                    continue
                taken = self.taken.get((number, strand), ())
                found = first_fitting(self.plan.tracks[number], taken, core_words(core, self.rail.name))
                if found is None:
                    words = next(core_words(core))
                    self.wires.untold.append(f"{self.rail.name}: {words} in {core.section}")
                else:
                    words, left = found
                    draw_sleeve(self.sheet, left, self.row.y(first + strand), words, sleeve_width(words))
