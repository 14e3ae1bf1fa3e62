"""The one error family: what was wrong or could not be done, with a stable code and the remedy in the text.

The HTTP status of each code is looked up in `api.errors`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Defect:
    """One thing wrong in what was sent: where (a JSON pointer, or `line 7`), what, and what to do about it."""

    where: str
    message: str
    remedy: str


class Problem(Exception):
    """Base of every error that a person is shown. `code` is stable; `text` says what happened and what to do."""

    code = "problem"

    def __init__(self, text: str, defects: Sequence[Defect] = ()) -> None:
        super().__init__(text)
        self.text = text
        self.defects = tuple(defects)


class NotFound(Problem):
    code = "not-found"


class BadDocument(Problem):
    """The document is not of the format; `defects` holds every error, not just the first."""

    code = "bad-document"


class BadReadings(Problem):
    code = "bad-readings"


class TooLarge(Problem):
    code = "too-large"


class BadRequest(Problem):
    code = "bad-request"


class Conflict(Problem):
    code = "conflict"


class DrawingUnavailable(Problem):
    """Graphviz is missing or could not draw this; the map itself is fine."""

    code = "drawing-unavailable"
