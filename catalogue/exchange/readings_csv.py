"""Readings as a table of comma-separated values: what people type in a spreadsheet beside the meter.

One row is one reading, under the header `red,black,mode,value,unit,range,flexed,note` and, where the weight
of the last digit is known, `digit` (ohms). A row that cannot be read is told by its line with what was
expected; the good rows are kept.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from string import ascii_letters
from typing import Any

from catalogue.core.document import Mode, Reading, Result
from catalogue.core.problems import Defect
from catalogue.exchange.json_values import LONGEST_INNER_LIST
from catalogue.exchange.map_schema import reading_violations
from catalogue.exchange.shapes import VALUE_KEYS, read_reading
from catalogue.exchange.spreadsheet import csv_text, guarded, unguarded
from catalogue.exchange.violations import shortened, shown

HEADER = ("red", "black", "mode", "value", "unit", "range", "flexed", "note")
DIGIT = "digit"
NEEDED = ("red", "black", "mode", "value")
DELIMITERS = ",;\t"
DAMAGE = "\N{REPLACEMENT CHARACTER}"
"""Stands for bytes that are no text; where all bytes are text, somebody wrote it."""

READINGS_AT_MOST = 40_000
"""As many as a document may hold."""


@dataclass(frozen=True, slots=True)
class ReadingsFile:
    """What a file of readings held.

    `lines` holds the number of the line that each of the `readings` stands on; `defects` tells what could not
    be read, each with its line.
    """

    readings: tuple[Reading, ...]
    lines: tuple[int, ...]
    defects: tuple[Defect, ...]


def parse_readings_csv(source: str | bytes) -> ReadingsFile:
    """Read readings from CSV text, or from its bytes in UTF-8 or (with a byte order mark) UTF-16.

    Columns may be parted by comma, semicolon or tab; where it is not the comma, a decimal comma is
    understood. Ids are `r1`, `r2`, … by row, unreadable rows counted, so that an id stays with its row when
    others are mended.
    """
    text, is_damaged = _text(source)
    first_line = next(iter(text.lstrip().splitlines()), "")
    delimiter = max(DELIMITERS, key=first_line.count)
    lines = _lines(text, delimiter)
    header_line, header = next(lines, (1, []))
    columns = [name.strip().casefold() for name in header] if isinstance(header, list) else []
    defects = list(_header_defects(f"line {header_line}", columns))
    if not set(NEEDED) <= set(columns):
        return ReadingsFile((), (), tuple(defects))
    readings, reading_lines = [], []
    for number, (line, cells) in enumerate(lines, start=1):
        if number > READINGS_AT_MOST:
            message = f"more than {READINGS_AT_MOST} readings; this line and what follows was not read"
            defects.append(Defect(f"line {line}", message, "Send them as several maps."))
            break
        if is_damaged and any(DAMAGE in cell for cell in cells):
            read: Reading | list[_BadCell] = [_NO_TEXT]
        else:
            read = _read_line(cells, columns, decimal_comma=delimiter != ",", name=f"r{number}")
        if isinstance(read, Reading):
            readings.append(read)
            reading_lines.append(line)
        else:
            defects += [Defect(f"line {line}", f"{bad.column}: {bad.message}", bad.remedy) for bad in read]
    return ReadingsFile(tuple(readings), tuple(reading_lines), shortened(defects))


def readings_csv(readings: Sequence[Reading]) -> str:
    """Readings as CSV text. All but the ids comes back when it is read; formulas are kept from running."""
    with_digit = any(reading.digit_ohms is not None for reading in readings)
    header = (*HEADER, DIGIT) if with_digit else HEADER
    rows = map(_cells, readings)
    return csv_text(header, ([row[column] for column in header] for row in rows))


def _text(source: str | bytes) -> tuple[str, bool]:
    """The text, and whether some of it was none, for which `DAMAGE` stands."""
    raw = source.encode("utf-16", errors="surrogatepass") if isinstance(source, str) else source
    encoding = "utf-16" if raw.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8"
    try:
        text, is_damaged = raw.decode(encoding), False
    except UnicodeDecodeError:
        text, is_damaged = raw.decode(encoding, errors="replace"), True
    return unicodedata.normalize("NFC", text.removeprefix("\ufeff")), is_damaged


def _lines(text: str, delimiter: str) -> Iterator[tuple[int, list[str] | str]]:
    """Each line that is not blank: its number, and its cells, or what is wrong with it as a whole."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            yield line, str(error)
        else:
            if any(cell.strip() for cell in cells):
                yield line, cells


def _header_defects(where: str, columns: list[str]) -> Iterator[Defect]:
    expected = ",".join(HEADER)
    missing = [name for name in NEEDED if name not in columns]
    if missing:
        message = f"the first line lacks the columns {', '.join(missing)}"
        yield Defect(where, message, f"Begin the file with the line {expected}.")
    if len(missing) == len(NEEDED):
        return
    for place, name in enumerate(columns):
        if name and name in columns[:place]:
            yield Defect(where, f"the column {shown(name)} is there twice; the last one was read", "Keep one of them.")
        elif name and name not in (*HEADER, DIGIT):
            near = get_close_matches(name[:60], HEADER, n=1)
            remedy = f'Did you mean "{near[0]}"?' if near else f"Known columns: {expected}."
            yield Defect(where, f"the column {shown(name)} is not known and was not read", remedy)


class _BadCell(Exception):
    def __init__(self, column: str, message: str, remedy: str) -> None:
        super().__init__(message)
        self.column, self.message, self.remedy = column, message, remedy


_NO_TEXT = _BadCell("the whole row", "it holds characters that are not UTF-8 text", "Save the file as CSV in UTF-8.")


@dataclass(frozen=True, slots=True)
class _Row:
    """The cells of one line by column, and how this file writes decimals."""

    cells: dict[str, str]
    decimal_comma: bool

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "").strip()

    def number(self, column: str, text: str) -> Decimal:
        plain = text.replace(",", ".") if self.decimal_comma else text
        if not _NUMBER.fullmatch(plain):
            raise _BadCell(column, f"{shown(text)} is not a number", "Write a number such as 0.6.")
        return Decimal(plain)


_NUMBER = re.compile(r"[+-]?([0-9]{1,40}(\.[0-9]{0,40})?|\.[0-9]{1,40})([eE](\+?[0-9]{1,2}|-[0-9]{1,3}))?")


def _read_line(cells: list[str] | str, columns: list[str], decimal_comma: bool, name: str) -> Reading | list[_BadCell]:
    if isinstance(cells, str):
        remedy = "Close each quote that is opened, and double a quote inside quotes."
        return [_BadCell("the whole row", f"this is not CSV: {cells}", remedy)]
    if any(cell.strip() for cell in cells[len(columns) :]):
        message = f"{len(cells)} cells, but the header has {len(columns)}"
        remedy = "Write decimals with a point, or part the columns by semicolons; quote a cell that holds a comma."
        return [_BadCell("the whole row", message, remedy)]
    return _read_row(_Row(dict(zip(columns, cells, strict=False)), decimal_comma), name)


def _read_row(row: _Row, name: str) -> Reading | list[_BadCell]:
    try:
        mode = _mode(row)
    except _BadCell as bad:
        return [bad]
    plain: dict[str, Any] = {"id": name, "mode": mode.value}
    wrong = []
    for part in _PARTS:
        try:
            plain |= part(row, mode)
        except _BadCell as bad:
            wrong.append(bad)
    if not wrong:
        wrong = [
            _BadCell(_COLUMN_OF.get(str(found.path[0]), str(found.path[0])), found.message, found.remedy)
            for found in reading_violations(plain)
        ]
    return wrong or read_reading(plain)


_COLUMN_OF = {
    "ohms": "value",
    "volts": "value",
    "farads": "value",
    "range_ohms": "range",
    "digit_ohms": DIGIT,
}


def _mode(row: _Row) -> Mode:
    word = row["mode"].casefold()
    if word in list(Mode):
        return Mode(word)
    near = get_close_matches(word[:60], list(Mode), n=1)
    remedy = f'Did you mean "{near[0]}"?' if near else f"Write one of {', '.join(Mode)}."
    raise _BadCell("mode", f"{shown(row['mode'])} is not a mode", remedy)


def _points(row: _Row, mode: Mode) -> dict[str, Any]:
    black = unguarded(row["black"]).split()[:LONGEST_INNER_LIST]
    for column in ("red", "black"):
        if not row[column]:
            raise _BadCell(column, "the cell is empty", "Write END:contact, such as USB:1.")
    if mode is not Mode.SWEEP and len(black) > 1:
        remedy = "Set the mode to sweep, or write one row for each point."
        raise _BadCell("black", "several points, but only a sweep has several", remedy)
    return {"red": unguarded(row["red"]), "black": black if mode is Mode.SWEEP else black[0]}


def _result(row: _Row, mode: Mode) -> dict[str, Any]:
    word = row["value"].casefold()
    over = word.replace(".", "").replace("0", "o") == "ol"
    if mode in VALUE_KEYS:
        if over:
            return {"over": True}
        shown_value = row.number("value", row["value"]) * _UNITS[mode](row["unit"])
        return {VALUE_KEYS[mode]: float(shown_value)}
    if word in ("beep", "beeps", "yes", "1"):
        return {"beeps": True}
    if over or word in ("silent", "no", "0"):
        return {"beeps": False}
    remedy = "Write beep, yes or 1 when it beeped; silent, no, 0 or OL when it did not."
    raise _BadCell("value", f"{shown(row['value'])} does not say whether it beeped", remedy)


def _range(row: _Row, mode: Mode) -> dict[str, Any]:
    if not row["range"]:
        return {}
    if mode is not Mode.OHMS:
        raise _BadCell("range", "only an ohms reading has a range", "Leave the cell empty.")
    number = row["range"].rstrip(ascii_letters + "Ω")
    unit = row["range"].removeprefix(number)
    return {"range_ohms": float(row.number("range", number.strip()) * _ohm_factor("range", unit))}


def _digit(row: _Row, mode: Mode) -> dict[str, Any]:
    if not row[DIGIT]:
        return {}
    if mode is not Mode.OHMS:
        raise _BadCell(DIGIT, "only an ohms reading has a digit", "Leave the cell empty.")
    return {"digit_ohms": float(row.number(DIGIT, row[DIGIT]))}


def _flexed(row: _Row, mode: Mode) -> dict[str, Any]:
    word = row["flexed"].casefold()
    if word in ("yes", "1", "true", "x"):
        return {"flexed": True}
    if word in ("", "no", "0", "false"):
        return {}
    raise _BadCell("flexed", f"{shown(row['flexed'])} is not yes or no", "Write yes, or leave the cell empty.")


def _note(row: _Row, mode: Mode) -> dict[str, Any]:
    note = unguarded(row.cells.get("note", "")).replace("\r\n", "\n")
    return {"note": note} if note else {}


_PARTS: tuple[Callable[[_Row, Mode], dict[str, Any]], ...] = (
    _points,
    _result,
    _range,
    _digit,
    _flexed,
    _note,
)


def _ohm_factor(column: str, unit: str) -> Decimal:
    # A small m is milli and a capital M is mega: nine decades apart, so their case is never guessed.
    found = re.fullmatch("([kKM]?)(?:ohms?)?", re.sub("(?i:ohm|Ω)", "ohm", unit))
    if found:
        return Decimal({"": 1, "K": 1000, "M": 1_000_000}[found[1].upper()])
    raise _BadCell(
        column,
        f"{shown(unit)} is not a unit of ohms",
        "Write ohm, kohm or Mohm (capital M), and decimals with a point.",
    )


def _ohms(unit: str) -> Decimal:
    return _ohm_factor("unit", unit)


def _volts(unit: str) -> Decimal:
    if unit.casefold() in ("", "v"):
        return Decimal(1)
    raise _BadCell("unit", f"{shown(unit)} is not the unit of a diode reading", "Write V.")


def _farads(unit: str) -> Decimal:
    factors = {"pf": Decimal("1e-12"), "nf": Decimal("1e-9")}
    if unit.casefold() in factors:
        return factors[unit.casefold()]
    message = f"{shown(unit)} is not a unit of capacitance here" if unit else "the unit is missing"
    raise _BadCell("unit", message, "Write pF or nF.")


_UNITS = {Mode.OHMS: _ohms, Mode.DIODE: _volts, Mode.FARADS: _farads}


def _cells(reading: Reading) -> dict[str, str]:
    value, unit = _value_and_unit(reading)
    return {
        "red": guarded(reading.red),
        "black": guarded(" ".join(reading.black)),
        "mode": reading.mode.value,
        "value": value,
        "unit": unit,
        "range": _decimal(reading.range_ohms),
        "flexed": "yes" if reading.flexed else "",
        "note": guarded(reading.note),
        DIGIT: _decimal(reading.digit_ohms),
    }


def _value_and_unit(reading: Reading) -> tuple[str, str]:
    if reading.result is not Result.VALUE:
        return {Result.OVER: "OL", Result.BEEPS: "beep", Result.SILENT: "silent"}[reading.result], ""
    if reading.mode is Mode.FARADS:
        return _decimal(reading.value, tenfolds=12), "pF"
    return _decimal(reading.value), "V" if reading.mode is Mode.DIODE else "ohm"


def _decimal(value: float | None, tenfolds: int = 0) -> str:
    """The shortest decimal that reads back as the same number, shifted by so many places."""
    if value is None:
        return ""
    shifted = Decimal(repr(value)).scaleb(tenfolds).normalize()
    return format(shifted, "f") if -15 <= shifted.adjusted() <= 15 else str(shifted)
