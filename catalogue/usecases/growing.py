"""A large invented catalogue in bulk, to see how the site does with much in it.

Every map is checked by the rules and all that follows from it is derived as for any map, by the same functions; only
the storing is done for many cables at once. The cable of a number is the same whatever is grown beside it, so a
catalogue can be grown on, and one that was interrupted be finished.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from multiprocessing import get_context
from uuid import UUID

from django.db import connections, transaction
from django.db.models import Model

from catalogue import bulk, store, tables
from catalogue.core.confirming import confirm
from catalogue.core.counting import code_of
from catalogue.core.document import MapDocument, Meter
from catalogue.core.findings import accepted
from catalogue.core.inventing.cables import Confirming, Decided, Invented, Mapped, Reported, invented_cable
from catalogue.core.problems import Conflict
from catalogue.exchange.documents import canonical_json, content_hash
from catalogue.exchange.exports import EntryKind
from catalogue.exchange.shapes import METER, write_reading
from catalogue.models import Cable, Confirmation, FailureReport, MapRevision, Review, User
from catalogue.search import cables as cable_search
from catalogue.search import failure_points as point_search
from catalogue.usecases.changes import number_now
from catalogue.usecases.identities import identity_of, slugs_of
from catalogue.usecases.maps import check_map, derive, read_document

AT_ONCE = 100
"""Cables that are stored in one transaction."""


@dataclass(frozen=True, slots=True)
class Batch:
    """Some of the cables of one catalogue, by their numbers."""

    seed: int
    numbers: range


Told = Counter[str]
"""How many `cables`, `maps`, `readings`, `reports` and `confirmations` were stored, and cables `known` before."""


def grow(
    cables: int, seed: int, processes: int = 1, adding: bool = False, tell: Callable[[int], object] = lambda many: None
) -> Told:
    """Store the first so many cables of the catalogue of that seed. What is here is never changed or removed.

    `tell` is called with the number of cables that are done now and then. Raises Conflict on a site that has cables
    already, unless it is to be `adding` to them; those of the same catalogue are then passed over.
    """
    if not adding and Cable.objects.exists():
        raise Conflict("There are cables on this site already. Say that these are to be added to them, with --add.")
    batches = [Batch(seed, range(first, min(first + AT_ONCE, cables))) for first in range(0, cables, AT_ONCE)]
    told, done = Counter[str](), 0
    for grown in _in_processes(batches, processes) if processes > 1 else map(_grow, batches):
        told += grown
        done += grown["cables"] + grown["known"]
        tell(done)
    bulk.settle()
    return told


def _in_processes(batches: Sequence[Batch], processes: int) -> Iterator[Told]:
    """Each process has its own connection to the store, because two can not share one."""
    for connection in connections.all(initialized_only=True):
        connection.close()
        if connection.vendor == "postgresql":
            connection.close_pool()  # type: ignore[attr-defined]  # of this store alone
    with get_context("fork").Pool(processes) as pool:
        yield from pool.imap_unordered(_grow, batches)


def _grow(batch: Batch) -> Told:
    """Invent, check and derive, and then store those that are not here."""
    reference = tables.reference()
    invented = [invented_cable(batch.seed, number, reference) for number in batch.numbers]
    identities = {_identity(cable): cable for cable in invented}
    known = set(Cable.objects.filter(identity__in=identities).values_list("identity", flat=True))
    fresh = [_Derived.of(cable) for identity, cable in identities.items() if identity not in known]
    people = _people(person for each in fresh for person in each.people())
    if fresh:
        with transaction.atomic():
            _store(fresh, people)
    return Counter(
        known=len(known),
        cables=len(fresh),
        maps=sum(len(each.maps) for each in fresh),
        readings=sum(len(document.readings) for each in fresh for document, _, _ in each.maps),
        reports=sum(len(each.invented.reports) for each in fresh),
        confirmations=sum(len(mapped.confirmations) for each in fresh for mapped in each.invented.maps),
    )


@dataclass(frozen=True)
class _Derived:
    """A cable, and of each of its maps the document, the canonical JSON with its hash, and what follows from it."""

    invented: Invented
    maps: tuple[tuple[MapDocument, tuple[str, str], store.Derived], ...]

    @classmethod
    def of(cls, invented: Invented) -> _Derived:
        return cls(invented, tuple(_derived(mapped.document) for mapped in invented.maps))

    def decided(self) -> Iterator[Decided]:
        yield from (mapped.decided for mapped in self.invented.maps if mapped.decided)
        yield from (report.decided for report in self.invented.reports if report.decided)

    def people(self) -> Iterator[int]:
        """The numbers of all who contributed or decided."""
        for mapped in self.invented.maps:
            yield mapped.author
            yield from (each.person for each in mapped.confirmations)
        yield from (report.reporter for report in self.invented.reports)
        yield from (decided.reviewer for decided in self.decided())


def _derived(invented: MapDocument) -> tuple[MapDocument, tuple[str, str], store.Derived]:
    canonical = canonical_json(invented)
    document = read_document(canonical)
    findings = check_map(document)
    assert accepted(findings), f"{document.cable.model} is refused: {findings[0].message}"
    return document, (canonical.decode(), content_hash(canonical)), derive(document, findings)


def _identity(cable: Invented) -> str:
    named = cable.maps[0].document.cable
    return identity_of(named.maker, named.model)


def _people(numbers: Iterable[int]) -> dict[int, int]:
    """The ids of the users who stand for these invented people, as whom nobody can sign in."""
    names = {f"invented-{number}": number for number in sorted(set(numbers))}
    fresh = [User(username=name) for name in names]
    for user in fresh:
        user.set_unusable_password()
    User.objects.bulk_create(fresh, ignore_conflicts=True)
    return {names[name]: pk for name, pk in User.objects.filter(username__in=names).values_list("username", "pk")}


def _store(fresh: Sequence[_Derived], people: Mapping[int, int]) -> None:
    """All rows of these cables, in a number of statements that does not grow with them."""
    rows = _Rows(fresh, people)
    for each in fresh:
        rows.add(each)
    cable_search.refresh_all(rows.found)
    for stored in (rows.cables, rows.maps, rows.reports, rows.confirmations, rows.reviews):
        bulk.write(stored)
    store.add_derived_rows(rows.derived)
    point_search.gather(rows.cables)
    number_now(
        {
            EntryKind.CABLE: rows.cables,
            EntryKind.MAP: rows.maps,
            EntryKind.FAILURE: rows.reports,
            EntryKind.CONFIRMATION: rows.confirmations,
            EntryKind.REVIEW: rows.reviews,
        }
    )


class _Rows:
    """The rows of some cables as they are stored, with ids, and what their search texts are made of."""

    def __init__(self, fresh: Sequence[_Derived], people: Mapping[int, int]) -> None:
        self.cables: list[Cable] = []
        self.maps: list[MapRevision] = []
        self.derived: list[tuple[MapRevision, MapDocument, store.Derived]] = []
        self.reports: list[FailureReport] = []
        self.confirmations: list[Confirmation] = []
        self.reviews: list[Review] = []
        self.found: list[cable_search.Found] = []
        invented = [each.invented for each in fresh]
        mapped = [row for cable in invented for row in cable.maps]
        reported = [row for cable in invented for row in cable.reports]
        many = {
            Cable: len(invented),
            MapRevision: len(mapped),
            FailureReport: len(reported),
            Confirmation: sum(len(row.confirmations) for row in mapped),
            Review: sum(1 for each in fresh for _ in each.decided()),
        }
        self._ids = {model: iter(bulk.reserved(model, count)) for model, count in many.items()}
        self._people = people
        names = [cable.maps[0].document.cable for cable in invented]
        slugs = [slugs_of(name.maker, name.model)[0] for name in names]
        self._slugs = set(Cable.objects.filter(slug__in=slugs).values_list("slug", flat=True))

    def add(self, each: _Derived) -> None:
        """Take in one cable with everything of it."""
        maps, named = each.invented.maps, each.maps[-1][0].cable
        cable = Cable(
            pk=next(self._ids[Cable]),
            slug=next(slug for slug in slugs_of(named.maker, named.model) if slug not in self._slugs),
            identity=identity_of(named.maker, named.model),
            maker=named.maker,
            model=named.model,
            devices=list(named.devices),
            summary=named.summary,
            changed_at=maps[-1].at,
            in_feed=True,
        )
        rows = [self._map(cable, number, *both) for number, both in enumerate(zip(maps, each.maps, strict=True), 1)]
        cable.latest = rows[-1]
        self.cables.append(cable)
        wirings = [derived.wiring for _, _, derived in each.maps]
        for report in each.invented.reports:
            self._report(cable, rows[report.map_number - 1], wirings[report.map_number - 1], report)
        shown = [report.failure for report in each.invented.reports if not report.is_withdrawn]
        self.found.append(cable_search.Found(cable, wirings[-1], each.maps[-1][2].contacts, shown[::-1]))

    def _map(
        self, cable: Cable, number: int, mapped: Mapped, made: tuple[MapDocument, tuple[str, str], store.Derived]
    ) -> MapRevision:
        document, texts, derived = made
        row = store.map_row(cable, number, document, texts, derived, mapped.at)
        row.pk, row.author_id, row.in_feed = next(self._ids[MapRevision]), self._people[mapped.author], True
        self.maps.append(row)
        self.derived.append((row, document, derived))
        for each in mapped.confirmations:
            self._confirm(row, derived.wiring, document.meter, each)
        self._decide(mapped.decided, row.author_id, map=row)
        return row

    def _confirm(self, row: MapRevision, wiring: MapDocument, meter: Meter, each: Confirming) -> None:
        verdict = confirm(replace(wiring, readings=()), each.readings, meter, tables.reference())
        self.confirmations.append(
            Confirmation(
                pk=next(self._ids[Confirmation]),
                map=row,
                author_id=self._people[each.person],
                created_at=each.at,
                readings=[write_reading(reading) for reading in each.readings],
                meter=METER.write(meter),
                key=UUID(bytes=each.key, version=4),
                in_feed=True,
                **store.verdict_columns(verdict),
            )
        )

    def _report(self, cable: Cable, row: MapRevision, wiring: MapDocument, told: Reported) -> None:
        report = FailureReport(
            pk=next(self._ids[FailureReport]),
            cable=cable,
            map=row,
            reporter_id=self._people[told.reporter],
            created_at=told.at,
            code=code_of(told.failure, wiring),
            key=UUID(bytes=told.key, version=4),
            in_feed=True,
            **store.failure_columns(told.failure),
        )
        self.reports.append(report)
        self._decide(told.decided, report.reporter_id, report=report)

    def _decide(self, decided: Decided | None, contributor: int | None, **target: Model) -> None:
        if decided:
            self.reviews.append(
                Review(
                    pk=next(self._ids[Review]),
                    decision=decided.standing.value,
                    reason=decided.reason,
                    reviewer_id=self._people[decided.reviewer],
                    contributor_id=contributor,
                    reviewed_at=decided.at,
                    key=UUID(bytes=decided.key, version=4),
                    in_feed=True,
                    **target,
                )
            )
