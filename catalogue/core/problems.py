"""The one error family: what was wrong or could not be done, with a stable code and the remedy in the text.

The HTTP status of each code is looked up in `api.errors`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from catalogue.core.findings import Finding


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


class Withdrawn(NotFound):
    """It was here, and a reviewer withdrew it; the text says when and why."""

    code = "withdrawn"


class NotAllowed(Problem):
    """The person may not do this, whatever they send."""

    code = "not-allowed"


class BadDocument(Problem):
    """The document is not of the format; `defects` holds every error, not just the first."""

    code = "bad-document"


class MapRefused(Problem):
    """The document is of the format, and says what cannot be: its findings hold the proof."""

    code = "map-refused"


class BadReadings(Problem):
    code = "bad-readings"


class TooLarge(Problem):
    code = "too-large"


class TooManyDrafts(Problem):
    """One person keeps no more drafts. `findings` and `defects` say why it is no map either, if that was asked."""

    code = "too-many-drafts"

    def __init__(self, text: str, defects: Sequence[Defect] = (), findings: Sequence[Finding] = ()) -> None:
        super().__init__(text, defects)
        self.findings = tuple(findings)


class BadRequest(Problem):
    code = "bad-request"


class Conflict(Problem):
    code = "conflict"


class EventTold(Conflict):
    """The event of a report may be told already, and its author has not said whether it is."""

    code = "event-told-already"


class KeyReused(Problem):
    """A key that named one request names another; nothing was done."""

    code = "key-reused"


class Stale(Problem):
    """Somebody else changed it since the writer read it; nothing was written."""

    code = "stale"


class VersionMissing(Problem):
    """What is written over must be named by the version that was read."""

    code = "version-missing"


class TooMany(Problem):
    """More than one person may do in so short a time."""

    code = "too-many-requests"


class DrawingUnavailable(Problem):
    """Graphviz is missing or could not draw this; the map itself is fine."""

    code = "drawing-unavailable"


class Unreachable(Problem):
    """Another site did not answer as it should."""

    code = "unreachable"
