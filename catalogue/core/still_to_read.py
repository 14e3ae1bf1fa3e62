"""The readings of a bench sheet: what is still to take on a map, in the order of hands at a bench.

First what should read joined: a net's contacts that no reading ties together yet. Then, taken that these do, what
should stay silent: the probes and sweeps that decide the rest. Where nothing is left, each net from end to end,
which is what another person reads to confirm the map.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from catalogue.core.document import MapDocument, Mode, Point, Reading, Result
from catalogue.core.reference import Reference
from catalogue.core.rules.context import Context
from catalogue.core.rules.coverage import acts_left


class Purpose(StrEnum):
    """Why readings are on the sheet: the map lacks them, or it lacks none and a second person may confirm it."""

    PROVE = "prove"
    CONFIRM = "confirm"


@dataclass(frozen=True, slots=True)
class ToRead:
    """One act: red is held on a contact, black put on another or dragged along several.

    `net` is the one that should read joined; it is empty where all should stay silent.
    """

    red: Point
    black: tuple[Point, ...]
    net: str

    @property
    def is_sweep(self) -> bool:
        return len(self.black) > 1


@dataclass(frozen=True, slots=True)
class StillToRead:
    purpose: Purpose
    to_read: tuple[ToRead, ...]


def still_to_read(document: MapDocument, reference: Reference) -> StillToRead:
    """The readings to take on a map whose nets are complete and whose readings are as submitted."""
    context = Context(document, reference)
    joined = tuple(_to_join(context))
    silent = tuple(_to_part(context, joined))
    if joined or silent:
        return StillToRead(Purpose.PROVE, joined + silent)
    return StillToRead(Purpose.CONFIRM, tuple(_to_join(Context(replace(document, readings=()), reference))))


def _to_join(context: Context) -> Iterator[ToRead]:
    """For each net one contact against the others that no reading joins to it or sets apart from it."""
    deduction = context.deduction
    for net in context.nets.values():
        pieces: dict[int, Point] = {}
        for contact in context.known_contacts(net):
            pieces.setdefault(deduction.net_index[contact], contact)
        for other in list(pieces.values())[1:]:
            first = next(iter(pieces.values()))
            if not deduction.is_apart(first, other):
                yield ToRead(first, (other,), net.name)


def _to_part(context: Context, joined: tuple[ToRead, ...]) -> Iterator[ToRead]:
    """What decides the rest once all that should be joined has read so. Openings are of one specimen, and left out."""
    document = context.document
    expected = tuple(
        Reading(f"expected {number}", Mode.BEEP, each.red, each.black, Result.BEEPS)
        for number, each in enumerate(joined)
    )
    after = replace(document, readings=(*document.readings, *expected))
    for act in acts_left(Context(after, context.reference)):
        if context.contacts.keys() >= {act.source, *act.members}:
            yield ToRead(act.source, act.members, "")
