"""What is written over drawings and their parts: title, headings, what an end is."""

from __future__ import annotations

from catalogue.core.document import CUSTOM_CONNECTOR, End, Form
from catalogue.core.reference import Reference
from catalogue.core.words import word
from catalogue.drawing.dot import Sheet
from catalogue.drawing.symbols import HAIR
from catalogue.drawing.text import fitted, harmless, width_of
from catalogue.drawing.title import TitleBlock

MARGIN = 16.0
"""Points of white around a drawing."""

TITLE = 14.0
TITLE_SIZES = (TITLE, 12.0, 10.0)
HEADING = 9.0
TITLE_BOTTOM = 46.0
"""Where a drawing may begin below its title."""


def draw_title(sheet: Sheet, title: TitleBlock, chart: str, scale: str, right: float, margin: float = MARGIN) -> None:
    """Name, then kind of chart, revision, date and scale, at the top left; a long name in smaller letters."""
    words = f"{chart} · {title.revision} · {title.drawn} · {scale}"
    fits = (size for size in TITLE_SIZES if width_of(harmless(title.name), size, bold=True) <= right - margin)
    size = next(fits, TITLE_SIZES[-1])
    name = fitted(title.name, right - margin, size, bold=True)
    sheet.text(margin, margin + TITLE / 2, name, size=size, bold=True)
    sheet.text(margin, margin + TITLE + 9, fitted(words, right - margin, HEADING), size=HEADING)


def draw_heading(sheet: Sheet, left: float, right: float, y: float, words: str) -> float:
    """A heading over a hair line. Returns the y below it."""
    sheet.text(left, y + 8, words, size=HEADING, bold=True)
    sheet.box(left, y + 15, right, y + 15.5, fill=HAIR)
    return y + 20


def end_words(end: End, count: int, reference: Reference) -> str:
    """The connector of an end, its form, and how many contacts it has."""
    standard = reference.connectors.get(end.connector)
    title = standard.title if standard is not None else "" if end.connector == CUSTOM_CONNECTOR else end.connector
    form = "" if end.form is Form.UNKNOWN or end.form in title else word(end.form)
    words = " ".join(part for part in (title, form) if part) or "connector"
    return f"{words}, {count} {'contact' if count == 1 else 'contacts'}"
