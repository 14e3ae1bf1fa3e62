"""The bench sheet: A4 pages to print and fill in beside the meter, in black and white.

The cautions and the faces come first, then the readings still to take, in the order of hands, each with boxes for
what the meter showed. Pages are drawings of their own; what goes beyond the last is counted.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from catalogue.core.cautions import CAUTIONS, Caution
from catalogue.core.document import CoreKind, Holds, MapDocument, Via
from catalogue.core.reference import Reference
from catalogue.core.still_to_read import Purpose, StillToRead, ToRead
from catalogue.drawing.captions import TITLE, draw_heading, draw_title
from catalogue.drawing.contacts import designation
from catalogue.drawing.dot import INK, PAPER, TEXT, Align, Sheet
from catalogue.drawing.face import Faces
from catalogue.drawing.footer import LINE as TEXT_LINE
from catalogue.drawing.footer import draw_wrapped, wrapped
from catalogue.drawing.symbols import HAIR, QUIET
from catalogue.drawing.text import fitted
from catalogue.drawing.title import TitleBlock

WIDTH, HEIGHT = 595.28, 841.89
"""A4, 210 mm by 297 mm (ISO 216), in points."""

EDGE = 34.0
"""Points of white around a page: no printer prints to the edge."""

RIGHT, BOTTOM = WIDTH - EDGE, HEIGHT - EDGE - 14
TOP = EDGE + TITLE + 24
ROW = 21.0
"""Points of a row: as high as handwriting needs, over 7 mm."""

BOX = 9.0
MOST_PAGES = 8
GAP = 8.0
RED, BLACK, NET, SHOWN, TICK, REMARK = 24.0, 104.0, 214.0, 300.0, 372.0, 424.0
"""Where the columns begin, in points from the left edge of the table."""

HOLD = (
    "Hold red on the first contact and put black on the second; in a sweep, drag black along the row from the one "
    "to the other. Write what the meter showed, not what it should have shown."
)
CAUTIONED = (
    ("Reading", Caution.READING),
    ("Light", Caution.LAMP),
    ("Glass", Caution.GLASS),
    ("Power", Caution.POWERING),
)
OF_FIBRE = (Caution.LAMP, Caution.GLASS)
BLANKS = (("Date", 0.0), ("Read by", 100.0), ("Meter", 250.0), ("Probes held together", 385.0))
"""What is written by hand on top, with the place of each in points."""


@dataclass(frozen=True, slots=True)
class _Table:
    """The wording of one table of readings: its heading, and the head of each column."""

    heading: str
    heads: tuple[str, ...]


COLUMNS = (RED, BLACK, NET, SHOWN, TICK, REMARK)
JOINED = _Table("Should read joined: on ohms, lowest range", ("Red on", "Black on", "Net", "Shown, Ω", "OL", "Remark"))
SILENT = _Table(
    "Should stay silent: on the buzzer", ("Red on", "Black on", "", "Silent", "Beeped", "Beeped where? Remark")
)


def bench_sheet(document: MapDocument, reference: Reference, title: TitleBlock, asked: StillToRead) -> tuple[str, ...]:
    """The pages of the bench sheet of a map as DOT with pinned positions, in points, for `neato -n2`.

    The same input gives the same bytes.
    """
    pages = _Pages()
    _draw_head(pages, document)
    _draw_faces(pages, document, reference)
    left_out = _draw_readings(pages, asked)
    if left_out:
        words = f"{left_out} more readings are left. Send these in first; the sheet then asks for the rest."
        pages.sheet.text(EDGE, BOTTOM - TEXT_LINE / 2, words, bold=True)
    count = len(pages.sheets)
    for number, sheet in enumerate(pages.sheets, start=1):
        draw_title(sheet, title, "Bench sheet", f"page {number} of {count}", RIGHT, EDGE)
        _draw_foot(sheet)
    return tuple(sheet.dot(WIDTH, HEIGHT) for sheet in pages.sheets)


class _Pages:
    """Pages that fill from the top; `y` is where the page in hand goes on."""

    def __init__(self) -> None:
        self.sheets: list[Sheet] = []
        self.turn()

    @property
    def sheet(self) -> Sheet:
        return self.sheets[-1]

    @property
    def is_last(self) -> bool:
        return len(self.sheets) == MOST_PAGES

    def turn(self) -> None:
        self.sheets.append(Sheet("bench"))
        self.y = TOP

    def fits(self, height: float) -> bool:
        return self.y + height <= BOTTOM


def _draw_head(pages: _Pages, document: MapDocument) -> None:
    """Blanks for who read with what, the cautions, and how to hold the probes."""
    sheet, y = pages.sheet, pages.y + 8
    ends = [place - GAP for _, place in BLANKS[1:]] + [RIGHT - EDGE]
    for (words, place), end in zip(BLANKS, ends, strict=True):
        width = sheet.text(EDGE + place, y, words, ink=QUIET)
        sheet.box(EDGE + place + width + 2, y + 5, EDGE + end, y + 5.5, fill=INK)
    sheet.text(RIGHT, y, "Ω", align=Align.END)
    top = y + 14
    cautions = [each for each in CAUTIONED if each[1] not in OF_FIBRE or _may_hold_fibre(document)]
    told = [f"{about}: {CAUTIONS[caution]}" for about, caution in cautions]
    lines = sum(len(wrapped(words, RIGHT - EDGE - 16)) for words in told)
    bottom = top + lines * TEXT_LINE + 22
    sheet.box(EDGE, top, RIGHT, bottom, edge=INK, pen=1.4)
    sheet.text(EDGE + 8, top + 11, "Before you begin", bold=True)
    y = top + 18
    for words in told:
        y = draw_wrapped(sheet, words, EDGE + 8, RIGHT - 8, y, ink=INK)
    pages.y = draw_wrapped(sheet, HOLD, EDGE, RIGHT, bottom + 6, ink=INK) + 4


def _draw_faces(pages: _Pages, document: MapDocument, reference: Reference) -> None:
    """The faces with their key, as far as a page can hold them."""
    room = RIGHT - EDGE
    faces = Faces(document, reference, room)
    for line in faces.lines(room):
        height = max(block.height for block in line) + GAP
        if height > BOTTOM - TOP or max(block.width for block in line) > room:
            _draw_note(pages, f"The face of {line[0].captions[0]} is too large for this page: take the face chart.")
            continue
        if not pages.fits(height):
            pages.turn()
        pages.y = faces.draw_line(pages.sheet, line, EDGE, pages.y)
    if not faces.rails:
        return
    height = faces.key_height(room)
    if height > BOTTOM - TOP:
        _draw_note(pages, "The key to the nets is too long for this page: take the face chart.")
        return
    if not pages.fits(height):
        pages.turn()
    pages.y = faces.draw_key(pages.sheet, EDGE, RIGHT, pages.y) + GAP


def _draw_note(pages: _Pages, words: str) -> None:
    if not pages.fits(TEXT_LINE):
        pages.turn()
    pages.sheet.text(EDGE, pages.y + TEXT_LINE / 2, fitted(words, RIGHT - EDGE, TEXT))
    pages.y += TEXT_LINE


def _draw_readings(pages: _Pages, asked: StillToRead) -> int:
    """The tables of readings. Returns how many found no place."""
    if asked.purpose is Purpose.CONFIRM:
        if not pages.fits(TEXT_LINE + 4 * ROW):
            pages.turn()
        _draw_note(pages, "This map lacks no reading. Who reads these on another cable of the model confirms it.")
    numbered = enumerate(asked.to_read, start=1)
    for is_joined, group in groupby(numbered, key=lambda each: bool(each[1].net)):
        table = JOINED if is_joined else SILENT
        rows = list(group)
        needs_head = True
        for place, (number, act) in enumerate(rows):
            height = ROW + (3 * ROW if needs_head else 0)
            if not pages.fits(height + (TEXT_LINE if pages.is_last else 0)):
                if pages.is_last:
                    return len(asked.to_read) - number + 1
                pages.turn()
                needs_head = True
            if needs_head:
                _draw_table_head(pages, table, again=place > 0)
                needs_head = False
            _draw_row(pages, number, act)
        pages.y += GAP
    return 0


def _draw_table_head(pages: _Pages, table: _Table, again: bool) -> None:
    heading = f"{table.heading}{' (continued)' if again else ''}"
    sheet, y = pages.sheet, draw_heading(pages.sheet, EDGE, RIGHT, pages.y, heading) + 6
    for x, words in zip(COLUMNS, table.heads, strict=True):
        sheet.text(EDGE + x, y, words, ink=QUIET)
    pages.y = y + 8


def _draw_row(pages: _Pages, number: int, act: ToRead) -> None:
    sheet, middle = pages.sheet, pages.y + ROW / 2
    sheet.text(EDGE + RED - 6, middle, str(number), align=Align.END, ink=QUIET)
    sheet.text(EDGE + RED, middle, fitted(act.red, BLACK - RED - 4, TEXT, bold=True), bold=True)
    if act.net:
        sheet.text(EDGE + BLACK, middle, fitted(act.black[0], NET - BLACK - 4, TEXT, bold=True), bold=True)
        sheet.text(EDGE + NET, middle, fitted(act.net, SHOWN - NET - 4, TEXT))
        sheet.box(EDGE + SHOWN, pages.y + 2, EDGE + TICK - 14, pages.y + ROW - 2, fill=PAPER, edge=INK)
        _draw_tick(sheet, EDGE + TICK, middle)
    else:
        words = _sweep_words(act)
        sheet.text(EDGE + BLACK, middle, fitted(words, SHOWN - BLACK - 4, TEXT, bold=True), bold=True)
        _draw_tick(sheet, EDGE + SHOWN, middle)
        _draw_tick(sheet, EDGE + TICK, middle)
    pages.y += ROW
    sheet.box(EDGE, pages.y, RIGHT, pages.y + 0.4, fill=HAIR)


def _sweep_words(act: ToRead) -> str:
    """Where black goes: one contact, or the run of a row that it is dragged along."""
    if not act.is_sweep:
        return act.black[0]
    return f"{act.black[0]} … {designation(act.black[-1])}, {len(act.black)} in one sweep"


def _draw_tick(sheet: Sheet, left: float, middle: float) -> None:
    sheet.box(left, middle - BOX / 2, left + BOX, middle + BOX / 2, fill=PAPER, edge=INK, pen=0.9)


def _draw_foot(sheet: Sheet) -> None:
    words = "Then send them in: on the page of the cable, by “Confirm with your own readings”, or as a better map."
    sheet.text(EDGE, HEIGHT - EDGE, words, ink=QUIET)


def _may_hold_fibre(document: MapDocument) -> bool:
    """Whether there is fibre, or a module that may turn to it."""
    fibre = any(core.kind is CoreKind.FIBRE for core in document.cores)
    hidden = any(module.holds in (Holds.OPTICAL, Holds.UNKNOWN) for module in document.modules)
    return fibre or hidden or any(path.via in (Via.FIBRE, Via.UNKNOWN) for path in document.paths)
