"""How each thing on a chart looks, drawn the same way on a rail and in the legend.

Nothing speaks by colour alone: a core's kind shows in its shape (solid, tube with a centre, tube with dots,
thin tube, dashes) and its colour is written beside it in IEC 60757 letters.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from catalogue.core.diagnosis.states import State
from catalogue.core.document import Core, CoreKind, PartKind, Via
from catalogue.core.reference import Colour
from catalogue.drawing.dot import INK, PAPER, TEXT, Dash, Handle, Shape, Sheet
from catalogue.drawing.text import width_of

COLOUR_NOT_KNOWN = "#6b6b6b"
FAULT = "#b3001b"
QUIET = "#5a5a5a"
HAIR = "#9a9a9a"

_HEX = re.compile(r"#[0-9A-Fa-f]{6}")


class Sign(StrEnum):
    """Everything a legend can explain, in the legend's order, with its words."""

    COPPER = "copper core, in its colour"
    COLOUR_NOT_KNOWN = "core, colour not known"
    TWO_COLOURS = "core of two colours"
    COAX = "coax centre"
    SCREEN = "screen"
    DRAIN = "drain wire"
    FIBRE = "fibre, no conductor"
    PLAIN = "conductor, core not described"
    ENDS_HERE = "ends here"
    CHIP = "goes on through a chip"
    CAPACITOR = "goes on through a capacitor"
    SOMETHING = "goes on through something not known"
    RESISTOR = "resistor between two nets"
    PART_CAPACITOR = "capacitor between two nets"
    DIODE = "diode between two nets, direction not told"
    BREAK = "fault of the cable that was read"
    DAMAGE = "damage that was seen"
    RELIEF = "strain relief"
    OPENING = "jacket opened here"
    REPORTS = "number of failure reports"
    SOUND = "sound by the readings"
    OPEN = "open"
    HIGH = "reads high"
    SHORTED = "shorted to another"
    CROSSED = "crossed with another"
    UNREAD = "not read yet"
    NOT_READABLE = "not readable at direct current"
    DENSITY = "where the break is: the higher the likelier, 90 % of it dark"
    INTERVAL = "where the break is with nine chances of ten"
    OPEN_NEXT = "open the jacket here next"


SIGN_OF_VIA = {Via.CHIP: Sign.CHIP, Via.CAPACITOR: Sign.CAPACITOR, Via.UNKNOWN: Sign.SOMETHING}
SIGN_OF_STATE = {
    State.SOUND: Sign.SOUND,
    State.OPEN: Sign.OPEN,
    State.HIGH: Sign.HIGH,
    State.SHORTED: Sign.SHORTED,
    State.CROSSED: Sign.CROSSED,
    State.UNREAD: Sign.UNREAD,
    State.NOT_READABLE: Sign.NOT_READABLE,
}
SIGN_OF_PART = {
    PartKind.RESISTOR: Sign.RESISTOR,
    PartKind.CAPACITOR: Sign.PART_CAPACITOR,
    PartKind.DIODE: Sign.DIODE,
}
SIGN_OF_KIND = {
    CoreKind.COAX_CENTRE: Sign.COAX,
    CoreKind.SCREEN: Sign.SCREEN,
    CoreKind.DRAIN: Sign.DRAIN,
    CoreKind.FIBRE: Sign.FIBRE,
}
STATE_WIDTH = 22.0
"""Points that the sign of a state takes."""

LIKELY = "#3a3a3a"
LESS_LIKELY = "#b4b4b4"
SYMBOL_WIDTH = 30.0
"""Points of a rail that the symbol of a chip, a capacitor or something not known takes."""


@dataclass(frozen=True, slots=True)
class Paint:
    """What a core is drawn with: its first and second colour; `second` is empty for a core of one colour."""

    first: str
    second: str = ""


def paint_of(core: Core, colours: Mapping[str, Colour]) -> Paint:
    """The colours of a core; one that no table has counts as not known."""
    found = [
        hex
        for code in core.colours
        if (colour := colours.get(code))
        for hex in (colour.hex, colour.hex_second)
        if _HEX.fullmatch(hex)
    ]
    return Paint(*found[:2]) if found else Paint(COLOUR_NOT_KNOWN)


def sign_of(core: Core, paint: Paint) -> Sign:
    if core.kind in SIGN_OF_KIND:
        return SIGN_OF_KIND[core.kind]
    if paint.first == COLOUR_NOT_KNOWN:
        return Sign.COLOUR_NOT_KNOWN
    return Sign.TWO_COLOURS if paint.second else Sign.COPPER


def draw_core(
    sheet: Sheet, sign: Sign, paint: Paint, x0: float, x1: float, y: float, handle: Handle | None = None
) -> None:
    """A stretch of a core along y. A dark edge keeps light colours in sight."""
    if sign is Sign.PLAIN:
        sheet.box(x0, y - 0.5, x1, y + 0.5, fill=INK, handle=handle)
        return
    if sign is Sign.FIBRE:
        sheet.line(((x0, y), (x1, y)), pen=4.4, dash=Dash.DASHED, handle=handle)
        sheet.line(((x0, y), (x1, y)), ink=paint.first, pen=2.8, dash=Dash.DASHED, handle=handle)
        return
    if sign is Sign.COAX:
        sheet.box(x0, y - 3.8, x1, y + 3.8, fill=PAPER, edge=INK, handle=handle)
    elif sign in (Sign.SCREEN, Sign.DRAIN):
        half = 2.8 if sign is Sign.SCREEN else 1.4
        sheet.box(x0, y - half, x1, y + half, fill=PAPER, edge=INK, handle=handle)
        if sign is Sign.SCREEN:
            sheet.line(((x0 + 2, y), (x1 - 2, y)), pen=2, dash=Dash.DOTTED, handle=handle)
        return
    sheet.box(x0, y - 1.9, x1, y + 1.9, fill=paint.first, edge=INK, handle=handle)
    if paint.second:
        sheet.line(((x0, y), (x1, y)), ink=paint.second, pen=2.2, dash=Dash.DASHED, handle=handle)


def draw_way_on(sheet: Sheet, sign: Sign, x: float, y: float) -> None:
    """The symbol in the gap of a path, `SYMBOL_WIDTH` wide about x."""
    if sign is Sign.CAPACITOR:
        _draw_plates(sheet, x, y, upright=True)
        sheet.line(((x - SYMBOL_WIDTH / 2, y), (x - 2, y)), ((x + 2, y), (x + SYMBOL_WIDTH / 2, y)))
    else:
        words = {Sign.CHIP: "chip", Sign.FIBRE: "fibre"}.get(sign, "?")
        half = SYMBOL_WIDTH / 2
        sheet.box(x - half, y - 5.5, x + half, y + 5.5, fill=PAPER, edge=INK, pen=1, words=words, bold=True)


def draw_part(sheet: Sheet, sign: Sign, x: float, y: float) -> None:
    """The symbol of a part on an upright line, 12 points high about y."""
    sheet.box(x - 4, y - 5, x + 4, y + 5, fill=PAPER)
    if sign is Sign.RESISTOR:
        sheet.box(x - 2.5, y - 5, x + 2.5, y + 5, fill=PAPER, edge=INK, pen=1)
    elif sign is Sign.PART_CAPACITOR:
        _draw_plates(sheet, x, y, upright=False)
        sheet.line(((x, y - 5), (x, y - 2)), ((x, y + 2), (x, y + 5)))
    else:
        sheet.box(x - 4.5, y - 4.5, x + 4.5, y + 4.5, fill=PAPER, edge=INK, pen=1, shape=Shape.OVAL, words="D")


def _draw_plates(sheet: Sheet, x: float, y: float, upright: bool) -> None:
    for shift in (-2, 2):
        if upright:
            sheet.box(x + shift - 0.6, y - 5, x + shift + 0.6, y + 5, fill=INK)
        else:
            sheet.box(x - 5, y + shift - 0.6, x + 5, y + shift + 0.6, fill=INK)


def draw_ring(sheet: Sheet, x: float, y: float) -> None:
    """Where a conductor ends without a contact."""
    sheet.box(x - 3, y - 3, x + 3, y + 3, fill=PAPER, edge=INK, pen=1.2, shape=Shape.OVAL)


def draw_cross(sheet: Sheet, x: float, y: float, handle: Handle | None = None) -> None:
    """A fault at its place."""
    strokes = (((x - 5, y - 5), (x + 5, y + 5)), ((x - 5, y + 5), (x + 5, y - 5)))
    sheet.line(*strokes, ink=PAPER, pen=4.5)
    sheet.line(*strokes, ink=FAULT, pen=2.2, handle=handle)


def draw_notch(sheet: Sheet, x: float, y: float) -> None:
    """An opening: a notch whose tip is on the axis at y."""
    sheet.box(x - 4, y - 7, x + 4, y + 2, fill=PAPER, edge=INK, pen=1, shape=Shape.POINT_DOWN)


def draw_count(sheet: Sheet, x: float, y: float, count: int) -> None:
    """A number of reports in a dark disc about x, y."""
    half = count_width(count) / 2
    sheet.box(x - half, y - 6, x + half, y + 6, fill=INK, shape=Shape.OVAL, words=str(count), ink=PAPER, bold=True)


def count_width(count: int) -> float:
    """Points that the disc of a number of reports is wide."""
    return max(16.0, width_of(str(count), TEXT, bold=True) + 8)


def draw_band(sheet: Sheet, sign: Sign, x: float, top: float, bottom: float) -> None:
    """A mark: an upright tinted band with hair lines at its sides."""
    half = 5.0 if sign is Sign.DAMAGE else 3.5
    tint = "#e0a02e59" if sign is Sign.DAMAGE else "#7d8a9640"
    dash = Dash.DASHED if sign is Sign.DAMAGE else Dash.DOTTED
    sheet.box(x - half, top, x + half, bottom, fill=tint)
    sheet.line(
        ((x - half, top), (x - half, bottom)),
        ((x + half, top), (x + half, bottom)),
        ink=QUIET,
        pen=0.6,
        dash=dash,
    )


def draw_state(sheet: Sheet, sign: Sign, x: float, y: float) -> None:
    """The state of a rail, `STATE_WIDTH` wide from x: each is a shape of its own between two contacts."""
    left, right, middle = x + 2.5, x + STATE_WIDTH - 2.5, x + STATE_WIDTH / 2
    if sign is Sign.UNREAD:
        sheet.box(x + 4, y - 5.5, right - 1, y + 5.5, fill=PAPER, edge=QUIET, dash=Dash.DASHED, words="?", ink=QUIET)
        return
    heights = (y - 3, y + 3) if sign in (Sign.SHORTED, Sign.CROSSED) else (y,)
    through = [((left, height), (right, height)) for height in heights]
    if sign is Sign.OPEN:
        sheet.line(((left, y), (middle - 5, y)), ((middle + 5, y), (right, y)), pen=1.6)
        draw_cross(sheet, middle, y)
    elif sign is Sign.HIGH:
        turns = [(left + 3.4 * at, y + (3 if at % 2 else -3)) for at in range(1, 5)]
        sheet.line(((left, y), *turns, (right, y)), pen=1.6)
    elif sign is Sign.CROSSED:
        sheet.line(((left, y - 3), (right, y + 3)), ((left, y + 3), (right, y - 3)), pen=1.6)
    elif sign is not Sign.NOT_READABLE:
        sheet.line(*through, pen=1.6)
        if sign is Sign.SHORTED:
            sheet.line(((middle, y - 3), (middle, y + 3)), pen=1.6)
    fill = PAPER if sign is Sign.NOT_READABLE else INK
    for end, height in ((end, height) for end in (left, right) for height in heights):
        sheet.box(end - 2, height - 2, end + 2, height + 2, fill=fill, edge=INK, shape=Shape.OVAL)


def draw_interval(sheet: Sheet, x0: float, x1: float, top: float, bottom: float) -> None:
    """A stretch in which the break may be: a light band between dashed lines."""
    sheet.box(x0, top, x1, bottom, fill="#3a3a3a1c")
    sheet.line(((x0, top), (x0, bottom)), ((x1, top), (x1, bottom)), ink=LIKELY, pen=0.8, dash=Dash.DASHED)


def draw_open_next(sheet: Sheet, x: float, y: float) -> None:
    """Where to open next: a dark arrow whose tip is on the axis at y."""
    sheet.box(x - 6, y - 11, x + 6, y + 3, fill=INK, edge=PAPER, pen=1, shape=Shape.POINT_DOWN)


def draw_sleeve(sheet: Sheet, x: float, y: float, words: str, width: float, ink: str = INK) -> None:
    """Words on a rail, on paper of their own so that the rail does not run through them."""
    sheet.box(x, y - 5.5, x + width, y + 5.5, fill=PAPER, edge=HAIR if ink == INK else ink, words=words, ink=ink)


def draw_sample(sheet: Sheet, sign: Sign, x: float, y: float) -> None:
    """A sign as the legend shows it, 30 points wide from x."""
    middle = x + SYMBOL_WIDTH / 2
    if sign in (Sign.CHIP, Sign.CAPACITOR, Sign.SOMETHING):
        draw_way_on(sheet, sign, middle, y)
    elif sign in (Sign.RESISTOR, Sign.PART_CAPACITOR, Sign.DIODE):
        sheet.line(((middle, y - 8), (middle, y + 8)))
        draw_part(sheet, sign, middle, y)
    elif sign is Sign.ENDS_HERE:
        draw_core(sheet, Sign.PLAIN, Paint(INK), x, middle, y)
        draw_ring(sheet, middle, y)
    elif sign is Sign.BREAK:
        draw_core(sheet, Sign.COLOUR_NOT_KNOWN, Paint(COLOUR_NOT_KNOWN), x, x + SYMBOL_WIDTH, y)
        draw_cross(sheet, middle, y)
    elif sign in (Sign.DAMAGE, Sign.RELIEF):
        draw_band(sheet, sign, middle, y - 7, y + 7)
    elif sign is Sign.OPENING:
        sheet.line(((x, y + 3), (x + SYMBOL_WIDTH, y + 3)))
        draw_notch(sheet, middle, y + 3)
    elif sign is Sign.REPORTS:
        draw_count(sheet, middle, y, 3)
    elif sign in SIGN_OF_STATE.values():
        draw_state(sheet, sign, x + (SYMBOL_WIDTH - STATE_WIDTH) / 2, y)
    elif sign is Sign.DENSITY:
        for left, height, fill in ((0, 3, LESS_LIKELY), (8, 11, LIKELY), (22, 4, LESS_LIKELY)):
            sheet.box(x + left, y + 6 - height, x + left + (14 if fill == LIKELY else 8), y + 6, fill=fill)
    elif sign is Sign.INTERVAL:
        draw_interval(sheet, x + 8, x + 22, y - 6, y + 6)
    elif sign is Sign.OPEN_NEXT:
        draw_open_next(sheet, middle, y + 3)
    else:
        draw_core(sheet, sign, SAMPLE_PAINT.get(sign, Paint(COLOUR_NOT_KNOWN)), x, x + SYMBOL_WIDTH, y)


SAMPLE_PAINT = {
    Sign.COPPER: Paint("#d22630"),
    Sign.TWO_COLOURS: Paint("#1e9e4a", "#ffffff"),
    Sign.COAX: Paint("#ffffff"),
    Sign.FIBRE: Paint("#f07f13"),
}
