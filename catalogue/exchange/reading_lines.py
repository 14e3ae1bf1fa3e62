"""Readings as they are jotted down beside the meter: on each line the contacts, then what the meter did.

    PLUG:3 PLUG:14 beeps
    PLUG:3 PLUG:15 PLUG:16 silent
    PLUG:1 PLUG:2 5.1 kohm
    PLUG:1 PLUG:4 OL

Several contacts after the first are a sweep along them. The lines become the rows of a readings file, whose reader
has the last word on them.
"""

from __future__ import annotations

import re
from dataclasses import replace

from catalogue.core.problems import Defect
from catalogue.exchange.readings_csv import DELIMITERS, NEEDED, ReadingsFile, parse_readings_csv
from catalogue.exchange.spreadsheet import csv_text, guarded
from catalogue.exchange.violations import shortened, shown

_COLUMNS = ("red", "black", "mode", "value", "unit")
_OHMS = r"[kKM]?(?i:ohms?|Ω|\u2126)"  # the letter omega, and the sign of the unit
_RESULT = re.compile(
    rf"(?P<points>.*\S) (?:(?P<heard>(?i:beeps?|yes|silent|no))|(?P<over>(?i:O\.?L|0\.?L))"
    rf"|(?P<value>[0-9]+(?:[.,][0-9]+)?) ?(?P<unit>[kKM]|{_OHMS})?)"
)


def parse_lines(text: str, plug: str = "") -> ReadingsFile:
    """Readings from lines, or from CSV where the first line is its header.

    `plug` is the end that bare contacts (`3 14 beeps`) belong to. Lines count from the first one typed.
    """
    if _is_csv(text):
        return parse_readings_csv(text)
    lines = [" ".join(line.split()) for line in text.splitlines()]
    rows = [_row(line, plug) for line in lines]
    file = parse_readings_csv(csv_text(_COLUMNS, (row or [] for row in rows)))
    unread = [
        Defect(
            f"line {number}",
            f"{shown(line)} is no reading",
            "Write two contacts and what the meter did, such as PLUG:3 PLUG:14 beeps.",
        )
        for number, (line, row) in enumerate(zip(lines, rows, strict=True), start=1)
        if line and not row
    ]
    # The reader counts a header that nobody typed.
    defects = (*unread, *(replace(defect, where=_one_less(defect.where)) for defect in file.defects))
    return ReadingsFile(file.readings, tuple(line - 1 for line in file.lines), shortened(defects))


def _row(line: str, plug: str) -> list[str]:
    """The cells of one line; none when it tells no reading."""
    # In a number a comma is a decimal one, elsewhere it parts contacts.
    found = _RESULT.fullmatch(line)
    points = re.split(r"[ ,;]+", found["points"].strip(" ,;")) if found else []
    if found is None or len(points) < 2 or (len(points) > 2 and not found["heard"]):
        return []
    red, *black = (point if ":" in point or not plug else f"{plug}:{point}" for point in points)
    cells = [guarded(red), guarded(" ".join(black))]
    if found["heard"]:
        return [*cells, "beep" if len(black) == 1 else "sweep", found["heard"], ""]
    if found["over"]:
        return [*cells, "ohms", "OL", ""]
    return [*cells, "ohms", found["value"].replace(",", "."), found["unit"] or ""]


def _one_less(where: str) -> str:
    return re.sub(r"[0-9]+", lambda number: str(int(number[0]) - 1), where)


def _is_csv(text: str) -> bool:
    first = next(iter(text.lstrip("\ufeff \r\n").splitlines()), "").casefold()
    return any(set(NEEDED) <= {cell.strip() for cell in first.split(mark)} for mark in DELIMITERS)
