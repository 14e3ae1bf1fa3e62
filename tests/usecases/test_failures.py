"""Reporting failures and reading where they gather."""

import pytest

from catalogue.core.failures import Ending, Failure, FailureKind, Symptom
from catalogue.core.problems import BadRequest
from catalogue.models import FailureReport, User
from catalogue.usecases import cables, failures, maps
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
    assert failures.endings_of(cable) == {Ending.MENDED: 1}
    (point,) = failures.points_of(cable)
    assert (point.section, point.at_m, point.count) == ("main", 1.7, 1)


def test_a_cable_is_then_found_by_the_words_and_symptom_of_the_report(reporter, cable):
    assert not cables.search_cables("pen carriage", symptom="no-power").exists()
    failures.report_failure(reporter, cable, REPORT)
    (found,) = cables.search_cables("pen CARRIAGE", symptom="no-power")
    assert (found, found.failure_count) == (cable, 1)
    assert cables.search_cables("cuts out").exists()


def test_a_report_that_does_not_fit_the_map_changes_nothing(reporter, cable):
    with pytest.raises(BadRequest) as refusal:
        failures.report_failure(reporter, cable, Failure(FailureKind.CORE_OPEN, Ending.MENDED, section="spine"))
    assert [defect.where for defect in refusal.value.defects] == ["/section"]
    assert not FailureReport.objects.exists()
