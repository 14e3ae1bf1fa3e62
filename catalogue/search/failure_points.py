"""Where cables fail, counted over the reports of many cables by the store: what reports share, and how they ended.

The traits of a report are derived from what it tells and from the map it was told against, which never changes;
`refresh` makes them anew when it is told, or told anew.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_
from typing import Any

from django.db import connections
from django.db.models import Count, F, Q, QuerySet, TextField, Value
from django.db.models.functions import Cast

from catalogue.core.document import MapDocument
from catalogue.core.facets import Facet
from catalogue.core.failures import Ending, Failure, Remedy, connector_of, spots_of
from catalogue.core.outcomes import NO_MENDING, NO_OUTCOMES, Outcomes
from catalogue.core.tallies import Tally
from catalogue.models import Cable, FailureReport, ReportTrait

GROUPED_BY = (Facet.PLACE, Facet.SYMPTOM, Facet.CONNECTOR, Facet.RIDES_ON)
NOTHING = Tally("", 0, 0, {}, NO_OUTCOMES)


@dataclass(frozen=True)
class Told:
    """A report, what it tells, and the map it was told against, where that is known."""

    report: FailureReport
    failure: Failure
    document: MapDocument | None


@dataclass(frozen=True)
class Counted:
    """All reports asked for, and those of each value of what they are grouped by, most first.

    A report counts once under each of its values.
    """

    all: Tally
    groups: Mapping[Facet, Sequence[Tally]]


def refresh(every: Sequence[Told]) -> None:
    """Derive what reports are counted by anew, in two statements however many they are."""
    ReportTrait.objects.filter(report__in=[told.report for told in every]).delete()
    ReportTrait.objects.bulk_create(
        ReportTrait(report=told.report, kind=facet.value, value=value)
        for told in every
        for facet, value in sorted(set(_traits(told)))
    )


def count(cables: QuerySet[Cable], asked: Mapping[Facet, str]) -> Counted:
    """The reports on the cables that are shown and have every trait asked for, in three statements."""
    reports = FailureReport.objects.shown().filter(cable__in=cables.order_by().values("pk"))
    for facet, value in asked.items():
        having = ReportTrait.objects.filter(kind=facet.value, value=value)
        reports = reports.filter(pk__in=having.values("report"))
    every = reports.annotate(trait=Value(""), value=Value(""))
    by_trait = reports.annotate(trait=F("traits__kind"), value=F("traits__value")).filter(trait__isnull=False)
    riding = reports.filter(cable__traits__kind=Facet.RIDES_ON.value)
    by_lane = riding.annotate(trait=F("cable__traits__kind"), value=F("cable__traits__value"))
    groups: dict[Facet, list[Tally]] = {facet: [] for facet in GROUPED_BY}
    for rows in (by_trait, by_lane):
        for trait, tally in _tallies(rows):
            groups[Facet(trait)].append(tally)
    for tallies in groups.values():
        tallies.sort(key=lambda tally: (-tally.reports, tally.value))
    return Counted(next((tally for _, tally in _tallies(every)), NOTHING), groups)


def _tallies(reports: QuerySet[Any, Any]) -> Iterator[tuple[str, Tally]]:
    """The reports added up by what they are annotated with as `trait` and `value`."""
    counts = _counts()
    told = reports.order_by().annotate(told_tried=Cast("tried", TextField()))
    of_cables, given = told.values("trait", "value", "cable").annotate(**counts).query.sql_with_params()
    sums = ", ".join(f"SUM({name})" for name in counts)
    # Each cable is added up by itself first: to count cables among reports, PostgreSQL would sort all reports.
    statement = f"SELECT trait, value, COUNT(*), {sums} FROM ({of_cables}) of_cables GROUP BY 1, 2"
    with connections[reports.db].cursor() as cursor:
        cursor.execute(statement, given)
        for trait, value, cables, *numbers in cursor.fetchall():
            yield trait, _tally(value, cables, dict(zip(counts, map(int, numbers), strict=True)))


def _traits(told: Told) -> Iterator[tuple[Facet, str]]:
    for symptom in told.failure.symptoms:
        yield Facet.SYMPTOM, symptom.value
    if told.document:
        for spot in spots_of(told.failure, told.document):
            yield Facet.PLACE, spot.value
        if connector := connector_of(told.failure, told.document):
            yield Facet.CONNECTOR, connector


def _counts() -> dict[str, Count]:
    """What is counted in each group. Whose mending was tried is told as `catalogue.core.outcomes` tells it."""
    mending = sorted(set(Remedy) - NO_MENDING)
    has_tried = reduce(or_, (Q(told_tried__contains=f'"{remedy.value}"') for remedy in mending))
    tried = Q(ending=Ending.MENDED) | ~Q(ending=Ending.NOT_ENDED) & has_tried
    return {
        "report_count": Count("pk"),
        "tried_count": Count("pk", filter=tried),
        **{_column(ending): Count("pk", filter=Q(ending=ending)) for ending in Ending},
    }


def _column(ending: Ending) -> str:
    return f"ended_{ending.name.lower()}"


def _tally(value: str, cables: int, numbers: Mapping[str, int]) -> Tally:
    endings = {ending: numbers[_column(ending)] for ending in Ending if numbers[_column(ending)]}
    mending = Outcomes(endings.get(Ending.MENDED, 0), numbers["tried_count"])
    return Tally(value, numbers["report_count"], cables, endings, mending)
