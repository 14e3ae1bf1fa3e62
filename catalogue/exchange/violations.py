"""What is wrong at one place of a document, in words for people, and how much of it is told.

A `Violation` knows its place as a path of keys and indices; a `Defect` (what a person is shown) names it as
a JSON pointer (RFC 6901).
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice

from catalogue.core.problems import Defect

Location = tuple[str | int, ...]

SHOWN_DEFECTS = 100
COUNTED_DEFECTS = 1000
SHOWN_CHARACTERS = 40


@dataclass(frozen=True, slots=True)
class Violation:
    path: Location
    message: str
    remedy: str


def defects(violations: Iterable[Violation]) -> tuple[Defect, ...]:
    """At most `SHOWN_DEFECTS` defects, and one more that says how many were left out."""
    return shortened(Defect(pointer(found.path), found.message, found.remedy) for found in violations)


def shortened(every: Iterable[Defect]) -> tuple[Defect, ...]:
    """The first `SHOWN_DEFECTS`, and one more that says how many follow (counting to `COUNTED_DEFECTS`)."""
    first = tuple(islice(every, COUNTED_DEFECTS))
    left = len(first) - SHOWN_DEFECTS
    if left <= 0:
        return first
    count = f"at least {left}" if len(first) == COUNTED_DEFECTS else str(left)
    return (
        *first[:SHOWN_DEFECTS],
        Defect("", f"and {count} more", "Mend the ones above first, then try again."),
    )


def pointer(path: Location) -> str:
    """The JSON pointer of a place. It stops at the object that holds a key when nobody could read the key."""
    steps = []
    for step in map(str, path):
        if len(step) > SHOWN_CHARACTERS or not step.isprintable():
            break
        steps.append("/" + step.replace("~", "~0").replace("/", "~1"))
    return "".join(steps)


def shown(value: object) -> str:
    """A value in few printable characters: `"USB:1"`, `0.6`, `true`, `a list of 3`."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, str):
        text = value if len(value) <= SHOWN_CHARACTERS else value[: SHOWN_CHARACTERS - 1] + "…"
        return json.dumps(text, ensure_ascii=not text.isprintable())
    try:
        text = json.dumps(int(value) if isinstance(value, float) and value.is_integer() else value)
    except (TypeError, ValueError):  # no JSON value, or an integer of thousands of digits
        text = f"a value of type {type(value).__name__}"
    return text if len(text) <= SHOWN_CHARACTERS else text[: SHOWN_CHARACTERS - 1] + "…"
