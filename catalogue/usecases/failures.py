"""Failure reports: report one, read a cable's, and see where they gather."""

from collections import Counter

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from catalogue import store, tables
from catalogue.core.failures import Ending, Failure, FailurePoint, failure_defects, failure_points
from catalogue.core.problems import BadRequest
from catalogue.core.wiring import all_contacts
from catalogue.models import Cable, FailureReport, User
from catalogue.search import cables as cable_search
from catalogue.usecases.maps import wiring_of


def report_failure(reporter: User, cable: Cable, failure: Failure) -> FailureReport:
    """Store what failed on one specimen. Raises BadRequest naming each field that does not fit the cable's map."""
    if cable.latest is None:
        raise BadRequest("This cable has no map yet, so a report has no places to name. Submit a map first.")
    wiring = wiring_of(cable.latest)
    defects = failure_defects(failure, wiring)
    if defects:
        raise BadRequest("The report does not fit the cable's map. Nothing was stored.", defects)
    with transaction.atomic():
        row = store.add_failure(cable, cable.latest, failure, reporter, timezone.now())
        cable_search.refresh(cable, wiring, all_contacts(wiring, tables.reference()), failures_as_values(cable))
        cable.save(update_fields=["search_text"])
    return row


def failures_of(cable: Cable) -> QuerySet[FailureReport]:
    """The reports on a cable, newest first."""
    return cable.failures.order_by("-created_at", "-pk")


def failures_as_values(cable: Cable) -> list[Failure]:
    return [store.failure_of(row) for row in failures_of(cable)]


def points_of(cable: Cable) -> tuple[FailurePoint, ...]:
    """Where the failures of a cable gather, most first."""
    return failure_points(failures_as_values(cable))


def endings_of(cable: Cable) -> Counter[Ending]:
    """How the reported failures of a cable ended."""
    return Counter(failure.ending for failure in failures_as_values(cable))
