"""Where in a text that a person wrote the values stand that a finding speaks of, and the lines around them.

A finding names values by JSON pointer (RFC 6901). `spans` turns pointers into stretches of the text exactly
as it was typed, whatever its layout; `excerpt` cuts out those lines with a few around them, so that a large
document shows only what concerns the reader.
"""

from __future__ import annotations

import json
import re
from bisect import bisect_right
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

AROUND = 2
"""Lines shown before and after each line that is pointed at."""

WIDEST = 240
"""Characters shown of one line: a document without line breaks is one line of a million characters."""

BEFORE = 12
"""Characters shown before a mark in a piece of a line: few, so that a narrow screen shows the mark itself."""

LONGEST = 12
"""Lines that are marked for one value: a longer one, such as a whole list, is marked at its head only."""

_SPACE = re.compile(r"[ \t\n\r]*")
_DECODER = json.JSONDecoder()


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a text: offsets of its first character and of the one after its last."""

    start: int
    finish: int


@dataclass(frozen=True)
class Text:
    """A text by lines, numbered from 1."""

    text: str

    @cached_property
    def starts(self) -> tuple[int, ...]:
        """Offset of the first character of each line, and one past the end of the text."""
        breaks = (found.end() for found in re.finditer("\n", self.text))
        return (0, *breaks, len(self.text) + 1)

    @property
    def line_count(self) -> int:
        return len(self.starts) - 1

    def line_at(self, offset: int) -> int:
        """The number of the line that an offset lies in."""
        return min(bisect_right(self.starts, offset), self.line_count)

    def span_of_line(self, number: int) -> Span:
        """A line without its line break. Raises IndexError when there is no such line."""
        if not 1 <= number <= self.line_count:
            raise IndexError(number)
        return Span(self.starts[number - 1], self.starts[number] - 1)


@dataclass(frozen=True, slots=True)
class Stretch:
    text: str
    is_marked: bool


@dataclass(frozen=True, slots=True)
class Line:
    """A line or a piece of it, at most `WIDEST` characters, with `…` where something was cut off.

    `piece` counts from 0 within the line.
    """

    number: int
    stretches: tuple[Stretch, ...]
    piece: int = 0

    @property
    def is_marked(self) -> bool:
        return any(stretch.is_marked for stretch in self.stretches)


def spans(text: str, pointers: Iterable[str]) -> dict[str, Span]:
    """The stretch of each pointer's value in a JSON text, with its name where it is a member of an object.

    A pointer that leads to nothing gets its nearest existing parent, so that a missing member is shown where
    it is missing; the whole document is pointed at by its first character. Where the text is no JSON, what
    comes before the flaw is still found. Method: one walk along the pointers only; everything beside them is
    skipped by the standard library's decoder, so cost is linear in the text.
    """
    asked = frozenset(pointers)
    found: dict[str, Span] = {}
    start = _past_space(text, 0)
    with suppress(ValueError, RecursionError):
        _walk(text, start, "", _tree(asked), found)
    head = Span(start, start + 1)
    return {pointer: _nearest(pointer, found, head) for pointer in asked}


def excerpt(text: Text, marked: Collection[Span], around: int = AROUND) -> list[list[Line]]:
    """The lines of the spans with `around` lines before and after each, as blocks of lines in a row.

    A line too long to show is shown in pieces, one for each span in it that no earlier piece holds.
    """
    on_line: dict[int, list[Span]] = {}
    for span in sorted(marked, key=lambda span: (span.start, span.finish)):
        for number in _lines_of(text, span):
            line = text.span_of_line(number)
            start = max(span.start, line.start)
            on_line.setdefault(number, []).append(Span(start, min(span.finish, line.finish, start + WIDEST)))
    shown = {
        near for number in on_line for near in range(max(1, number - around), min(text.line_count, number + around) + 1)
    }
    return [
        [line for number in run for line in _pieces(text, number, on_line.get(number, []))]
        for run in _runs(sorted(shown))
    ]


def _lines_of(text: Text, span: Span) -> range:
    first, last = text.line_at(span.start), text.line_at(max(span.start, span.finish - 1))
    return range(first, last + 1 if last - first < LONGEST else first + 1)


# Pointers as a tree, so that one walk finds them all: below each step, escaped as in pointers, the next ones.
_Tree = dict[str, "_Tree"]


def _tree(pointers: Iterable[str]) -> _Tree:
    root: _Tree = {}
    for pointer in pointers:
        node = root
        for step in pointer.split("/")[1:]:
            node = node.setdefault(step, {})
    return root


def _walk(text: str, at: int, pointer: str, wanted: _Tree, found: dict[str, Span]) -> int:
    """Find what is wanted below the value at an offset. Result: the offset after the value."""
    if not wanted or text[at : at + 1] not in ("{", "["):
        return _DECODER.raw_decode(text, at)[1]
    members = _object_members if text[at] == "{" else _array_members
    return members(text, at, pointer, wanted, found)


def _object_members(text: str, at: int, pointer: str, wanted: _Tree, found: dict[str, Span]) -> int:
    at = _past_space(text, at + 1)
    while text[at : at + 1] != "}":
        start = at
        name, at = _DECODER.raw_decode(text, at)
        at = _past_space(text, _expect(text, _past_space(text, at), ":"))
        at = _member(text, start, at, pointer, str(name), wanted, found)
        at = _next_member(text, at, "}")
    return at + 1


def _array_members(text: str, at: int, pointer: str, wanted: _Tree, found: dict[str, Span]) -> int:
    at, index = _past_space(text, at + 1), 0
    while text[at : at + 1] != "]":
        at = _member(text, at, at, pointer, str(index), wanted, found)
        at, index = _next_member(text, at, "]"), index + 1
    return at + 1


def _member(text: str, start: int, at: int, above: str, name: str, wanted: _Tree, found: dict[str, Span]) -> int:
    step = name.replace("~", "~0").replace("/", "~1")
    pointer = f"{above}/{step}"
    if step in wanted:
        found[pointer] = Span(start, at + 1)
    at = _walk(text, at, pointer, wanted.get(step, {}), found)
    if step in wanted:
        found[pointer] = Span(start, at)
    return at


def _next_member(text: str, at: int, closing: str) -> int:
    at = _past_space(text, at)
    return at if text[at : at + 1] == closing else _past_space(text, _expect(text, at, ","))


def _expect(text: str, at: int, character: str) -> int:
    if text[at : at + 1] != character:
        raise ValueError(f"no {character} at {at}")
    return at + 1


def _past_space(text: str, at: int) -> int:
    space = _SPACE.match(text, at)
    return space.end() if space else at


def _nearest(pointer: str, found: Mapping[str, Span], head: Span) -> Span:
    while pointer and pointer not in found:
        pointer = pointer.rpartition("/")[0]
    return found.get(pointer, head)


def _runs(numbers: list[int]) -> list[list[int]]:
    """Ascending numbers, parted wherever one is left out: [1, 2, 5] is [[1, 2], [5]]."""
    parts = [at for at, (before, after) in enumerate(pairwise(numbers), 1) if after > before + 1]
    return [numbers[start:finish] for start, finish in pairwise((0, *parts, len(numbers)))] if numbers else []


def _pieces(text: Text, number: int, marked: Sequence[Span]) -> Iterator[Line]:
    """A line as shown: whole when it is short, else a piece around each span that is pointed at."""
    line = text.span_of_line(number)
    if line.finish - line.start <= WIDEST:
        yield Line(number, tuple(_stretches(text, line, marked)))
        return
    shown_to, piece = -1, 0
    for span in marked or [Span(line.start, line.start)]:
        if span.start >= shown_to:
            start = max(line.start, span.start - BEFORE)
            shown_to = min(line.finish, start + WIDEST)
            before = [Stretch("…", False)] if start > line.start else []
            after = [Stretch("…", False)] if shown_to < line.finish else []
            stretches = _stretches(text, Span(start, shown_to), marked)
            yield Line(number, (*before, *stretches, *after), piece)
            piece += 1


def _stretches(text: Text, window: Span, marked: Sequence[Span]) -> Iterator[Stretch]:
    """The text of a window, parted where a mark begins or ends. Spans are in order of their start."""
    at = window.start
    for span in marked:
        start, finish = max(at, span.start), min(span.finish, window.finish)
        if start < finish:
            yield from _stretch(text, at, start, is_marked=False)
            yield from _stretch(text, start, finish, is_marked=True)
            at = finish
    yield from _stretch(text, at, window.finish, is_marked=False)


def _stretch(text: Text, start: int, finish: int, is_marked: bool) -> Iterator[Stretch]:
    if start < finish:
        yield Stretch(text.text[start:finish], is_marked)
