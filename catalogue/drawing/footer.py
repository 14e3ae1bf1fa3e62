"""What stands below a chart: contacts on no rail, what could not be drawn, and a legend of what was used."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from catalogue.core.document import Point
from catalogue.drawing.contacts import Contacts
from catalogue.drawing.dot import TEXT, Sheet
from catalogue.drawing.pads import GAP, draw_pad, pad_lines
from catalogue.drawing.symbols import QUIET, SYMBOL_WIDTH, Sign, draw_sample
from catalogue.drawing.text import fitted, width_of

LINE = 14.0
END_ROOM = 110.0
CELL_GAP = 16.0
MOST_NOTES = 30
"""Notes of one drawing; a last one then says how many more there are."""


def draw_spare_contacts(
    sheet: Sheet,
    contacts: Contacts,
    spare: Sequence[tuple[str, Sequence[Point]]],
    left: float,
    right: float,
    y: float,
) -> float:
    """Contacts that no rail has, by end. Returns the y below them."""
    for end, group in spare:
        sheet.text(left, y + LINE / 2, fitted(end, END_ROOM - 8, TEXT, bold=True), bold=True)
        for line in pad_lines(group, right - left - END_ROOM):
            x = left + END_ROOM
            for pad in line:
                draw_pad(sheet, pad, x, y + LINE / 2, contacts.handle(pad.contact, "rail", ()))
                x += pad.width + GAP
            y += LINE
    return y


def draw_notes(sheet: Sheet, notes: Sequence[str], left: float, right: float, y: float) -> float:
    """One line for each note. Returns the y below them."""
    shown = list(notes[:MOST_NOTES])
    if len(notes) > MOST_NOTES:
        shown.append(f"and {len(notes) - MOST_NOTES} more")
    for note in shown:
        sheet.text(left, y + LINE / 2, fitted(note, right - left, TEXT))
        y += LINE
    return y


def draw_legend(sheet: Sheet, signs: Iterable[Sign], letters: str, left: float, right: float, y: float) -> float:
    """Samples of the signs used, in the order of `Sign`, then the colour letters. Returns the y below."""
    x, used = left, set(signs)
    row = LINE + 4
    for sign in (sign for sign in Sign if sign in used):
        width = SYMBOL_WIDTH + 6 + width_of(sign, TEXT) + CELL_GAP
        if x > left and x + width > right:
            x, y = left, y + row
        draw_sample(sheet, sign, x, y + row / 2)
        sheet.text(x + SYMBOL_WIDTH + 6, y + row / 2, sign)
        x += width
    y = y + row if x > left else y
    return draw_wrapped(sheet, letters, left, right, y) if letters else y


def draw_wrapped(sheet: Sheet, words: str, left: float, right: float, y: float, ink: str = QUIET) -> float:
    """Words in as many lines as they need, broken at spaces. Returns the y below them."""
    for line in wrapped(words, right - left):
        sheet.text(left, y + LINE / 2, fitted(line, right - left, TEXT), ink=ink)
        y += LINE
    return y


def wrapped(words: str, room: float) -> list[str]:
    """Words as lines of at most so many points, broken at spaces; a longer word has a line of its own."""
    lines: list[str] = []
    for word in words.split(" "):
        if lines and width_of(f"{lines[-1]} {word}", TEXT) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
