"""Plugs as seats in rows, and the ways in which one person's numbering can fit another's.

Whoever finds an unknown plug may count its rows from the left or from the right, and from the top or from the
bottom: four ways, of which those count whose rows come out as long as the other's. A last row of one contact
may be the shell, which stays last however the rows are counted, and which the finder may leave out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from catalogue.core.document import CUSTOM_CONNECTOR, End, MapDocument, Point
from catalogue.core.reference import Reference

Numbers = NDArray[np.uint16]
Rows = list[list[int]]


@dataclass(frozen=True, slots=True, order=True)
class PlugShape:
    """A connector by its key, and how many contacts each row of its face has; free seats do not count."""

    connector: str
    row_lengths: tuple[int, ...]

    @property
    def seats(self) -> int:
        return sum(self.row_lengths)


@dataclass(frozen=True, slots=True)
class Plug:
    """One end by its contacts in rows, top row first, left to right, as seen looking into the mating face."""

    name: str
    connector: str
    rows: tuple[tuple[Point, ...], ...]

    @property
    def shape(self) -> PlugShape:
        return PlugShape(self.connector, tuple(map(len, self.rows)))

    @property
    def contacts(self) -> tuple[Point, ...]:
        """All contacts, in the order of their seats."""
        return tuple(contact for row in self.rows for contact in row)


@dataclass(frozen=True)
class WiredPlug:
    """A plug of a map with the number of the net at each seat: equal numbers are one conductor.

    Numbers count for one map, across all of its plugs. A contact in no net has a number of its own.
    """

    plug: Plug
    nets: Numbers


@dataclass(frozen=True, slots=True, order=True)
class Numbering:
    """How rows are counted, as seen against another way to count them."""

    from_right: bool = False
    bottom_first: bool = False

    def turned(self, rows: Rows) -> Rows:
        ordered = rows[::-1] if self.bottom_first else rows
        return [row[::-1] for row in ordered] if self.from_right else ordered


NUMBERINGS = (Numbering(), Numbering(True, True), Numbering(True, False), Numbering(False, True))


@dataclass(frozen=True, slots=True)
class Fit:
    """One way to lay a plug over another: `seats` has, for each seat of the one, the seat of the other."""

    numbering: Numbering
    seats: tuple[int, ...]


def plugs(document: MapDocument, reference: Reference) -> tuple[Plug, ...]:
    """The ends of a document in order of their shapes, then of the document.

    A connector that the reference does not know has no contacts.
    """
    found = (Plug(end.name, end.connector, _rows(end, reference)) for end in document.ends)
    return tuple(sorted(found, key=lambda plug: plug.shape))


def wired_plugs(document: MapDocument, reference: Reference) -> tuple[WiredPlug, ...]:
    """The plugs of a map with the nets at their seats."""
    numbers: dict[tuple[str, str], int] = {}

    def number(contact: Point) -> int:
        net = document.net_of_contact.get(contact)
        key = ("contact", contact) if net is None else ("net", net)
        return numbers.setdefault(key, len(numbers))

    return tuple(
        WiredPlug(plug, np.array([number(contact) for contact in plug.contacts], np.uint16))
        for plug in plugs(document, reference)
    )


@lru_cache(maxsize=10_000)
def fits(asked: PlugShape, held: PlugShape) -> tuple[Fit, ...]:
    """Every way to lay the plug `asked` over the plug `held`, each way once, as it is counted first.

    Two plugs of one standard connector have one numbering; two of different ones never fit.
    """
    standard = CUSTOM_CONNECTOR not in (asked.connector, held.connector)
    if standard:
        same = asked.connector == held.connector
        return (Fit(Numbering(), tuple(range(held.seats))),) if same else ()
    if asked.seats not in (held.seats, held.seats - 1):
        return ()
    found: dict[tuple[int, ...], Fit] = {}
    for asked_rows, held_rows, kept in _bodies(_seat_rows(asked), _seat_rows(held)):
        for numbering in NUMBERINGS:
            turned = numbering.turned(asked_rows)
            if list(map(len, turned)) == list(map(len, held_rows)):
                seat_of = dict(zip(chain(*turned), chain(*held_rows), strict=True)) | kept
                seats = tuple(seat_of[seat] for seat in range(asked.seats))
                found.setdefault(seats, Fit(numbering, seats))
    return tuple(found.values())


def _bodies(asked: Rows, held: Rows) -> Iterator[tuple[Rows, Rows, dict[int, int]]]:
    """The rows that are counted anew on both sides, and which seat stays what it is: the shell's."""
    yield asked, held, {}
    if _may_have_shell(held):
        yield asked, held[:-1], {}
        if _may_have_shell(asked):
            yield asked[:-1], held[:-1], {asked[-1][0]: held[-1][0]}


def _may_have_shell(rows: Rows) -> bool:
    return len(rows) > 1 and len(rows[-1]) == 1


def _seat_rows(shape: PlugShape) -> Rows:
    rows, first = [], 0
    for length in shape.row_lengths:
        rows.append(list(range(first, first + length)))
        first += length
    return rows


def _rows(end: End, reference: Reference) -> tuple[tuple[Point, ...], ...]:
    standard = reference.connectors.get(end.connector)
    rows: Sequence[Sequence[str]] = end.rows
    if end.connector != CUSTOM_CONNECTOR:
        rows = standard.face.rows if standard else ()
    named = (tuple(f"{end.name}:{contact}" for contact in row if contact) for row in rows)
    return tuple(row for row in named if row)
