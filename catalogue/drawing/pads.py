"""Contacts as numbered pads, set in lines of a column."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from catalogue.core.document import Point
from catalogue.drawing.contacts import designation
from catalogue.drawing.dot import INK, PAPER, TEXT, Dash, Handle, Sheet
from catalogue.drawing.text import fitted, width_of

COLUMN = 108.0
"""Points that the pads of one line take at most."""

WIDEST = 60.0
LEAST_WIDTH = 16.0
HEIGHT = 12.0
GAP = 2.0


@dataclass(frozen=True, slots=True)
class Pad:
    contact: Point
    words: str
    width: float


PadLine = tuple[Pad, ...]


def pad_lines(contacts: Iterable[Point], room: float = COLUMN) -> tuple[PadLine, ...]:
    """Contacts as pads in as many lines as the room in points makes necessary."""
    lines: list[list[Pad]] = []
    left = 0.0
    for contact in contacts:
        pad = pad_of(contact)
        if left < pad.width or not lines:
            lines.append([])
            left = room
        lines[-1].append(pad)
        left -= pad.width + GAP
    return tuple(tuple(line) for line in lines)


def line_width(line: Sequence[Pad]) -> float:
    """Points from the first pad's left edge to the last one's right."""
    return sum(pad.width for pad in line) + GAP * max(len(line) - 1, 0)


def draw_pad(
    sheet: Sheet,
    pad: Pad,
    left: float,
    y: float,
    handle: Handle,
    *,
    fill: str = PAPER,
    dash: Dash = Dash.SOLID,
) -> None:
    """One pad from its left edge, about y."""
    top = y - HEIGHT / 2
    sheet.box(
        *(left, top, left + pad.width, top + HEIGHT),
        fill=fill,
        edge=INK,
        pen=0.9,
        dash=dash,
        words=pad.words,
        handle=handle,
    )


def pad_of(contact: Point) -> Pad:
    """The pad of one contact, as wide as its designation needs."""
    words = fitted(designation(contact), WIDEST, TEXT)
    return Pad(contact, words, max(LEAST_WIDTH, width_of(words, TEXT) + 6))
