"""Reporting failures and reading where they gather."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.utils import timezone

from catalogue.core.failures import SAME_EVENT_DAYS, Ending, Failure, FailureKind, Symptom
from catalogue.core.problems import BadRequest
from catalogue.models import EarlierTelling, FailureReport, Review, User
from catalogue.usecases import cables, failures, maps
from catalogue.usecases.failures import Outcome
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db


@pytest.fixture
def reporter():
    return User.objects.create_user("mira")


@pytest.fixture
def cable(reporter):
    return maps.submit_map(reporter, as_json(usb_map())).map.cable


REPORT = Failure(
    kind=FailureKind.CORE_OPEN,
    ending=Ending.MENDED,
    symptoms=(Symptom.NO_POWER, Symptom.CUTS_OUT_WHEN_MOVED),
    words="goes dark when the pen carriage turns",
    section="main",
    at_m=1.7,
    nets=("VBUS",),
    hours=1.5,
    cost=2.25,
    currency="EUR",
)


def test_a_report_comes_back_as_it_was_told(reporter, cable):
    failures.report_failure(reporter, cable, REPORT)
    assert failures.failures_as_values(cable) == [REPORT]
    (point,) = failures.points_of(cable)
    assert (point.section, point.at_m, point.count) == ("main", 1.7, 1)


def test_a_cable_is_then_found_by_the_words_and_symptom_of_the_report(reporter, cable):
    assert not cables.search_cables("pen carriage", symptom="no-power").cables.exists()
    failures.report_failure(reporter, cable, REPORT)
    (found,) = cables.search_cables("pen CARRIAGE", symptom="no-power").cables
    assert (found, found.failure_count) == (cable, 1)
    assert cables.search_cables("cuts out").cables.exists()


def test_a_report_that_does_not_fit_the_map_changes_nothing(reporter, cable):
    with pytest.raises(BadRequest) as refusal:
        failures.report_failure(reporter, cable, Failure(FailureKind.CORE_OPEN, Ending.MENDED, section="spine"))
    assert [defect.where for defect in refusal.value.defects] == ["/section"]
    assert not FailureReport.objects.exists()


@pytest.fixture
def told(reporter, cable):
    return failures.report_failure(reporter, cable, REPORT)


@pytest.fixture
def neighbour():
    return User.objects.create_user("idris")


def test_the_first_report_of_an_event_is_stored_without_a_question(reporter, cable):
    assert failures.send_report(reporter, cable, REPORT).outcome is Outcome.STORED
    assert failures.failures_as_values(cable) == [REPORT]


def test_ones_own_report_of_these_days_is_asked_about_before_a_second_is_stored(reporter, cable, told):
    other = replace(REPORT, symptoms=(), section="", at_m=None)
    sent = failures.send_report(reporter, cable, other)
    assert (sent.outcome, [report.id for report in sent.alike]) == (Outcome.UNDECIDED, [told.pk])
    assert sent.alike[0].is_own
    assert failures.failures_as_values(cable) == [REPORT]


def test_the_same_place_and_symptom_told_by_somebody_else_is_asked_about(neighbour, cable, told):
    sent = failures.send_report(neighbour, cable, replace(REPORT, at_m=1.65, words="dark again"))
    assert sent.outcome is Outcome.UNDECIDED
    assert not sent.alike[0].is_own


@pytest.mark.parametrize(
    "changes",
    [{"at_m": 0.4}, {"symptoms": (Symptom.HOT,)}, {"section": "", "at_m": None, "place": "HOST"}, {"symptoms": ()}],
)
def test_another_place_or_another_symptom_told_by_somebody_else_is_another_event(neighbour, cable, told, changes):
    assert failures.send_report(neighbour, cable, replace(REPORT, **changes)).outcome is Outcome.STORED
    assert FailureReport.objects.count() == 2


def test_an_event_of_long_ago_is_another_one(reporter, cable, told):
    then = timezone.now() - timedelta(days=SAME_EVENT_DAYS, minutes=1)
    FailureReport.objects.update(created_at=then)
    assert failures.send_report(reporter, cable, REPORT).outcome is Outcome.STORED


def test_another_specimen_is_stored_beside_the_first(reporter, cable, told):
    assert failures.send_report(reporter, cable, REPORT, event=failures.ANOTHER).outcome is Outcome.STORED
    assert FailureReport.objects.count() == 2


def test_a_newer_telling_counts_and_what_was_said_before_is_kept(reporter, cable, told):
    newer = replace(REPORT, ending=Ending.GIVEN_UP, words="the glider would not go on")
    newest = replace(newer, ending=Ending.MENDED, cost=None, currency="", nets=())
    for telling in (newer, newest):
        sent = failures.send_report(reporter, cable, telling, event=str(told.pk))
        assert (sent.outcome, sent.report) == (Outcome.TOLD_ANEW, told)
    assert failures.failures_as_values(cable) == [newest]
    tellings = failures.tellings_of(FailureReport.objects.get())
    assert [telling.failure for telling in tellings] == [REPORT, newer, newest]
    assert tellings[0].told_at == told.created_at == FailureReport.objects.get().created_at
    assert tellings[0].told_at < tellings[1].told_at < tellings[2].told_at
    assert cables.search_cables("glider").cables.exists()
    assert not cables.search_cables("carriage").cables.exists()


def test_a_report_is_told_anew_so_often_and_no_more(reporter, cable, told, monkeypatch):
    monkeypatch.setattr(failures, "MOST_TELLINGS", 1)
    once = replace(REPORT, words="dark again")
    assert failures.send_report(reporter, cable, once, event=str(told.pk)).outcome is Outcome.TOLD_ANEW
    with pytest.raises(BadRequest) as problem:
        failures.send_report(reporter, cable, REPORT, event=str(told.pk))
    assert problem.value.defects[0].where == "/event"
    assert EarlierTelling.objects.count() == 1
    assert failures.send_report(reporter, cable, once, event=str(told.pk)).outcome is Outcome.TOLD_ANEW


def test_ones_own_report_is_told_anew_however_long_ago_it_was_made(reporter, cable, told):
    FailureReport.objects.update(created_at=timezone.now() - timedelta(days=400))
    newer = replace(REPORT, ending=Ending.GIVEN_UP)
    assert failures.send_report(reporter, cable, newer, event=str(told.pk)).outcome is Outcome.TOLD_ANEW
    assert failures.failures_as_values(cable) == [newer]


def test_the_same_words_sent_again_are_no_new_telling(reporter, cable, told):
    for _ in range(2):
        assert failures.send_report(reporter, cable, REPORT, event=str(told.pk)).outcome is Outcome.TOLD_ANEW
    assert not EarlierTelling.objects.exists()
    assert not Review.objects.exists()


def test_a_telling_that_does_not_fit_the_map_changes_nothing(reporter, cable, told):
    with pytest.raises(BadRequest):
        failures.send_report(reporter, cable, replace(REPORT, section="spine"), event=str(told.pk))
    assert failures.failures_as_values(cable) == [REPORT]
    assert not EarlierTelling.objects.exists()


@pytest.mark.parametrize("event", ["0", "x", "9" * 5000])
def test_an_event_that_nobody_told_is_no_reason_to_store_a_report(neighbour, cable, event):
    with pytest.raises(BadRequest) as refusal:
        failures.send_report(neighbour, cable, REPORT, event)
    assert [defect.where for defect in refusal.value.defects] == ["/event"]
    assert not FailureReport.objects.exists()


def test_what_somebody_else_told_is_left_as_it_is(neighbour, cable, told):
    newer = replace(REPORT, ending=Ending.GIVEN_UP)
    assert failures.send_report(neighbour, cable, newer, event=str(told.pk)).outcome is Outcome.KNOWN
    assert failures.failures_as_values(cable) == [REPORT]


@pytest.mark.parametrize("event", ["0", "x", "-1", "' OR 1", "9" * 40])
def test_an_answer_that_names_no_report_alike_decides_nothing(reporter, cable, told, event):
    assert failures.send_report(reporter, cable, REPORT, event).outcome is Outcome.UNDECIDED
    assert FailureReport.objects.count() == 1
