"""Taking entries of another site, or of this one as it was, into the catalogue: a whole export, or a page of a feed.

Documents, ids and times stay as they are told; what follows from them is derived here, as for any map.
"""

from __future__ import annotations

import gzip
import zlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from itertools import groupby
from pathlib import Path
from typing import Any, BinaryIO
from uuid import UUID

from django.db import transaction
from django.db.models import Max

from catalogue import store, tables
from catalogue.core.confirming import confirm
from catalogue.core.counting import code_of
from catalogue.core.document import MapDocument
from catalogue.core.failures import failure_from
from catalogue.core.problems import BadDocument, Conflict, Defect
from catalogue.core.reviewing import Standing
from catalogue.exchange.documents import read_canonical
from catalogue.exchange.exports import Entry, EntryKind, read_entries, read_header
from catalogue.exchange.shapes import METER, read_reading
from catalogue.models import (
    Cable,
    Confirmation,
    EarlierConfirmation,
    EarlierTelling,
    FailureReport,
    FollowedSite,
    MapRevision,
    Review,
    Wanted,
)
from catalogue.models.reviews import withdrawn
from catalogue.usecases.changes import feed_again, last_number, locked_feed, number_changes
from catalogue.usecases.entries import SOURCES, Json
from catalogue.usecases.identities import identity_of
from catalogue.usecases.maps import check_map, derive, show_newest_maps

AT_ONCE = 100
BYTES_AT_ONCE = 4 * 1024 * 1024
"""Entries, and bytes of them, that are held in memory and stored together; one of them may be larger by itself."""


@dataclass
class Taken:
    """What became of entries: `new` ones, `changed` ones, and those that were `known`; and their cables, by id."""

    new: Counter[EntryKind] = field(default_factory=Counter)
    changed: int = 0
    known: int = 0
    cables: set[int] = field(default_factory=set)

    def told_new(self) -> str:
        """How many of each kind are new, in words."""
        return ", ".join(f"{count} {kind}" for kind, count in self.new.items() if count) or "nothing"


def import_file(path: Path, tell: Callable[[str, int], object] = lambda doing, lines: None) -> Taken:
    """Take in an export, plain or gzipped, all of it or nothing.

    The file is read twice: first every line, count and checksum is checked, and only then anything is stored, in one
    transaction. What is here already is left alone. Raises BadDocument naming the line of a file that is not whole
    and right, Conflict where it says something else of a thing than is known here, and OSError.
    """
    for number, _ in enumerate(_entries(path)):
        if number % AT_ONCE == 0:
            tell("checking", number)
    with _opened(path) as file:
        header, _ = read_header(file)
    taken, lines = Taken(), 0
    with transaction.atomic():
        is_empty = last_number() == 0 and not any(source.rows().exists() for source in SOURCES.values())
        for batch in _portions(_entries(path)):
            store_entries(batch, taken)
            lines += len(batch)
            tell("storing", lines)
        cables = sorted(taken.cables)
        for first in range(0, len(cables), AT_ONCE):
            show_cables(cables[first : first + AT_ONCE])
            tell("making findable", first)
        # Only now, because those who read the feed meanwhile would wait for it.
        feed = locked_feed()
        if is_empty and feed.last == 0 and header["changes"] >= lines:
            # A copy of a site ends where that one ended, so that its own export is the same to the byte.
            feed.last = header["changes"] - lines
            feed.save()
        while number_changes():
            pass
    return taken


def store_entries(entries: Sequence[Entry], taken: Taken, site: FollowedSite | None = None) -> None:
    """Store entries in a number of statements that does not grow with them, and count them in `taken`.

    What is said of a thing that is here already must be what is known of it, or Conflict is raised naming the line.
    When a `site` is followed it may change its mind: what was taken from it is replaced, and what has another source
    is left alone. What refers to something that is not here is then left out, because it was withdrawn there.
    """
    by_kind: dict[EntryKind, dict[str, Entry]] = {kind: {} for kind in EntryKind}
    for entry in entries:
        same = by_kind[entry.kind].setdefault(entry.id, entry)
        if same is not entry and site is None:
            raise _contradiction(entry, f"it is told before, {same.where}")
        by_kind[entry.kind][entry.id] = entry
    for kind, told in by_kind.items():
        if told:
            _Batch(told, _known(kind, told), taken, site).store(kind)


def show_cables(ids: Iterable[int]) -> None:
    """Derive anew what follows for cables from their maps, reports and reviews."""
    cables = list(Cable.objects.select_for_update().filter(pk__in=ids).order_by("pk"))
    newest = dict(MapRevision.objects.filter(cable__in=cables).values_list("cable").annotate(Max("created_at")))
    for cable in cables:
        cable.changed_at = newest.get(cable.pk, cable.changed_at)
    show_newest_maps(cables)


@dataclass
class _Batch:
    """Entries of one kind by their ids, and the rows that are here of them."""

    told: Mapping[str, Entry]
    known: Mapping[str, Any]
    taken: Taken
    site: FollowedSite | None

    def store(self, kind: EntryKind) -> None:
        {
            EntryKind.CABLE: self._cables,
            EntryKind.MAP: self._maps,
            EntryKind.FAILURE: self._failures,
            EntryKind.CONFIRMATION: self._confirmations,
            EntryKind.EARLIER: self._earlier_confirmations,
            EntryKind.REVIEW: self._reviews,
            EntryKind.WANTED: self._wanted,
        }[kind]()

    def _cables(self) -> None:
        new, _ = self._parted()
        slugs = [entry.says["slug"] for entry in new]
        used = set(Cable.objects.filter(slug__in=slugs).values_list("slug", flat=True))
        rows = []
        for entry in new:
            says = entry.says
            _require_identity(entry, says["maker"], says["model"])
            slug = says["slug"]
            if slug in used:
                if self.site is None:
                    raise _contradiction(entry, f"the address {slug} is another cable's here")
                slug = f"{slug[:80]}-{entry.id[:8]}"
            used.add(slug)
            named = {"slug": slug, "identity": entry.id, "maker": says["maker"], "model": says["model"]}
            rows.append(Cable(**named, changed_at=datetime.fromisoformat("1970-01-01T00:00:00Z")))
        Cable.objects.bulk_create(rows)
        self._count(EntryKind.CABLE, rows, [row.pk for row in rows])

    def _maps(self) -> None:
        new, changed = self._parted()
        cables = Cable.objects.in_bulk([entry.says["cable"] for entry in self.told.values()], field_name="identity")
        rows = []
        numbers = _numbers(cables.values())
        for entry in new:
            document = entry.document
            assert document is not None  # every map's entry is read with its document
            if (cable := self._needed(entry, cables, entry.says["cable"], "cable")) is None:
                continue
            _require_identity(entry, document.cable.maker, document.cable.model, entry.says["cable"])
            number, taken = entry.says["number"], numbers.setdefault(cable.pk, set())
            if number in taken:
                if self.site is None:
                    raise _contradiction(entry, f"map revision {number} of its cable is another map here")
                number = max(taken) + 1
            taken.add(number)
            text = entry.line[entry.line.index(',"document":') + len(',"document":') : -1]
            derived = derive(document, check_map(document))
            row = store.map_row(cable, number, document, (text, entry.id), derived, _moment(entry, entry.says["at"]))
            row.author_name, row.taken_from = entry.says["author"], self.site
            rows.append((row, document, derived))
        MapRevision.objects.bulk_create(row for row, _, _ in rows)
        store.add_derived_rows(rows)
        self._count(EntryKind.MAP, rows, [row.cable_id for row, _, _ in rows])
        for entry, row in changed:
            row.author_name = entry.says["author"]
        self._replace(MapRevision, changed, ["author_name"])

    def _failures(self) -> None:
        new, changed = self._parted()
        every = self.told.values()
        cables = Cable.objects.in_bulk([entry.says["cable"] for entry in every], field_name="identity")
        maps = _maps_of(telling["map"] for entry in every for telling in (entry.says, *entry.says["earlier"]))
        wirings = {row.pk: read_canonical(row.wiring) for row in maps.values()}
        rows = []
        for entry in new:
            cable = self._needed(entry, cables, entry.says["cable"], "cable")
            if cable is not None:
                row = FailureReport(key=UUID(entry.id), cable=cable, taken_from=self.site)
                self._tell(row, entry, maps, wirings)
                rows.append(row)
        FailureReport.objects.bulk_create(rows)
        EarlierTelling.objects.filter(report__in=[row for _, row in changed]).delete()
        of = {str(row.key): row for row in (*rows, *(row for _, row in changed))}
        EarlierTelling.objects.bulk_create(
            EarlierTelling(
                report=of[entry.id],
                map=self._map(telling, entry, maps),
                told=store.failure_columns(failure_from(telling["told"])),
                replaced_at=_moment(entry, telling["until"]),
            )
            for entry in every
            if entry.id in of
            for telling in entry.says["earlier"]
        )
        self._count(EntryKind.FAILURE, rows, [row.cable_id for row in rows])
        for entry, row in changed:
            self._tell(row, entry, maps, wirings)
            self.taken.cables.add(row.cable_id)
        self._replace(FailureReport, changed, ["map", "created_at", "code", *store.failure_columns(_failure(every))])

    def _tell(
        self, row: FailureReport, entry: Entry, maps: Mapping[str, MapRevision], wirings: Mapping[int, MapDocument]
    ) -> None:
        failure = failure_from(entry.says["told"])
        row.map = self._map(entry.says, entry, maps)
        row.code = code_of(failure, wirings[row.map.pk] if row.map else None)
        row.created_at = _moment(entry, entry.says["at"])
        for name, value in store.failure_columns(failure).items():
            setattr(row, name, value)

    def _map(self, telling: Json, entry: Entry, maps: Mapping[str, MapRevision]) -> MapRevision | None:
        """The map that a report names places of, if it names one."""
        return self._needed(entry, maps, telling["map"], "map") if telling["map"] else None

    def _confirmations(self) -> None:
        new, changed = self._parted()
        maps = _maps_of([entry.says["map"] for entry in self.told.values()])
        rows = []
        for entry in new:
            of = self._needed(entry, maps, entry.says["map"], "map")
            if of is not None:
                row = Confirmation(key=UUID(entry.id), map=of, taken_from=self.site)
                self._confirm(row, entry)
                rows.append(row)
        Confirmation.objects.bulk_create(rows)
        self._count(EntryKind.CONFIRMATION, rows, ())
        for entry, row in changed:
            row.map = maps[entry.says["map"]]
            self._confirm(row, entry)
        columns = ["created_at", "author_name", "note", "meter", "readings", "outcome", "report"]
        self._replace(Confirmation, changed, columns)

    def _confirm(self, row: Confirmation, entry: Entry) -> None:
        row.created_at, row.author_name = _moment(entry, entry.says["at"]), entry.says["author"]
        for name, value in _confirmed(row.map, entry.says).items():
            setattr(row, name, value)

    def _earlier_confirmations(self) -> None:
        new, _ = self._parted()
        keys = [UUID(entry.says["confirmation"]) for entry in new]
        found = Confirmation.objects.filter(key__in=keys).select_related("map").defer("map__document", "map__findings")
        confirmations = {str(row.key): row for row in found}
        rows = []
        for entry in new:
            of = self._needed(entry, confirmations, entry.says["confirmation"], "confirmation")
            if of is not None and (self.site is None or of.taken_from_id == self.site.pk):
                told, at = _confirmed(of.map, entry.says), _moment(entry, entry.says["at"])
                rows.append(EarlierConfirmation(key=UUID(entry.id), confirmation=of, told=told, told_at=at))
        EarlierConfirmation.objects.bulk_create(rows)
        self._count(EntryKind.EARLIER, rows, ())

    def _reviews(self) -> None:
        new, _ = self._parted()
        maps = _maps_of([entry.says["target"] for entry in new if entry.says["of"] == "map"])
        keys = [UUID(entry.says["target"]) for entry in new if entry.says["of"] == "failure"]
        reports = {str(key): row for key, row in FailureReport.objects.in_bulk(keys, field_name="key").items()}
        rows, touched = [], []
        for entry in new:
            says = entry.says
            of = self._needed(entry, maps if says["of"] == "map" else reports, says["target"], says["of"])
            if of is not None:
                told = {"key": UUID(entry.id), "decision": says["decision"], "reason": says["reason"]}
                target = {"map": of} if says["of"] == "map" else {"report": of}
                rows.append(Review(**told, **target, reviewed_at=_moment(entry, entry.says["at"])))
                touched.append(of.cable_id)
        for cable in _shown_again(rows):
            feed_again(cable)
        Review.objects.bulk_create(rows)
        self._count(EntryKind.REVIEW, rows, touched)

    def _wanted(self) -> None:
        new, changed = self._parted()
        rows = []
        for entry in new:
            _require_identity(entry, entry.says["maker"], entry.says["model"])
            row = Wanted(identity=entry.id, taken_from=self.site)
            _ask(row, entry)
            rows.append(row)
        Wanted.objects.bulk_create(rows)
        self._count(EntryKind.WANTED, rows, ())
        for entry, row in changed:
            _ask(row, entry)
        self._replace(Wanted, changed, ["maker", "model", "device", "askers", "first_asked_at", "last_asked_at"])

    def _parted(self) -> tuple[list[Entry], list[tuple[Entry, Any]]]:
        """The entries that are new, and those whose row has to be changed."""
        new, changed = [], []
        for entry in self.told.values():
            row = self.known.get(entry.id)
            if row is None:
                new.append(entry)
            elif _says(entry.kind, row) == entry.says:
                self.taken.known += 1
            elif self.site is None:
                raise _contradiction(entry, "something else is known of it here")
            elif getattr(row, "taken_from_id", None) == self.site.pk:
                changed.append((entry, row))
            else:
                self.taken.known += 1
        return new, changed

    def _needed(self, entry: Entry, there: Mapping[str, Any], named: str, what: str) -> Any:
        """What an entry refers to, or None where a site that is followed does not show it any more."""
        found = there.get(named)
        if found is None and self.site is None:
            raise _contradiction(entry, f"the {what} that it names is neither here nor told before it")
        return found

    def _count(self, kind: EntryKind, rows: Sequence[object], cables: Iterable[int]) -> None:
        self.taken.new[kind] += len(rows)
        self.taken.cables.update(cables)

    def _replace(self, model: Any, changed: Sequence[tuple[Entry, Any]], columns: Sequence[str]) -> None:
        for _, row in changed:
            row.in_feed = False
        model.objects.bulk_update([row for _, row in changed], [*columns, "in_feed"])
        self.taken.changed += len(changed)


def _entries(path: Path) -> Iterator[Entry]:
    with _opened(path) as file:
        yield from read_entries(file)


@contextmanager
def _opened(path: Path) -> Iterator[BinaryIO]:
    """An export to read, unpacked when its name says that it is gzipped. Raises BadDocument when that fails."""
    try:
        with gzip.open(path) if path.suffix == ".gz" else path.open("rb") as file:
            yield file  # type: ignore[misc]  # what gzip opens reads as a file does
    except (EOFError, gzip.BadGzipFile, zlib.error):
        defect = Defect("", "it cannot be unpacked", "It was damaged or cut off; take the export anew.")
        raise BadDocument("The file cannot be unpacked to its end. Nothing was stored.", (defect,)) from None


def _portions(entries: Iterable[Entry]) -> Iterator[list[Entry]]:
    """The entries in portions that are stored at once."""
    portion: list[Entry] = []
    size = 0
    for entry in entries:
        if portion and (len(portion) == AT_ONCE or size + len(entry.line) > BYTES_AT_ONCE):
            yield portion
            portion, size = [], 0
        portion.append(entry)
        size += len(entry.line)
    if portion:
        yield portion


def _known(kind: EntryKind, told: Mapping[str, Entry]) -> dict[str, Any]:
    """The rows that are here of these ids, also those that are not shown."""
    source = SOURCES[kind]
    return {str(getattr(row, source.by)): row for row in source.rows().filter(**{f"{source.by}__in": list(told)})}


def _says(kind: EntryKind, row: Any) -> Json:
    return SOURCES[kind].says(row)


def _maps_of(hashes: Iterable[str | None]) -> dict[str, MapRevision]:
    found = MapRevision.objects.filter(content_hash__in=set(hashes) - {None}).defer("document", "findings")
    return {row.content_hash: row for row in found}


def _numbers(cables: Iterable[Cable]) -> dict[int, set[int]]:
    """The numbers of the maps that each cable has."""
    found = MapRevision.objects.filter(cable__in=list(cables)).order_by("cable").values_list("cable", "number")
    return {cable: {number for _, number in group} for cable, group in groupby(found, key=lambda pair: pair[0])}


def _confirmed(of: MapRevision, says: Json) -> Json:
    """The columns of what somebody read of a map's cable, with what comes of it."""
    readings = [read_reading(reading) for reading in says["readings"]]
    verdict = confirm(read_canonical(of.wiring), readings, METER.read(says["meter"]), tables.reference())
    return {name: says[name] for name in ("readings", "meter", "note")} | store.verdict_columns(verdict)


def _shown_again(reviews: Sequence[Review]) -> set[Cable]:
    """The cables of what is withdrawn here and, after these reviews, is not any more."""
    maps = [review.map_id for review in reviews]
    reports = [review.report_id for review in reviews]
    hidden = {("map", pk) for pk in withdrawn("map").filter(map__in=maps)}
    hidden |= {("report", pk) for pk in withdrawn("report").filter(report__in=reports)}
    last = {("map", review.map_id) if review.map else ("report", review.report_id): review for review in reviews}
    shown = [last[key] for key in hidden if last[key].decision != Standing.WITHDRAWN.value]
    return {(review.map or review.report).cable for review in shown}  # type: ignore[union-attr]  # of one of them


def _failure(entries: Iterable[Entry]) -> Any:
    return failure_from(next(iter(entries)).says["told"])


def _ask(row: Wanted, entry: Entry) -> None:
    says = entry.says
    row.maker, row.model, row.device, row.askers = says["maker"], says["model"], says["device"], says["askers"]
    row.first_asked_at, row.last_asked_at = (
        _moment(entry, entry.says["first_asked_at"]),
        _moment(entry, entry.says["last_asked_at"]),
    )


def _moment(entry: Entry, at: str) -> datetime:
    try:
        return datetime.fromisoformat(at)
    except ValueError:
        raise _contradiction(entry, f"{at} is no time") from None


def _require_identity(entry: Entry, maker: str, model: str, identity: str = "") -> None:
    if identity_of(maker, model) != (identity or entry.id):
        raise _contradiction(entry, "its cable is not the one of this maker and model")


def _contradiction(entry: Entry, why: str) -> Conflict:
    told = f"{entry.where}: the {entry.kind} {entry.id[:12]}… cannot be taken in: {why}. Nothing was stored."
    remedy = "Import into an empty site, or follow the other site with manage.py mirror."
    return Conflict(told, (Defect(entry.where, why, remedy),))
