"""One invented cable with everything that people contributed to it: maps, confirmations, reports, and decisions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.random import Generator

from catalogue.core.document import MapDocument, Reading
from catalogue.core.failures import Failure
from catalogue.core.inventing.bench import readings_of
from catalogue.core.inventing.chance import one_of, weighted
from catalogue.core.inventing.failures import invented_failure, reports_of, weak_places
from catalogue.core.inventing.names import THINGS, invented_name
from catalogue.core.inventing.wiring import changed_hardware, invented_wiring
from catalogue.core.reference import Reference
from catalogue.core.reviewing import Standing

PEOPLE = 2000
"""Invented people, numbered from 0."""

FIRST_DAY = datetime(2012, 3, 1, tzinfo=UTC)
DAYS = 4500
"""Within these all is told, so that nothing of it is yet to come."""

MAPS = {1: 85.0, 2: 10.0, 3: 4.0, 4: 1.0}
CONFIRMED = 0.2
DECIDED_MAPS = {Standing.UNREVIEWED: 80.0, Standing.APPROVED: 19.0, Standing.QUERIED: 1.0}
DECIDED_REPORTS = {
    Standing.UNREVIEWED: 960.0,
    Standing.APPROVED: 30.0,
    Standing.QUERIED: 7.0,
    Standing.WITHDRAWN: 3.0,
}
REASONS = {
    Standing.APPROVED: "",
    Standing.QUERIED: "Was it read at both ends?",
    Standing.WITHDRAWN: "It tells of another cable.",
}


@dataclass(frozen=True, slots=True)
class Decided:
    """What a reviewer made of something. `key` is 16 bytes that nothing else has."""

    standing: Standing
    reviewer: int
    at: datetime
    key: bytes

    @property
    def reason(self) -> str:
        return REASONS[self.standing]


@dataclass(frozen=True, slots=True)
class Confirming:
    """What another person read of the cable of a map."""

    person: int
    at: datetime
    key: bytes
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class Mapped:
    """One revision of the map."""

    document: MapDocument
    author: int
    at: datetime
    confirmations: tuple[Confirming, ...]
    decided: Decided | None


@dataclass(frozen=True, slots=True)
class Reported:
    """A failure report, told against one of the maps."""

    failure: Failure
    map_number: int
    reporter: int
    at: datetime
    key: bytes
    decided: Decided | None

    @property
    def is_withdrawn(self) -> bool:
        return self.decided is not None and self.decided.standing is Standing.WITHDRAWN


@dataclass(frozen=True, slots=True)
class Invented:
    """All of one cable, oldest first in each."""

    maps: tuple[Mapped, ...]
    reports: tuple[Reported, ...]


def invented_cable(seed: int, number: int, reference: Reference) -> Invented:
    """The cable of that number in the catalogue of that seed; how many there are besides makes no difference."""
    rng = np.random.default_rng([seed, number])
    thing = one_of(rng, THINGS)
    wiring = invented_wiring(rng, invented_name(rng, number, thing), thing, reference)
    many = reports_of(rng)
    moments = _moments(rng, weighted(rng, MAPS))
    maps = tuple(_maps(rng, wiring, moments, reference))
    weak = weak_places(rng, wiring)
    return Invented(
        maps,
        tuple(
            _reported(rng, invented_failure(rng, wiring, weak, thing.trade), at, maps)
            for at in _after(rng, maps[0].at, many)
        ),
    )


def _maps(rng: Generator, wiring: MapDocument, moments: Sequence[datetime], reference: Reference) -> Iterator[Mapped]:
    """The same cable read anew, or one of the next hardware revision."""
    for number, at in enumerate(moments):
        if number and rng.random() < 0.4:
            wiring = changed_hardware(rng, wiring)
        author = _person(rng)
        yield Mapped(
            document=replace(wiring, readings=readings_of(rng, wiring, reference)),
            author=author,
            at=at,
            confirmations=tuple(_confirmations(rng, wiring, author, at, reference)),
            decided=_decided(rng, weighted(rng, DECIDED_MAPS), author, at),
        )


def _confirmations(
    rng: Generator, wiring: MapDocument, author: int, at: datetime, reference: Reference
) -> Iterator[Confirming]:
    if rng.random() > CONFIRMED:
        return
    sound = replace(wiring, faults=())
    people = {_person(rng) for _ in range(int(rng.integers(1, 4)))} - {author}
    for person, moment in zip(sorted(people), _after(rng, at, len(people)), strict=True):
        yield Confirming(person, moment, rng.bytes(16), readings_of(rng, sound, reference, patience=0.3))


def _reported(rng: Generator, failure: Failure, at: datetime, maps: Sequence[Mapped]) -> Reported:
    """Told against the map that was the newest at that time."""
    reporter = _person(rng)
    known = sum(1 for each in maps if each.at <= at)
    return Reported(
        failure, known, reporter, at, rng.bytes(16), _decided(rng, weighted(rng, DECIDED_REPORTS), reporter, at)
    )


def _decided(rng: Generator, standing: Standing, contributor: int, at: datetime) -> Decided | None:
    """Nobody decides on what is their own."""
    if standing is Standing.UNREVIEWED:
        return None
    reviewer = (contributor + 1 + int(rng.integers(PEOPLE - 1))) % PEOPLE
    return Decided(standing, reviewer, _after(rng, at, 1)[0], rng.bytes(16))


def _person(rng: Generator) -> int:
    """Some contribute a lot, and most of them little."""
    return int(PEOPLE * float(rng.random()) ** 1.5)


def _moments(rng: Generator, many: int) -> list[datetime]:
    return _after(rng, FIRST_DAY, many)


def _after(rng: Generator, start: datetime, many: int) -> list[datetime]:
    """So many moments between one and the end of all days, in order, in whole seconds."""
    left = int((FIRST_DAY + timedelta(DAYS) - start).total_seconds())
    return [start + timedelta(seconds=passed) for passed in sorted(rng.integers(0, max(1, left), many).tolist())]
