"""The one mapping of rows to core values and back. It decides nothing: what may be stored is for the use cases."""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from django.db import connection

from catalogue.core.confirming import Added, Outcome, Verdict
from catalogue.core.document import MapDocument, Point, end_of
from catalogue.core.failures import Failure, failure_from
from catalogue.core.findings import Finding, finding_from_json, finding_json
from catalogue.core.matching.plugs import WiredPlug
from catalogue.core.problems import Defect
from catalogue.models import Cable, Confirmation, Draft, EndRow, FailureReport, MapRevision, NetRow, ReadingRow, User

Json = dict[str, Any]


def add_map(
    cable: Cable,
    number: int,
    document: MapDocument,
    wiring: MapDocument,
    contacts: Sequence[Point],
    ends: Sequence[WiredPlug],
    texts: tuple[str, str, str],
    findings: Sequence[Finding],
    author: User,
    now: datetime,
) -> MapRevision:
    """Write one revision and its derived rows: five statements, whatever the size of the map.

    `wiring` is the document with its deduced nets, `contacts` all contacts of all ends, `ends` the ends with the net
    at each seat, and `texts` are the canonical JSON of the document, that of the wiring without readings, and the
    content hash.
    """
    canonical, wiring_json, content_hash = texts
    row = MapRevision.objects.create(
        cable=cable,
        number=number,
        hardware_revision=document.cable.revision,
        document=canonical,
        wiring=wiring_json,
        content_hash=content_hash,
        findings=[finding_json(finding) for finding in findings],
        author=author,
        created_at=now,
        contact_count=len(contacts),
        net_count=len(wiring.nets),
        path_count=len(wiring.paths),
        reading_count=len(document.readings),
    )
    add_derived_rows(row, document, wiring, contacts, ends)
    return row


def add_derived_rows(
    row: MapRevision,
    document: MapDocument,
    wiring: MapDocument,
    contacts: Sequence[Point],
    ends: Sequence[WiredPlug],
) -> None:
    """Write the rows of ends, nets and readings that searches and joins use."""
    contacts_of_end = Counter(map(end_of, contacts))
    wired = {end.plug.name: end for end in ends}
    EndRow.objects.bulk_create(
        EndRow(
            map=row,
            name=end.name,
            connector=end.connector,
            contact_count=contacts_of_end[end.name],
            row_lengths=" ".join(map(str, wired[end.name].plug.shape.row_lengths)),
            net_numbers=wired[end.name].nets.astype("<u2").tobytes(),
        )
        for end in document.ends
    )
    NetRow.objects.bulk_create(
        NetRow(map=row, name=net.name, role=net.role.value, contacts=list(net.contacts)) for net in wiring.nets
    )
    ReadingRow.objects.bulk_create(
        ReadingRow(
            map=row,
            ident=reading.id,
            mode=reading.mode.value,
            red=reading.red,
            black=" ".join(reading.black),
            result=reading.result.value,
            value=reading.value,
        )
        for reading in document.readings
    )


def replace_derived(
    row: MapRevision,
    document: MapDocument,
    wiring: MapDocument,
    contacts: Sequence[Point],
    ends: Sequence[WiredPlug],
    wiring_json: str,
    findings: Sequence[Finding],
) -> None:
    """Write all that is derived from a map's document anew; the document itself stays as it is."""
    row.wiring = wiring_json
    row.findings = [finding_json(finding) for finding in findings]
    row.contact_count = len(contacts)
    row.net_count = len(wiring.nets)
    row.path_count = len(wiring.paths)
    row.reading_count = len(document.readings)
    row.save(update_fields=["wiring", "findings", "contact_count", "net_count", "path_count", "reading_count"])
    for rows in (row.ends, row.nets, row.readings):
        rows.all().delete()
    add_derived_rows(row, document, wiring, contacts, ends)


def content_hash_of(map_id: int) -> str | None:
    """The content hash of a map's document, or None when there is no such map.

    Written by hand, because composing this statement takes the mapper several times as long as the store needs
    to answer it, and nothing is asked for more often.
    """
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT content_hash FROM {MapRevision._meta.db_table} WHERE id = %s", [map_id])
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
    cable: Cable, map_row: MapRevision | None, failure: Failure, reporter: User, now: datetime
) -> FailureReport:
    return FailureReport.objects.create(
        cable=cable,
        map=map_row,
        reporter=reporter,
        created_at=now,
        kind=failure.kind.value,
        ending=failure.ending.value,
        symptoms=[symptom.value for symptom in failure.symptoms],
        words=failure.words,
        section=failure.section,
        at_m=failure.at_m,
        place=failure.place,
        nets=list(failure.nets),
        cause=failure.cause.value,
        tried=[remedy.value for remedy in failure.tried],
        note=failure.note,
        hours=failure.hours,
        cost=failure.cost,
        currency=failure.currency,
    )


def failure_of(row: FailureReport) -> Failure:
    return failure_from(vars(row))


def keep_confirmation(
    row: MapRevision, author: User, readings: list[Json], meter: Json, note: str, verdict: Verdict, now: datetime
) -> tuple[Confirmation, bool]:
    """Keep what a person read of a map's cable, in place of what they sent before; and whether it is their first."""
    return Confirmation.objects.update_or_create(
        map=row,
        author=author,
        defaults={
            "created_at": now,
            "readings": readings,
            "meter": meter,
            "note": note,
            "outcome": verdict.outcome.value,
            "report": {
                "nets_tested": verdict.nets_tested,
                "nets_total": verdict.nets_total,
                "adds": [{"net": added.net, "contacts": list(added.contacts)} for added in verdict.adds],
                "findings": [finding_json(finding) for finding in verdict.findings],
            },
        },
    )


def verdict_of(row: Confirmation) -> Verdict:
    return Verdict(
        outcome=Outcome(row.outcome),
        nets_tested=row.report["nets_tested"],
        nets_total=row.report["nets_total"],
        adds=tuple(Added(added["net"], tuple(added["contacts"])) for added in row.report["adds"]),
        findings=tuple(finding_from_json(value) for value in row.report["findings"]),
    )
