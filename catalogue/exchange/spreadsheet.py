"""CSV cells that a spreadsheet shows as text and never runs as a formula.

Spreadsheets take a cell that begins with `=`, `+`, `-`, `@`, a tab or a carriage return (or the full-width
forms of the signs) for a formula, even a quoted one (OWASP, "CSV Injection"). Such a cell gets one
apostrophe in front, and `unguarded` takes exactly that one away, so text survives the way out and back.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

_FORMULA = re.compile("'*[=+\\-@\\t\\r＝＋－＠]")


def guarded(cell: str) -> str:
    return f"'{cell}" if _FORMULA.match(cell) else cell


def unguarded(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


def csv_text(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Rows as comma-separated values after RFC 4180, lines ended by CR LF. Guarding is the caller's."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(header)
    writer.writerows(rows)
    return text.getvalue()
