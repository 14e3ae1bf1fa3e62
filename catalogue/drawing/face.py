"""The face chart: each end as seen looking into its mating face, to be followed with probes in hand.

Every contact is a pad at its place with its number in it and the key of its net below; a key at the foot of
the chart tells name and role of each net. Where there is room the name stands below the pad as well.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from catalogue.core.document import CUSTOM_CONNECTOR, End, MapDocument, Point
from catalogue.core.reference import Outline, Reference
from catalogue.drawing.captions import HEADING, MARGIN, TITLE_BOTTOM, draw_heading, draw_title, end_words
from catalogue.drawing.contacts import contacts_of
from catalogue.drawing.dot import INK, PAPER, TEXT, Align, Dash, Shape, Sheet
from catalogue.drawing.pads import HEIGHT, LEAST_WIDTH, draw_pad, pad_of
from catalogue.drawing.rails import Rail, rails_of
from catalogue.drawing.seats import DrawnFace, drawn_face
from catalogue.drawing.symbols import FAULT, HAIR, QUIET
from catalogue.drawing.text import fitted, quantity, width_of
from catalogue.drawing.title import TitleBlock

WIDEST = 760.0
"""Points that faces take side by side before the next one starts a new line."""

TALLEST = 230.0
"""Points that a face with names below its pads takes at most."""

CELL_HEIGHT = 28.0
CELL_GAP = 5.0
WIDEST_LABEL = 62.0
CAPTION = 40.0
LINE = 12.0
FACE_GAP = 28.0
KEY_LINE = 16.0
KEY_ROOM = 125.0
SWATCH = 24.0
KEY_GAPS = 28.0
KEY_HEADING = 26.0
NO_NET = "–"
LETTERS = "abcdefghijklmnopqrstuvwxyz"
TINTS = (
    *("#f6c6c6", "#c9dcf5", "#cfeacb", "#fbe6a8", "#e3d0f0", "#bfe8e6"),
    *("#f9d5b0", "#d9dcc0", "#f3c9e2", "#d5d5d5", "#c7efd8", "#e6d3c3"),
)
"""Light enough for black letters; nets far apart in the key share one, and its letters tell them apart."""


def face_chart(document: MapDocument, reference: Reference, title: TitleBlock, mirrored: bool = False) -> str:
    """The face chart of a map as DOT with pinned positions, in points, for `neato -n2`.

    `mirrored` shows every face from behind, as one sees it while soldering. The same input gives the same
    bytes.
    """
    faces = Faces(document, reference, WIDEST, mirrored)
    sheet = Sheet("face")
    right = MARGIN + max([WIDEST, *(block.width for block in faces.blocks)])
    draw_title(sheet, title, "Face chart", f"not to scale · {faces.view}", right)
    y = TITLE_BOTTOM + LINE
    for line in faces.lines(right - MARGIN):
        y = faces.draw_line(sheet, line, MARGIN, y)
    y = faces.draw_key(sheet, MARGIN, right, y)
    return sheet.dot(right + MARGIN, y + MARGIN)


def key_of(number: int) -> str:
    """The key of the rail drawn in this place: a to z, then aa, ab and so on."""
    key = ""
    while number >= 0:
        key = LETTERS[number % 26] + key
        number = number // 26 - 1
    return key


@dataclass(frozen=True, slots=True)
class _Labels:
    """What stands below the pads of one end, and the (width, height) in points of the cell it needs."""

    words: Mapping[Point, str]
    cell: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Block:
    """A face with its captions, measured in points; contacts without a seat take at most `widest` side by side."""

    face: DrawnFace
    labels: _Labels
    captions: tuple[str, ...]
    widest: float

    @property
    def width(self) -> float:
        captions = (width_of(words, HEADING, bold=True) for words in self.captions)
        return max(self.face.width, *captions, min(len(self.face.unseated) * self.labels.cell[0], self.widest))

    @property
    def unseated(self) -> tuple[tuple[Point, ...], ...]:
        """Contacts without a seat, in lines as wide as the block."""
        contacts, per_line = self.face.unseated, max(int(self.width // self.labels.cell[0]), 1)
        return tuple(contacts[at : at + per_line] for at in range(0, len(contacts), per_line))

    @property
    def height(self) -> float:
        below = LINE + len(self.unseated) * CELL_HEIGHT if self.unseated else 0.0
        return CAPTION + self.face.height + HEIGHT + below


class Faces:
    """The faces of a map and the key to their nets, measured first and drawn then.

    Faces that would be wider than `widest` points with names below their pads have keys alone.
    """

    def __init__(self, document: MapDocument, reference: Reference, widest: float, mirrored: bool = False) -> None:
        self.reference = reference
        self.widest = widest
        self.mirrored = mirrored
        self.contacts = contacts_of(document, reference)
        self.rails = rails_of(document)
        self.rails_of_contact: dict[Point, list[int]] = {}
        for number, rail in enumerate(self.rails):
            for contact in (contact for group in rail.contacts.values() for contact in group):
                self.rails_of_contact.setdefault(contact, []).append(number)
        self.tints = self._tints()
        self.blocks = [self._block(end) for end in document.ends]

    def _tints(self) -> list[str]:
        """One tint for each rail; the legs of a pair share theirs."""
        units = [(rail.group, rail.bundle or rail.number) for rail in self.rails]
        order = {unit: number for number, unit in enumerate(dict.fromkeys(units))}
        return [TINTS[order[unit] % len(TINTS)] for unit in units]

    def _block(self, end: End) -> Block:
        """The face with names below its pads if it is not too wide so, else with keys alone."""
        for named in (True, False):
            labels = self._labels(end, named)
            face = drawn_face(end, self.contacts.by_end[end.name], self.reference, labels.cell, self.mirrored)
            if face.width <= self.widest and face.height <= TALLEST:
                break
        return Block(face, labels, self._captions(end), self.widest)

    def _labels(self, end: End, named: bool) -> _Labels:
        words = {contact: self._label(contact, named) for contact in self.contacts.by_end[end.name]}
        pads = (pad_of(contact).width for contact in words)
        widest = max([LEAST_WIDTH, *pads, *(width_of(label, TEXT) for label in words.values())])
        return _Labels(words, (widest + CELL_GAP, CELL_HEIGHT))

    def _label(self, contact: Point, named: bool) -> str:
        numbers = self.rails_of_contact.get(contact, [])
        if not numbers:
            return NO_NET
        if named and len(numbers) == 1:
            return fitted(f"{key_of(numbers[0])} {self.rails[numbers[0]].name}", WIDEST_LABEL, TEXT)
        return fitted("/".join(key_of(number) for number in numbers), WIDEST_LABEL, TEXT)

    def _captions(self, end: End) -> tuple[str, ...]:
        words = end_words(end, len(self.contacts.by_end[end.name]), self.reference)
        if end.connector == CUSTOM_CONNECTOR:
            words += ", pitch not known" if end.pitch_mm is None else f", pitch {end.pitch_mm:g} mm"
        return fitted(end.name, self.widest, HEADING, bold=True), fitted(words, self.widest, TEXT), self.view

    @property
    def view(self) -> str:
        return "MIRRORED: from the solder side" if self.mirrored else "looking into the mating face"

    def lines(self, room: float) -> list[list[Block]]:
        """Faces side by side, as many in a line as there is room for."""
        lines: list[list[Block]] = []
        left = 0.0
        for block in self.blocks:
            if not lines or block.width > left:
                lines.append([])
                left = room
            lines[-1].append(block)
            left -= block.width + FACE_GAP
        return lines

    def draw_line(self, sheet: Sheet, line: Sequence[Block], left: float, top: float) -> float:
        """Faces side by side from the left. Returns the y below them."""
        for block in line:
            self._draw_block(sheet, block, left, top)
            left += block.width + FACE_GAP
        return top + max(block.height for block in line) + FACE_GAP / 2

    def _draw_block(self, sheet: Sheet, block: Block, left: float, top: float) -> None:
        name, words, view = block.captions
        sheet.text(left, top + 8, name, size=HEADING, bold=True)
        sheet.text(left, top + 20, words)
        sheet.text(left, top + 31, view, ink=FAULT if self.mirrored else QUIET, bold=self.mirrored)
        centre = (left + block.face.width / 2, top + CAPTION + block.face.height / 2)
        _draw_outline(sheet, block.face, *centre)
        for place in block.face.places:
            self._draw_place(sheet, block, place.contact, centre[0] + place.x, centre[1] + place.y)
        y = top + CAPTION + block.face.height + HEIGHT
        if block.unseated:
            sheet.text(left, y + LINE / 2, "seat not known:", ink=QUIET)
        for line in block.unseated:
            for number, contact in enumerate(line):
                x = left + (number + 0.5) * block.labels.cell[0]
                self._draw_place(sheet, block, contact, x, y + LINE + CELL_HEIGHT / 2)
            y += CELL_HEIGHT

    def _draw_place(self, sheet: Sheet, block: Block, contact: Point | None, x: float, y: float) -> None:
        """A pad with its number about x, y, and its label below; an empty seat as a pale ring."""
        if contact is None:
            sheet.box(x - 5, y - 5, x + 5, y + 5, edge=HAIR, shape=Shape.OVAL)
            return
        numbers = self.rails_of_contact.get(contact, [])
        pad, middle = pad_of(contact), y - 5
        conductor = all(self.rails[number].via is None for number in numbers)
        rails = tuple(self.rails[number].number for number in numbers)
        draw_pad(
            *(sheet, pad, x - pad.width / 2, middle, self.contacts.handle(contact, "face", rails)),
            fill=self.tints[numbers[0]] if numbers else PAPER,
            dash=Dash.SOLID if conductor else Dash.DASHED,
        )
        sheet.text(x, middle + 12, block.labels.words[contact], align=Align.MIDDLE)

    def draw_key(self, sheet: Sheet, left: float, right: float, y: float) -> float:
        """Key, name and role of every net, in columns to be read downwards. Returns the y below."""
        y = draw_heading(sheet, left, right, y, "Key") + 2
        entries = [_entry(rail) for rail in self.rails]
        lines, column = self._key_lines(right - left)
        for number, (name, role) in enumerate(entries):
            x, middle = left + number // lines * column, y + (number % lines + 0.5) * KEY_LINE
            swatch = (x, middle - HEIGHT / 2, x + SWATCH, middle + HEIGHT / 2)
            dash = Dash.SOLID if self.rails[number].via is None else Dash.DASHED
            sheet.box(*swatch, fill=self.tints[number], edge=INK, pen=0.9, dash=dash, words=key_of(number))
            x += SWATCH + 6
            sheet.text(x + 4 + sheet.text(x, middle, name, bold=True), middle, role)
        y += lines * KEY_LINE + 4
        for note in self._notes():
            sheet.text(left, y + KEY_LINE / 2, note, ink=QUIET)
            y += KEY_LINE
        return y

    def key_height(self, room: float) -> float:
        """Points that the key takes in so much room across."""
        return KEY_HEADING + self._key_lines(room)[0] * KEY_LINE + len(list(self._notes())) * KEY_LINE

    def _key_lines(self, room: float) -> tuple[int, float]:
        """How many lines the key has, and how wide its columns are."""
        widths = (width_of(name, TEXT, bold=True) + width_of(role, TEXT) for name, role in map(_entry, self.rails))
        column = SWATCH + KEY_GAPS + max(widths, default=0.0)
        return -(-len(self.rails) // max(int(room // column), 1)), column

    def _notes(self) -> Iterator[str]:
        if any(rail.via is not None for rail in self.rails):
            yield "Dashed edge: goes on through fibre, a part or a chip; a meter may read it open."
        if any(NO_NET in block.labels.words.values() for block in self.blocks):
            yield f"{NO_NET} below a pad: not connected, or not read."


def _entry(rail: Rail) -> tuple[str, str]:
    """Name and role of a rail, as the key tells them."""
    volts = "" if rail.volts is None else f", {quantity(rail.volts, 'V')}"
    return fitted(rail.name, KEY_ROOM, TEXT, bold=True), f"{rail.role}{volts}"


def _draw_outline(sheet: Sheet, face: DrawnFace, x: float, y: float) -> None:
    half_width, half_height = face.width / 2, face.height / 2
    if face.outline is Outline.D_SHAPE:
        inset = min(face.width, face.height) * 0.18
        corners = (
            *((x - half_width, y - half_height), (x + half_width, y - half_height)),
            *((x + half_width - inset, y + half_height), (x - half_width + inset, y + half_height)),
        )
        sheet.line((*corners, corners[0]), ink=HAIR, pen=1.4)
        return
    shape = {Outline.CIRCLE: Shape.OVAL, Outline.ROUNDED: Shape.ROUNDED}.get(face.outline, Shape.BOX)
    box = (x - half_width, y - half_height, x + half_width, y + half_height)
    sheet.box(*box, edge=HAIR, pen=1.4, shape=shape)
