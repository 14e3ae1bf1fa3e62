"""Counting failure reports by what they share. Of each report all that is counted is one number, its code.

From bit 0 on a code holds: the symptoms (16 bits, one each), the spots (8), the connector (16, of a hash of its key, 0
for none), the ending (3), whether mending was tried and is done with (1), what the lanes of its cable ride on (8), and
whether it is the first of its cable (1). The codes of one cable stand together. So a million reports are eight
megabytes, and any question about them is a few passes over an array.

Values are numbered as their lists stand: put new ones at the end, or have all codes made anew by `manage.py rebuild`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catalogue.core.document import MapDocument, Via
from catalogue.core.facets import Facet
from catalogue.core.failures import Ending, Failure, Spot, Symptom, connector_of, spots_of
from catalogue.core.outcomes import Option, Outcomes, Told, outcomes_of
from catalogue.core.tallies import Tally

LANES = ("copper", *(via.value for via in Via))
SYMPTOMS, SPOTS, ENDINGS = tuple(Symptom), tuple(Spot), tuple(Ending)
VALUES: Mapping[Facet, Sequence[str]] = {Facet.SYMPTOM: SYMPTOMS, Facet.PLACE: SPOTS, Facet.RIDES_ON: LANES}
SPOTS_AT, CONNECTOR_AT, ENDING_AT, TRIED_AT, LANES_AT, FIRST_AT = 16, 24, 40, 43, 44, 52
TRIED = 1 << (TRIED_AT - ENDING_AT)
"""Added to the number of an ending where mending was tried."""

Places = NDArray[np.intp]


@dataclass(frozen=True)
class Counted:
    """All reports asked for, and those of each value of what they are grouped by, most first.

    A report counts once under each of its values.
    """

    all: Tally
    groups: Mapping[Facet, Sequence[Tally]]


def code_of(failure: Failure, document: MapDocument | None) -> int:
    """What is counted of a report by itself, told against that map; without one, no place is counted."""
    spots = spots_of(failure, document) if document else ()
    connector = connector_of(failure, document) if document else ""
    tried = outcomes_of(Option.MEND, (Told(failure.ending, failure.tried),)).tried
    return (
        _bits(SYMPTOMS, failure.symptoms)
        | _bits(SPOTS, spots) << SPOTS_AT
        | _number(connector) << CONNECTOR_AT
        | ENDINGS.index(failure.ending) << ENDING_AT
        | tried << TRIED_AT
    )


def packed(codes: Iterable[int], rides_on: Iterable[str]) -> bytes:
    """The codes of all reports of one cable, whose lanes ride on that, as bytes to put behind those of others.

    The same reports give the same bytes, in whatever order they came.
    """
    together = np.sort(np.fromiter(codes, np.uint64)) | np.uint64(_bits(LANES, rides_on) << LANES_AT)
    if together.size:
        together[0] |= np.uint64(1 << FIRST_AT)
    return together.astype("<u8").tobytes()


def count(of_cables: bytes, asked: Mapping[Facet, str], connectors: Iterable[str]) -> Counted:
    """The reports that have every value asked for, by what they share; `connectors` are the keys that may occur."""
    reports = _read(of_cables)
    for facet, value in asked.items():
        reports = reports.only(reports.having(facet, value))
    groups = {facet: list(reports.by_bit(facet)) for facet in VALUES}
    at_any = reports.only(np.flatnonzero(reports.columns[Facet.CONNECTOR]))
    groups[Facet.CONNECTOR] = [at_any.only(at_any.having(Facet.CONNECTOR, key)).tally(key) for key in connectors]
    for facet, tallies in groups.items():
        told = (tally for tally in tallies if tally.reports)
        groups[facet] = sorted(told, key=lambda tally: (-tally.reports, tally.value))
    return Counted(reports.tally(""), groups)


@dataclass(frozen=True)
class _Reports:
    """Reports of many cables, those of each together: what they have, how they ended, and the number of their cable."""

    columns: Mapping[Facet, NDArray[Any]]
    outcomes: NDArray[np.uint8]
    cables: NDArray[np.int32]

    def only(self, places: Places) -> _Reports:
        columns = {facet: column[places] for facet, column in self.columns.items()}
        return _Reports(columns, self.outcomes[places], self.cables[places])

    def having(self, facet: Facet, value: str) -> Places:
        column = self.columns[facet]
        if facet is Facet.CONNECTOR:
            return np.flatnonzero(column == _number(value))
        return np.flatnonzero(column & column.dtype.type(_bits(VALUES[facet], (value,))))

    def tally(self, value: str) -> Tally:
        return _tally(value, len(self._first_of_cables), np.bincount(self.outcomes, minlength=2 * TRIED))

    def by_bit(self, facet: Facet) -> Iterator[Tally]:
        """What the reports of each value add up to. They are looked through twice, however many values there are."""
        column = self.columns[facet]
        if not len(column):
            return
        of_cables = np.bitwise_or.reduceat(column, self._first_of_cables)
        ended = np.bincount(column.astype(np.intp) * 2 * TRIED + self.outcomes, minlength=2 * TRIED << 16)
        by_bits = ended.reshape(-1, 2 * TRIED)
        there = np.flatnonzero(by_bits.any(axis=1))
        for place, value in enumerate(VALUES[facet]):
            cables = int(np.count_nonzero(of_cables & column.dtype.type(1 << place)))
            yield _tally(str(value), cables, by_bits[there[there >> place & 1 == 1]].sum(axis=0))

    @cached_property
    def _first_of_cables(self) -> Places:
        """Where the reports of each cable begin."""
        return np.flatnonzero(np.diff(self.cables, prepend=np.int32(0)))


def _tally(value: str, cables: int, ended: NDArray[np.intp]) -> Tally:
    """`ended` are the reports by the number of their ending, and from TRIED on those whose mending was tried."""
    untried, tried = ended.reshape(2, TRIED).tolist()
    endings = {ending: untried[place] + tried[place] for place, ending in enumerate(ENDINGS)}
    return Tally(
        value,
        sum(untried) + sum(tried),
        cables,
        {ending: count for ending, count in endings.items() if count},
        Outcomes(endings[Ending.MENDED], sum(tried)),
    )


def _read(of_cables: bytes) -> _Reports:
    codes = np.frombuffer(of_cables, "<u8")
    return _Reports(
        {
            Facet.PLACE: (codes >> SPOTS_AT).astype(np.uint8),
            Facet.SYMPTOM: codes.astype(np.uint16),
            Facet.CONNECTOR: (codes >> CONNECTOR_AT).astype(np.uint16),
            Facet.RIDES_ON: (codes >> LANES_AT).astype(np.uint8),
        },
        (codes >> ENDING_AT).astype(np.uint8) & np.uint8(2 * TRIED - 1),
        np.cumsum(codes >> FIRST_AT, dtype=np.int32),
    )


def _bits(values: Sequence[str], chosen: Iterable[str]) -> int:
    """One bit for each value that is chosen; none for what is no value."""
    return sum(1 << values.index(value) for value in set(chosen) if value in values)


def _number(connector: str) -> int:
    """16 bits of a hash of the key, never 0, and 0 where there is no connector. No two that are published share one."""
    return int.from_bytes(hashlib.sha256(connector.encode()).digest()[:2]) or 1 if connector else 0
