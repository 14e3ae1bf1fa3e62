"""Words on a rail: what is known of a core, what is wrong on it, and where a section has room for them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from catalogue.core.document import Core, Fault, FaultKind, MapDocument
from catalogue.core.words import word
from catalogue.drawing.dot import TEXT
from catalogue.drawing.places import Span, Track
from catalogue.drawing.text import fitted, width_of

INDENT = 10.0
"""Points that words keep from the ends of a section."""

GAP = 3.0
"""Points that words keep from other words and signs."""

WORDS_ROOM = 130.0
NAME_ROOM = 60.0
LETTERS_ROOM = 56.0
"""Points that the words of a fault leave for those of the core."""


def core_words(core: Core, rail: str = "") -> Iterator[str]:
    """What is written on a core, the fullest first: name, unless it is the rail's, colour, kind, gauge."""
    name = "" if core.name == rail else fitted(core.name, NAME_ROOM, TEXT)
    letters = fitted("".join(core.colours), NAME_ROOM, TEXT)
    kind = word(core.kind)
    gauge = ""
    if core.awg is not None:
        gauge = f"AWG {core.awg:g}"
    elif core.area_mm2 is not None:
        gauge = f"{core.area_mm2:g} mm²"
    yield _joined(name, letters, kind, gauge)
    yield _joined(name, letters, kind)
    yield _joined(letters, kind, gauge)
    yield _joined(name, letters)
    yield letters or kind


def fault_words(fault: Fault, rail: str) -> tuple[str, ...]:
    """What is wrong on a rail, the fullest first: `short to GND at 3.1 m`, `short to GND`, `short`.

    A fault whose place is not known is always said to be somewhere.
    """
    kind = {FaultKind.OPEN: "open", FaultKind.SHORT: "short", FaultKind.HIGH: "reads high"}[fault.kind]
    others = ", ".join(net for net in fault.nets if net != rail and fault.kind is FaultKind.SHORT)
    what = fitted(f"{kind} to {others}" if others else kind, WORDS_ROOM, TEXT)
    if fault.at_m is None:
        return (f"{what} somewhere", f"{kind} somewhere")
    return (f"{what} at {fault.at_m:g} m", what, kind)


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is wrong on a rail: words, the fullest first, the section where it is told, and metres where known."""

    words: tuple[str, ...]
    section: str = ""
    at_m: float | None = None


def troubles_of(document: MapDocument) -> dict[str, list[Trouble]]:
    """The declared faults of a document by the rails that they are on."""
    troubles: dict[str, list[Trouble]] = {}
    for fault in document.faults:
        for net in dict.fromkeys(fault.nets):
            trouble = Trouble(fault_words(fault, net), fault.section, fault.at_m)
            troubles.setdefault(net, []).append(trouble)
    return troubles


def sleeve_width(words: str) -> float:
    """Points that words take with the paper around them."""
    return width_of(words, TEXT) + 2 * GAP


def free_spans(track: Track, taken: Sequence[Span]) -> list[Span]:
    """What is left of a section between the spans taken, from left to right."""
    free: list[Span] = []
    x = track.x0 + INDENT
    for start, finish in sorted(taken):
        free.append((x, start))
        x = max(x, finish)
    free.append((x, track.x1 - INDENT))
    return free


def first_fitting(track: Track, taken: Sequence[Span], choices: Iterator[str]) -> tuple[str, float] | None:
    """The fullest words that have room in a section, with the x farthest left where they have it."""
    spans = free_spans(track, taken)
    for words in choices:
        width = sleeve_width(words)
        for start, finish in spans:
            if finish - start >= width:
                return words, start
    return None


def nearest_fitting(
    track: Track, taken: Sequence[Span], choices: Sequence[str], x: float, clear: float
) -> tuple[str, float] | None:
    """The fullest words that leave room for those of the core, with the x where they begin.

    They stand `clear` points right of x, or as near to it as there is room.
    """
    spans = free_spans(track, taken)
    for words in choices:
        width = sleeve_width(words)
        lefts = (max(start, min(x + clear, finish - width)) for start, finish in spans if finish - start >= width)
        left = min(lefts, key=lambda left: abs(left - x), default=None)
        if left is None:
            continue
        rest = free_spans(track, [*taken, (left - GAP, left + width + GAP)])
        if words == choices[-1] or max(finish - start for start, finish in rest) >= LETTERS_ROOM:
            return words, left
    return None


def _joined(*parts: str) -> str:
    return " ".join(filter(None, parts))
