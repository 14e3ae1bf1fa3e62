"""Which cable is this: a few readings on an unknown plug against the newest map of each cable and hardware revision.

Each process keeps the wiring of all maps in memory, about a byte for each contact, and before each answer asks
the store in one statement whether maps were added or withdrawn since.
"""

import threading
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from django.db.models import Count, Max, Subquery

from catalogue import tables
from catalogue.core.document import End, MapDocument, Point, Reading
from catalogue.core.matching.index import CableShape, Group, Index, group_of
from catalogue.core.matching.plugs import Numbering, PlugShape, plugs
from catalogue.core.matching.ranking import ERROR_RATE, Match, rank
from catalogue.core.matching.signs import signs
from catalogue.core.problems import BadReadings, BadRequest, Defect
from catalogue.core.reviewing import Standing
from catalogue.exchange.document_parts import UNNAMED, read_parts
from catalogue.exchange.reading_lines import parse_lines
from catalogue.models import EndRow, MapRevision, Review
from catalogue.usecases.maps import wiring_of

MOST_MATCHES = 10

Hardware = tuple[int, str]
"""A cable's id and its hardware revision."""


@dataclass(frozen=True, slots=True)
class LaidEnd:
    """One end as it was asked, and the end of the map that it is taken for.

    `numbering` is how its rows are counted as seen against the map; `contacts` lead from each contact asked to
    the map's.
    """

    asked: str
    end: str
    numbering: Numbering
    contacts: Mapping[Point, Point]


@dataclass(frozen=True)
class FoundMap:
    """One map that may be the cable, with how the plugs lie on it and the readings that disagree."""

    map: MapRevision
    match: Match
    ends: tuple[LaidEnd, ...]
    disagreeing: tuple[Reading, ...]


@dataclass(frozen=True)
class FoundMaps:
    """The maps that agree best, best first. `left_out` are ids of readings that tell neither joined nor apart."""

    found: tuple[FoundMap, ...]
    used: int
    left_out: tuple[str, ...]
    compared: int
    error_rate: float = ERROR_RATE


def find_maps(raw: bytes) -> FoundMaps:
    """The catalogue's maps by agreement with `{"ends", "meter", "readings"}`. Raises BadRequest or TooLarge."""
    document, _ = read_parts(raw, ("ends", "meter", "readings"))
    return _find_maps(document)


def find_maps_by_lines(ends: tuple[End, ...], text: str) -> tuple[FoundMaps, tuple[Defect, ...]]:
    """The same for readings typed line by line or as CSV, and the lines that could not be read.

    Raises BadReadings when no line could be read, or BadRequest.
    """
    file = parse_lines(text, ends[0].name if len(ends) == 1 else "")
    if not file.readings:
        raise BadReadings("None of the readings could be read, so there is nothing to compare.", file.defects)
    return _find_maps(MapDocument(UNNAMED, ends, readings=file.readings)), file.defects


def _find_maps(document: MapDocument) -> FoundMaps:
    _refuse_unknown_points(document)
    found = signs(document.readings, document.meter)
    if not found:
        raise BadRequest(
            "No reading here tells whether two contacts are joined or apart, so there is nothing to match."
        )
    ranking = rank(_catalogue.index(), plugs(document, tables.reference()), found, MOST_MATCHES)
    rows = (
        MapRevision.objects.shown()
        .select_related("cable")
        .defer("document", "findings")
        .in_bulk([match.map_id for match in ranking.matches])
    )
    used = {sign.reading for sign in found}
    return FoundMaps(
        tuple(_found(rows[match.map_id], match, document) for match in ranking.matches if match.map_id in rows),
        len(used),
        tuple(reading.id for reading in document.readings if reading.id not in used),
        ranking.compared,
    )


def _found(row: MapRevision, match: Match, document: MapDocument) -> FoundMap:
    held = plugs(wiring_of(row), tables.reference())
    ends = tuple(
        LaidEnd(
            placed.asked.name,
            held[placed.held].name,
            placed.fit.numbering,
            {
                contact: held[placed.held].contacts[seat]
                for contact, seat in zip(placed.asked.contacts, placed.fit.seats, strict=True)
            },
        )
        for placed in match.placing
    )
    wrong = set(match.disagreeing)
    return FoundMap(row, match, ends, tuple(reading for reading in document.readings if reading.id in wrong))


def _refuse_unknown_points(document: MapDocument) -> None:
    reference = tables.reference()
    defects = [
        Defect(f"/ends/{number}/connector", f"no standard connector is called {end.connector}", "Use custom with rows.")
        for number, end in enumerate(document.ends)
        if end.connector not in reference.connectors and not end.rows
    ]
    known = {contact for plug in plugs(document, reference) for contact in plug.contacts}
    defects += unknown_points(document.readings, known)
    if defects:
        raise BadRequest("Some readings or ends cannot be worked with. Nothing was compared.", defects[:100])


def unknown_points(readings: Iterable[Reading], known: set[Point]) -> list[Defect]:
    """A defect for each probe point of the readings that is none of the contacts known."""
    return [
        Defect(f"/readings/{number}/{side}", f"{point} is no contact of the ends", "Name a contact as END:contact.")
        for number, reading in enumerate(readings)
        for side, points in (("red", (reading.red,)), ("black", reading.black))
        for point in points
        if point not in known
    ]


@dataclass(frozen=True, slots=True)
class _Stamp:
    """What tells whether maps were added or withdrawn since, without reading any. Only shown ones are counted."""

    count: int
    newest_id: int
    newest_at: datetime | None
    last_withdrawal: int


class WiredCatalogue:
    """The index that one process keeps, and what it was made of."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._stamp = _Stamp(0, 0, None, 0)
        self._index = Index({})
        self._newest: dict[Hardware, tuple[int, int]] = {}

    def index(self) -> Index:
        """The index as the store stands: read whole the first time, and then only what was added."""
        with self._lock:
            stamp = _current_stamp()
            if stamp != self._stamp and not self._add_since(stamp):
                self._newest, self._index = {}, Index({})
                self._add_from(0)
            self._stamp = stamp
            return self._index

    def _add_since(self, stamp: _Stamp) -> bool:
        """Whether all that changed are maps newer than the newest known, which are then added.

        Two maps may become visible in another order than they were numbered in: then the count does not fit.
        """
        if self._stamp.newest_at is None or self._stamp.last_withdrawal != stamp.last_withdrawal:
            return False
        known = MapRevision.objects.filter(pk=self._stamp.newest_id, created_at=self._stamp.newest_at)
        added = MapRevision.objects.shown().filter(pk__gt=self._stamp.newest_id).count()
        if self._stamp.count + added != stamp.count or not known.exists():
            return False
        self._add_from(self._stamp.newest_id + 1)
        return True

    def _add_from(self, first_id: int) -> None:
        """Put in the maps from this id on, each in place of an older one of the same hardware."""
        rows = MapRevision.objects.shown().filter(pk__gte=first_id).order_by()
        fresh: set[int] = set()
        superseded: set[int] = set()
        for map_id, cable, hardware, number in rows.values_list("pk", "cable", "hardware_revision", "number"):
            before_number, before_id = self._newest.get((cable, hardware), (0, 0))
            if number > before_number:
                self._newest[cable, hardware] = number, map_id
                fresh.add(map_id)
                superseded.add(before_id)
        self._index = self._index.changed(superseded, _groups(first_id, fresh - superseded))


def _groups(first_id: int, wanted: Collection[int]) -> list[Group]:
    """The groups of the maps wanted, all of which have an id of at least `first_id`.

    A map from before the net numbers were kept is left out until its rows are derived anew.
    """
    unfit: set[int] = set()
    ends: dict[int, list[tuple[PlugShape, bytes]]] = defaultdict(list)
    rows = EndRow.objects.filter(map__gte=first_id).order_by("pk")
    columns = rows.values_list("map", "connector", "row_lengths", "net_numbers", "contact_count")
    for map_id, connector, row_lengths, nets, contact_count in columns.iterator(chunk_size=10_000):
        if map_id in wanted:
            shape = _shape(connector, row_lengths)
            ends[map_id].append((shape, bytes(nets)))
            if shape.seats != contact_count:
                unfit.add(map_id)
    ids: dict[CableShape, list[int]] = defaultdict(list)
    numbers: dict[CableShape, list[bytes]] = defaultdict(list)
    for map_id, plugs_of_map in ends.items():
        if map_id in unfit:
            continue
        ordered = sorted(plugs_of_map, key=lambda end: end[0])
        shapes = tuple(end[0] for end in ordered)
        ids[shapes].append(map_id)
        numbers[shapes] += [end[1] for end in ordered]
    return [group_of(shape, ids[shape], b"".join(numbers[shape])) for shape in ids]


@lru_cache(maxsize=10_000)
def _shape(connector: str, row_lengths: str) -> PlugShape:
    return PlugShape(connector, tuple(map(int, row_lengths.split())))


def _current_stamp() -> _Stamp:
    withdrawals = Review.objects.filter(map__isnull=False, decision=Standing.WITHDRAWN).order_by("-pk")
    asked = MapRevision.objects.shown().aggregate(
        count=Count("pk"),
        newest_id=Max("pk"),
        newest_at=Max("created_at"),
        last_withdrawal=Max(Subquery(withdrawals.values("pk")[:1])),
    )
    return _Stamp(asked["count"], asked["newest_id"] or 0, asked["newest_at"], asked["last_withdrawal"] or 0)


_catalogue = WiredCatalogue()
