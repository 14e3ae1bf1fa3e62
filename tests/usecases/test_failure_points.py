"""Where cables fail, across all of them: what the store counts against a count report by report."""

from collections import Counter

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from catalogue import store
from catalogue.core.chances import wilson_interval
from catalogue.core.document import CoreKind
from catalogue.core.facets import Facet
from catalogue.core.failures import Cause, Ending, Failure, FailureKind, Remedy, Spot, Symptom, connector_of, spots_of
from catalogue.core.outcomes import Option, Told, outcomes_of
from catalogue.models import Cable, CountedReports, FailureReport
from catalogue.usecases import failure_points, failures, maps
from tests.factories import ReviewFactory, UserFactory
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db

CABLES = ("PL-2", "PL-3", "XR-7")
ENDINGS = tuple(Ending)
TRIED = ((), (Remedy.NOTHING,), (Remedy.CUT_AND_SPLICED, Remedy.CABLE_BOUGHT), (Remedy.CABLE_BUILT,))
WHERE = (
    {"section": "main", "at_m": 0.05},
    {"section": "main", "at_m": 0.3},
    {"section": "main", "at_m": 0.9, "cause": Cause.STRAIN_RELIEF},
    {"place": "PLOTTER"},
    {"section": "main"},
    {},
)
SYMPTOMS = ((Symptom.NO_POWER,), (Symptom.NO_POWER, Symptom.HOT), ())


def map_of(model, **more):
    return as_json(usb_map(cable={"maker": "Orrin & Vale (invented)", "model": model}, **more))


def tell(cable, numbers):
    for number in numbers:
        told = Failure(
            FailureKind.CORE_OPEN,
            ENDINGS[number % len(ENDINGS)],
            symptoms=SYMPTOMS[number % len(SYMPTOMS)],
            tried=TRIED[number // 2 % len(TRIED)],
            **WHERE[number % len(WHERE)],
        )
        failures.report_failure(UserFactory(), cable, told)


@pytest.fixture
def told():
    """Sixty reports on three cables, one of which also has fibre; another cable and a report that are withdrawn."""
    fibre = {"cores": [{"name": "f1", "section": "main", "kind": CoreKind.FIBRE}]}
    for number, model in enumerate(CABLES):
        cable = maps.submit_map(UserFactory(), map_of(model, **(fibre if number else {}))).map.cable
        tell(cable, range(number, number + 20))
    gone = maps.submit_map(UserFactory(), map_of("Gone")).map
    tell(gone.cable, range(4))
    ReviewFactory(map=gone, withdrawn=True)
    wrong = FailureReport.objects.filter(cable__model="PL-2").first()
    ReviewFactory(map=None, report=wrong, withdrawn=True)
    maps.show_newest_maps([gone.cable, wrong.cable])


def counted(**asked):
    return failure_points.failure_points_of_all(**asked).counted


def values_of(row):
    failure, document = store.failure_of(row), maps.wiring_of(row.map)
    return {
        Facet.PLACE: {spot.value for spot in spots_of(failure, document)},
        Facet.SYMPTOM: {symptom.value for symptom in failure.symptoms},
        Facet.CONNECTOR: {connector_of(failure, document)} - {""},
        Facet.RIDES_ON: {"copper"} | {core.kind.value for core in document.cores if core.kind is CoreKind.FIBRE},
    }


def one_by_one(facet, is_asked=lambda values: True):
    """Of each value the reports, the cables, the endings, and how often mending was tried and how often it did."""
    shown = FailureReport.objects.shown().filter(cable__model__in=CABLES)
    rows = [(row, values_of(row)) for row in shown]
    found = {}
    for value in set().union(*(values[facet] for _, values in rows)):
        own = [row for row, values in rows if value in values[facet] and is_asked(values)]
        if own:
            outcomes = outcomes_of(Option.MEND, [Told(Ending(row.ending), list(map(Remedy, row.tried))) for row in own])
            endings = Counter(row.ending for row in own)
            found[value] = (len(own), len({row.cable_id for row in own}), endings, outcomes)
    return found


def as_counted(tallies):
    return {tally.value: (tally.reports, tally.cables, tally.endings, tally.mending) for tally in tallies}


def test_everything_is_counted_as_one_would_count_report_by_report(told):
    found = counted()
    assert found.all.reports == 59
    assert found.all.cables == 3
    for facet, tallies in found.groups.items():
        assert as_counted(tallies) == one_by_one(facet) != {}
        assert [tally.reports for tally in tallies] == sorted((tally.reports for tally in tallies), reverse=True)
    assert {tally.value for tally in found.groups[Facet.PLACE]} == set(Spot) - {Spot.MODULE, Spot.SPLIT}


@pytest.mark.parametrize(
    ("asked", "facet", "value"),
    [
        ({"symptom": "hot"}, Facet.SYMPTOM, "hot"),
        ({"place": "strain-relief"}, Facet.PLACE, "strain-relief"),
        ({"connector": "usb2-b"}, Facet.CONNECTOR, "usb2-b"),
        ({"rides_on": "fibre"}, Facet.RIDES_ON, "fibre"),
    ],
)
def test_what_is_asked_leaves_only_the_reports_that_have_it(told, asked, facet, value):
    found = counted(**asked)
    assert found.all.reports == one_by_one(facet)[value][0]
    for other, tallies in found.groups.items():
        assert as_counted(tallies) == one_by_one(other, lambda values: value in values[facet])


def test_all_that_is_asked_has_to_fit(told):
    both = counted(words="XR-7", symptom="hot", place="near-an-end")
    assert (both.all.cables, both.all.reports) == (1, len([n for n in range(2, 22) if n % 6 == 1]))
    assert counted(words="no such lead").all.reports == 0


def test_the_interval_is_of_mended_when_tried_and_there_is_none_where_nobody_tried(told):
    everything = counted().all
    assert 0 < everything.mending.succeeded < everything.mending.tried < everything.reports
    assert everything.interval == wilson_interval(everything.mending.succeeded, everything.mending.tried)
    assert counted(words="no such lead").all.interval is None


def test_the_statements_are_as_many_for_many_reports_as_for_few(told):
    def taken():
        with CaptureQueriesContext(connection) as statements:
            counted(symptom="no-power", rides_on="copper")
        return len(statements)

    few = taken()
    tell(Cable.objects.get(model="PL-2"), range(30))
    assert taken() == few == 1


def test_a_report_that_is_told_anew_is_counted_by_what_it_says_now():
    person = UserFactory()
    cable = maps.submit_map(person, map_of("PL-2")).map.cable
    first = Failure(FailureKind.CORE_OPEN, Ending.MENDED, symptoms=(Symptom.HOT,), place="PLOTTER")
    row = failures.report_failure(person, cable, first)
    anew = Failure(FailureKind.CORE_OPEN, Ending.GIVEN_UP, symptoms=(Symptom.NOISE,), section="main", at_m=0.9)
    failures.send_report(person, cable, anew, str(row.pk))
    groups = counted().groups
    assert [tally.value for tally in groups[Facet.SYMPTOM]] == ["noise"]
    assert [tally.value for tally in groups[Facet.PLACE]] == ["along", "middle"]
    assert groups[Facet.CONNECTOR] == []


def test_a_rebuild_derives_what_reports_are_counted_by(told):
    before = counted()
    CountedReports.objects.all().delete()
    FailureReport.objects.update(code=None)
    assert counted().all.reports == 0
    for number in maps.maps_derived_before(timezone.now()):
        maps.rebuild_derived(maps.kept_map(number))
    assert counted() == before
