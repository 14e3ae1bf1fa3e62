"""A specimen as somebody types it in at the bench: rows and a pasted table become readings, each named by its place."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from catalogue.core.document import Mode, Reading
from catalogue.core.problems import Defect
from catalogue.exchange.readings_csv import HEADER, parse_readings_csv
from catalogue.exchange.spreadsheet import csv_text

BUZZER_WORDS = frozenset({"beep", "beeps", "yes", "silent", "no", "no beep"})
"""What only a buzzer says, whatever the row says that the meter was on."""

SILENT = {"no beep": "silent"}
VALUE_AND_UNIT = re.compile(r"([+-]?[0-9.,]+(?:[eE][+-]?[0-9]+)?)\s*(\S*)")


@dataclass(frozen=True, slots=True)
class TypedReading:
    """One row of a form: probe points parted by spaces, the red probe's first; the meter's mode; what it showed."""

    probes: str
    mode: Mode
    shows: str
    flexed: bool = False


@dataclass(frozen=True)
class TypedReadings:
    """What could be read. A reading's id is its place: `row 3` of the form, or `line 7` of the table.

    `defects` tells by such places what could not be read.
    """

    readings: tuple[Reading, ...]
    defects: Mapping[str, tuple[Defect, ...]]


def typed_readings(rows: Mapping[int, TypedReading], table: str) -> TypedReadings:
    """The readings of rows, by their numbers in the form, and of a table in CSV, which may be empty."""
    lines = csv_text(HEADER, [_cells(row) for row in rows.values()])
    row_of_line = {f"line {line}": f"row {number}" for line, number in enumerate(rows, start=2)}
    of_rows = parse_readings_csv(lines)
    readings = [
        replace(reading, id=row_of_line[f"line {line}"])
        for reading, line in zip(of_rows.readings, of_rows.lines, strict=True)
    ]
    defects: dict[str, list[Defect]] = {}
    _gather(defects, (replace(defect, where=row_of_line.get(defect.where, "")) for defect in of_rows.defects))
    if table.strip():
        file = parse_readings_csv(table)
        readings += [
            replace(reading, id=f"line {line}") for reading, line in zip(file.readings, file.lines, strict=True)
        ]
        _gather(defects, file.defects)
    return TypedReadings(tuple(readings), {place: tuple(found) for place, found in defects.items()})


def _gather(defects: dict[str, list[Defect]], found: Iterable[Defect]) -> None:
    for defect in found:
        defects.setdefault(defect.where, []).append(defect)


def _cells(row: TypedReading) -> Sequence[str]:
    """The row as the table of readings has it."""
    red, *black = row.probes.replace(",", " ").split() or [""]
    shows = " ".join(row.shows.split())
    mode = Mode.BEEP if shows.casefold() in BUZZER_WORDS else row.mode
    if mode is Mode.BEEP and len(black) > 1:
        mode = Mode.SWEEP
    found = VALUE_AND_UNIT.fullmatch(shows)
    value, unit = found.groups() if found and mode not in (Mode.BEEP, Mode.SWEEP) else (shows, "")
    value = SILENT.get(value.casefold(), value.replace(",", "."))
    return red, " ".join(black), mode, value, unit, "", "yes" if row.flexed else "", ""
