"""Failure reports: report one, read a cable's, and see where they gather."""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum, auto

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from catalogue import store, tables
from catalogue.core.counting import code_of
from catalogue.core.document import MapDocument
from catalogue.core.failures import (
    SAME_EVENT_DAYS,
    Failure,
    FailurePoint,
    Telling,
    failure_defects,
    failure_points,
    may_be_one_event,
)
from catalogue.core.problems import BadRequest, Defect
from catalogue.core.wiring import all_contacts
from catalogue.models import Cable, FailureReport, MapRevision, User
from catalogue.search import cables as cable_search
from catalogue.search import failure_points as point_search
from catalogue.usecases.maps import wiring_of

MOST_COMPARED = 200
"""Reports of the last days that a new one is held against, newest first."""

MOST_TELLINGS = 50
"""How often a report may be told anew. All that it ever said is one entry of an export, which has to end."""

ANOTHER = "another"
"""What a reporter answers whose report is of another event than the reports alike."""

NO_SUCH_EVENT = Defect(
    "/event",
    f"This is no report of your own on this cable, and none of the last {SAME_EVENT_DAYS} days that tells of the "
    "same; or a reviewer withdrew it.",
    "Send the report again without naming an event.",
)

TOLD_TOO_OFTEN = Defect(
    "/event",
    f"This report was told anew {MOST_TELLINGS} times.",
    "Leave it as it is, or send what is to be told as a report of another event.",
)


class Outcome(Enum):
    """What became of a report: `UNDECIDED` until its author says whether a report alike is of the same event.

    `TOLD_ANEW` is one's own report that says something else now, and `KNOWN` what somebody else told already.
    """

    STORED = auto()
    TOLD_ANEW = auto()
    KNOWN = auto()
    UNDECIDED = auto()


@dataclass(frozen=True, slots=True)
class AlikeReport:
    """A stored report that may tell of the same event as one that is about to be sent."""

    id: int
    failure: Failure
    reported_at: datetime
    is_own: bool


@dataclass(frozen=True, slots=True)
class Sent:
    """What became of a report, the reports that may tell of the same event, and the one that tells it now.

    `report` is None while that is undecided.
    """

    outcome: Outcome
    alike: tuple[AlikeReport, ...]
    report: FailureReport | None = None


def send_report(reporter: User, cable: Cable, failure: Failure, event: str = "") -> Sent:
    """Store a report unless its event may be told already, and its author has not said yet whether it is.

    `event` is the id of the report that tells of the same event, or ANOTHER. One's own report then says what is told
    now, and what it said is kept; where somebody else told it, nothing more is stored. Raises BadRequest as
    `report_failure` does, for an `event` that is none, and for a report that was told anew too often.
    """
    map_row, wiring = _fitting(cable, failure)
    with transaction.atomic():
        # Of two that are sent at once, or a report and a decision of a reviewer, one sees what became of the other.
        Cable.objects.select_for_update().get(pk=cable.pk)
        if own := own_report(reporter, cable, event):
            if store.failure_of(own) != failure:
                if own.earlier.count() >= MOST_TELLINGS:
                    raise BadRequest("Nothing was stored.", (TOLD_TOO_OFTEN,))
                store.tell_anew(own, map_row, failure, code_of(failure, wiring), timezone.now())
                _refresh(cable, wiring)
            return Sent(Outcome.TOLD_ANEW, (), own)
        alike = tuple(_alike_reports(reporter, cable, failure))
        if same := next((report for report in alike if str(report.id) == event), None):
            return Sent(Outcome.KNOWN, alike, _shown(cable).get(pk=same.id))
        if alike and event != ANOTHER:
            return Sent(Outcome.UNDECIDED, alike)
        if event not in ("", ANOTHER):
            raise BadRequest("Nothing was stored.", (NO_SUCH_EVENT,))
        return Sent(Outcome.STORED, alike, report_failure(reporter, cable, failure))


def report_failure(reporter: User, cable: Cable, failure: Failure) -> FailureReport:
    """Store what failed on one specimen. Raises BadRequest naming each field that does not fit the cable's map."""
    map_row, wiring = _fitting(cable, failure)
    with transaction.atomic():
        row = store.add_failure(cable, map_row, failure, code_of(failure, wiring), reporter, timezone.now())
        _refresh(cable, wiring)
    return row


def own_report(person: User, cable: Cable, event: str) -> FailureReport | None:
    """A person's own report on this cable that is shown, by its id as it was sent."""
    if not re.fullmatch(r"[0-9]{1,18}", event):
        return None
    return _shown(cable).filter(reporter=person, pk=int(event)).first()


def failure_of(row: FailureReport) -> Failure:
    """What a report says now."""
    return store.failure_of(row)


def failures_of(cable: Cable) -> QuerySet[FailureReport]:
    """The reports on a cable that are shown, newest first, each with its reviews and what it said before."""
    return _shown(cable).prefetch_related("reviews", "earlier")


def tellings_of(row: FailureReport) -> tuple[Telling, ...]:
    """All that a report ever said, oldest first; the last is what it says now."""
    return store.tellings_of(row)


def failures_as_values(cable: Cable) -> list[Failure]:
    return [store.failure_of(row) for row in _shown(cable)]


def points_of(cable: Cable) -> tuple[FailurePoint, ...]:
    """Where the failures of a cable gather, most first."""
    return failure_points(failures_as_values(cable))


def _shown(cable: Cable) -> QuerySet[FailureReport]:
    return cable.failures.shown().order_by("-created_at", "-pk")


def _fitting(cable: Cable, failure: Failure) -> tuple[MapRevision, MapDocument]:
    """The cable's map and its wiring, when the report fits them. Raises BadRequest."""
    if cable.latest is None:
        raise BadRequest("This cable has no map yet, so a report has no places to name. Submit a map first.")
    wiring = wiring_of(cable.latest)
    if defects := failure_defects(failure, wiring):
        raise BadRequest("The report does not fit the cable's map. Nothing was stored.", defects)
    return cable.latest, wiring


def _refresh(cable: Cable, wiring: MapDocument) -> None:
    cable_search.refresh(cable, wiring, all_contacts(wiring, tables.reference()), failures_as_values(cable))
    cable.save(update_fields=["search_text", "name_text"])
    point_search.gather([cable])


def _alike_reports(reporter: User, cable: Cable, failure: Failure) -> list[AlikeReport]:
    """Reports of the last days that may tell of the same event: one's own, and those of the same place and symptom."""
    since = timezone.now() - timedelta(days=SAME_EVENT_DAYS)
    rows = _shown(cable).filter(created_at__gt=since)[:MOST_COMPARED]
    alike = [AlikeReport(row.pk, store.failure_of(row), row.created_at, row.reporter_id == reporter.pk) for row in rows]
    return [report for report in alike if report.is_own or may_be_one_event(report.failure, failure)]
