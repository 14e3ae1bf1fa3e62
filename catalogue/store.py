"""The one mapping of rows to core values and back. It decides nothing: what may be stored is for the use cases."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from itertools import chain
from typing import Any

from django.db import connection, connections, router, transaction

from catalogue import bulk
from catalogue.core.confirming import Added, Outcome, Verdict
from catalogue.core.document import MapDocument, Point, end_of
from catalogue.core.failures import Failure, Telling, failure_from
from catalogue.core.findings import Finding, finding_from_json, finding_json
from catalogue.core.matching.plugs import WiredPlug
from catalogue.core.problems import Defect, Withdrawn
from catalogue.core.reviewing import TOLD_ANEW, Standing, withdrawal
from catalogue.models import (
    Cable,
    Confirmation,
    Draft,
    EarlierConfirmation,
    EarlierTelling,
    EndRow,
    FailureReport,
    MapRevision,
    NetRow,
    ReadingRow,
    Review,
    User,
)

Json = dict[str, Any]


@dataclass(frozen=True)
class Derived:
    """What follows from a map's document: its wiring (the document with its deduced nets), all contacts of all ends,
    the ends with the net at each seat, the canonical JSON of the wiring without readings, and the findings.
    """

    wiring: MapDocument
    contacts: Sequence[Point]
    ends: Sequence[WiredPlug]
    wiring_json: str
    findings: Sequence[Finding]

    def columns(self, document: MapDocument) -> Json:
        return {
            "wiring": self.wiring_json,
            "findings": [finding_json(finding) for finding in self.findings],
            "contact_count": len(self.contacts),
            "net_count": len(self.wiring.nets),
            "path_count": len(self.wiring.paths),
            "reading_count": len(document.readings),
        }


def map_row(
    cable: Cable, number: int, document: MapDocument, texts: tuple[str, str], derived: Derived, now: datetime
) -> MapRevision:
    """The row of one revision, not written yet. `texts` are the canonical JSON of the document and its hash."""
    canonical, content_hash = texts
    return MapRevision(
        cable=cable,
        number=number,
        hardware_revision=document.cable.revision,
        document=canonical,
        content_hash=content_hash,
        created_at=now,
        **derived.columns(document),
    )


def add_derived_rows(maps: Sequence[tuple[MapRevision, MapDocument, Derived]]) -> None:
    """Write the rows of ends, nets and readings of maps that searches and joins use: three statements."""
    bulk.write(chain.from_iterable(_end_rows(*each) for each in maps))
    bulk.write(
        NetRow(map=row, name=net.name, role=net.role.value, contacts=list(net.contacts))
        for row, _, derived in maps
        for net in derived.wiring.nets
    )
    bulk.write(
        ReadingRow(
            map=row,
            ident=reading.id,
            mode=reading.mode.value,
            red=reading.red,
            black=" ".join(reading.black),
            result=reading.result.value,
            value=reading.value,
        )
        for row, document, _ in maps
        for reading in document.readings
    )


def replace_derived(row: MapRevision, document: MapDocument, derived: Derived, now: datetime) -> None:
    """Write all that is derived from a map's document anew; the document itself stays as it is."""
    columns = derived.columns(document) | {"derived_at": now}
    for name, value in columns.items():
        setattr(row, name, value)
    row.save(update_fields=list(columns))
    for rows in (row.ends, row.nets, row.readings):
        rows.all().delete()
    add_derived_rows([(row, document, derived)])


def _end_rows(row: MapRevision, document: MapDocument, derived: Derived) -> Iterator[EndRow]:
    contacts_of_end = Counter(map(end_of, derived.contacts))
    wired = {end.plug.name: end for end in derived.ends}
    for end in document.ends:
        yield EndRow(
            map=row,
            name=end.name,
            connector=end.connector,
            contact_count=contacts_of_end[end.name],
            row_lengths=" ".join(map(str, wired[end.name].plug.shape.row_lengths)),
            net_numbers=wired[end.name].nets.astype("<u2").tobytes(),
        )


@contextmanager
def snapshot() -> Iterator[None]:
    """All that is read within is of one moment, and nobody who writes has to wait for it.

    Within a transaction that is under way already, what it can see is seen.
    """
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
                # Cursors are read to their end; else the planner thinks of the first rows, and takes 20 times as long.
                cursor.execute("SET LOCAL cursor_tuple_fraction = 1")
            yield
    else:
        with connection.deferred(), transaction.atomic():  # type: ignore[attr-defined]  # catalogue.sqlite
            yield


GREATEST_ID = 2**63 - 1
"""A store's integers end here; the mapper knows, and statements written by hand do not."""


def content_hash_of(map_id: int) -> str | None:
    """The content hash of a map's document, or None when no such map is shown (`MapRevision.objects.shown`).

    Written by hand, because composing this statement takes the mapper several times as long as the store needs
    to answer it, and nothing is asked for more often.
    """
    if map_id > GREATEST_ID:
        return None
    maps, reviews = MapRevision._meta.db_table, Review._meta.db_table
    last = f"SELECT decision FROM {reviews} WHERE map_id = {maps}.id ORDER BY id DESC LIMIT 1"
    statement = f"SELECT content_hash FROM {maps} WHERE id = %s AND COALESCE(({last}), '') <> %s"
    with connections[router.db_for_read(MapRevision)].cursor() as cursor:
        cursor.execute(statement, [map_id, Standing.WITHDRAWN.value])
        row: tuple[str] | None = cursor.fetchone()
    return row[0] if row else None


def findings_of(row: MapRevision | Draft) -> tuple[Finding, ...]:
    return tuple(finding_from_json(value) for value in row.findings)


def keep_draft(
    author: User,
    text: str,
    content_hash: str,
    title: str,
    findings: Iterable[Finding],
    defects: Iterable[Defect],
    now: datetime,
) -> Draft:
    """Keep a refused submission; the same text of the same author is kept once."""
    draft, _ = Draft.objects.update_or_create(
        author=author,
        content_hash=content_hash,
        kind=Draft.Kind.REFUSED,
        defaults={
            "text": text,
            "title": title,
            "findings": [finding_json(finding) for finding in findings],
            "defects": [
                {"where": defect.where, "message": defect.message, "remedy": defect.remedy} for defect in defects
            ],
            "changed_at": now,
        },
    )
    return draft


def defects_of(draft: Draft) -> tuple[Defect, ...]:
    return tuple(Defect(**value) for value in draft.defects)


def add_failure(
    cable: Cable, map_row: MapRevision, failure: Failure, code: int, reporter: User, now: datetime
) -> FailureReport:
    return FailureReport.objects.create(
        cable=cable, map=map_row, reporter=reporter, created_at=now, code=code, **failure_columns(failure)
    )


def tell_anew(row: FailureReport, map_row: MapRevision, failure: Failure, code: int, now: datetime) -> None:
    """Tell a report anew, and keep what it said. When it was made, and by whom, stays.

    Whatever was decided on it does not count any more, because it was said of another text.
    """
    EarlierTelling.objects.create(report=row, map_id=row.map_id, told=failure_columns(failure_of(row)), replaced_at=now)
    Review.objects.create(
        report=row,
        decision=Standing.UNREVIEWED.value,
        reason=TOLD_ANEW,
        contributor=row.reporter,
        reviewed_at=now,
    )
    columns = failure_columns(failure)
    for name, value in columns.items():
        setattr(row, name, value)
    row.map = map_row
    row.code = code
    row.in_feed = False
    row.save(update_fields=["map", "code", "in_feed", *columns])


def failure_columns(failure: Failure) -> Json:
    return {
        "kind": failure.kind.value,
        "ending": failure.ending.value,
        "symptoms": [symptom.value for symptom in failure.symptoms],
        "words": failure.words,
        "section": failure.section,
        "at_m": failure.at_m,
        "place": failure.place,
        "nets": list(failure.nets),
        "cause": failure.cause.value,
        "tried": [remedy.value for remedy in failure.tried],
        "note": failure.note,
        "hours": failure.hours,
        "cost": failure.cost,
        "currency": failure.currency,
    }


def failure_of(row: FailureReport) -> Failure:
    return failure_from(vars(row))


def tellings_of(row: FailureReport) -> tuple[Telling, ...]:
    """All that a report ever said, oldest first. Costs no statement where `earlier` was fetched along."""
    earlier = sorted(row.earlier.all(), key=lambda telling: telling.pk)
    told_at = [row.created_at, *(telling.replaced_at for telling in earlier)]
    said = [*(failure_from(telling.told) for telling in earlier), failure_of(row)]
    return tuple(map(Telling, told_at, said))


def add_review(
    contribution: MapRevision | FailureReport, reviewer: User, decision: Standing, reason: str, now: datetime
) -> Review:
    return Review.objects.create(
        map=contribution if isinstance(contribution, MapRevision) else None,
        report=contribution if isinstance(contribution, FailureReport) else None,
        decision=decision.value,
        reason=reason,
        reviewer=reviewer,
        contributor=contributor_of(contribution),
        reviewed_at=now,
    )


def contribution_of(review: Review) -> MapRevision | FailureReport:
    """What a review is of."""
    row = review.map or review.report
    assert row, "the database keeps no review without"
    return row


def contributor_of(contribution: MapRevision | FailureReport) -> User | None:
    return contribution.author if isinstance(contribution, MapRevision) else contribution.reporter


def last_review(contribution: MapRevision | FailureReport) -> Review | None:
    """The review that counts. Costs no statement where `reviews` were fetched along."""
    return max(contribution.reviews.all(), key=lambda review: review.pk, default=None)


def standing_of(review: Review | None) -> Standing:
    """What a contribution counts for after its last review."""
    return Standing(review.decision) if review else Standing.UNREVIEWED


def withdrawal_of(row: MapRevision) -> Withdrawn:
    """What is told in place of a withdrawn map."""
    review = row.reviews.latest("pk")
    return withdrawal("This map", review.reviewed_at, review.reason)


def keep_confirmation(
    row: MapRevision, author: User, readings: list[Json], meter: Json, note: str, verdict: Verdict, now: datetime
) -> tuple[Confirmation, bool]:
    """Keep what a person read of a map's cable, and whether it is their first; what they sent before is kept behind it.

    To be called in a transaction.
    """
    told: Json = {"readings": readings, "meter": meter, "note": note, **verdict_columns(verdict)}
    before = Confirmation.objects.select_for_update().filter(map=row, author=author).first()
    if before and (said := {name: getattr(before, name) for name in told}) != told:
        EarlierConfirmation.objects.create(confirmation=before, told=said, told_at=before.created_at)
    return Confirmation.objects.update_or_create(
        map=row, author=author, defaults={"created_at": now, "in_feed": False, **told}
    )


def verdict_columns(verdict: Verdict) -> Json:
    return {
        "outcome": verdict.outcome.value,
        "report": {
            "nets_tested": verdict.nets_tested,
            "nets_total": verdict.nets_total,
            "adds": [{"net": added.net, "contacts": list(added.contacts)} for added in verdict.adds],
            "findings": [finding_json(finding) for finding in verdict.findings],
        },
    }


def verdict_of(row: Confirmation) -> Verdict:
    return _verdict(row.outcome, row.report)


def earlier_confirmations_of(row: Confirmation) -> tuple[tuple[datetime, str, Verdict], ...]:
    """When a person sent what before they sent anew: its note and its verdict, newest first."""
    earlier = sorted(row.earlier.all(), key=lambda each: -each.pk)
    return tuple(
        (each.told_at, each.told["note"], _verdict(each.told["outcome"], each.told["report"])) for each in earlier
    )


def _verdict(outcome: str, report: Json) -> Verdict:
    return Verdict(
        outcome=Outcome(outcome),
        nets_tested=report["nets_tested"],
        nets_total=report["nets_total"],
        adds=tuple(Added(added["net"], tuple(added["contacts"])) for added in report["adds"]),
        findings=tuple(finding_from_json(value) for value in report["findings"]),
    )
