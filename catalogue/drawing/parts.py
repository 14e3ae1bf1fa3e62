"""Parts between nets: an upright line from rail to rail beside their names, with symbol and value on it.

A map says between which nets a part lies, not where in the cable, so parts stand outside the length of the
cable.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from catalogue.core.document import Part, PartKind
from catalogue.drawing.dot import INK, TEXT, Shape, Sheet
from catalogue.drawing.symbols import SIGN_OF_PART, draw_part
from catalogue.drawing.text import quantity, width_of

UNITS = {PartKind.RESISTOR: "Ω", PartKind.CAPACITOR: "F", PartKind.DIODE: "V"}
SYMBOL = 16.0
DOT = 2.2


def part_words(part: Part) -> str:
    """The value of a part: `5.1 kΩ`."""
    return "not read" if part.value is None else quantity(part.value, UNITS[part.kind])


@dataclass(frozen=True)
class PartColumns:
    """Parts in columns, so that no two of one column overlap; `width` is all columns' together, in points."""

    parts: tuple[tuple[Part, int], ...]
    widths: tuple[float, ...]

    @property
    def width(self) -> float:
        return sum(self.widths)


def part_columns(parts: Iterable[Part], order: Mapping[str, int]) -> PartColumns:
    """Sorts parts into columns. `order` has the row number of each net; parts of other nets are left out."""
    columns: list[list[tuple[int, int]]] = []
    widths: list[float] = []
    placed: list[tuple[Part, int]] = []
    for part in parts:
        if not drawable(part, order):
            continue
        top, bottom = sorted(order[net] for net in part.between)
        column = next(
            (at for at, taken in enumerate(columns) if all(bottom < a or b < top for a, b in taken)),
            len(columns),
        )
        if column == len(columns):
            columns.append([])
            widths.append(0.0)
        columns[column].append((top, bottom))
        widths[column] = max(widths[column], SYMBOL + width_of(part_words(part), TEXT) + 4)
        placed.append((part, column))
    return PartColumns(tuple(placed), tuple(widths))


def drawable(part: Part, nets: Collection[str]) -> bool:
    """Whether a part lies between two different nets that are drawn."""
    return part.between[0] != part.between[1] and all(net in nets for net in part.between)


def draw_parts(
    sheet: Sheet,
    columns: PartColumns,
    left: float,
    y_of: Mapping[str, float],
    leader_end: Mapping[str, float],
) -> None:
    """Draws the parts from x `left`. `y_of` is each net's line, led from there to its `leader_end`."""
    nets = dict.fromkeys(net for part, _ in columns.parts for net in part.between)
    for net in nets:
        sheet.box(left, y_of[net] - 0.5, leader_end[net], y_of[net] + 0.5, fill=INK)
    lines = sorted(y_of[net] for net in nets)
    for part, column in columns.parts:
        x = left + sum(columns.widths[:column]) + SYMBOL / 2
        ys = sorted(y_of[net] for net in part.between)
        sheet.box(x - 0.5, ys[0], x + 0.5, ys[1], fill=INK)
        for y in ys:
            sheet.box(x - DOT, y - DOT, x + DOT, y + DOT, fill=INK, shape=Shape.OVAL)
        y = _between_lines(ys, lines)
        draw_part(sheet, SIGN_OF_PART[part.kind], x, y)
        sheet.text(x + 8, y, part_words(part))


def _between_lines(ys: Sequence[float], lines: Sequence[float]) -> float:
    """The middle of the gap between two neighbouring lines that is nearest to the middle of a part."""
    middle = sum(ys) / 2
    within = [line for line in lines if ys[0] <= line <= ys[1]]
    return min(((a + b) / 2 for a, b in pairwise(within)), key=lambda y: abs(y - middle))
