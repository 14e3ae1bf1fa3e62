"""Where cables fail: the counts in words, ways to narrow them down, and what the page says when there is nothing."""

from urllib.parse import parse_qs

import pytest
from django.urls import reverse

from catalogue.core.failures import Ending, Failure, FailureKind, Remedy, Symptom
from catalogue.usecases import failures, maps
from tests.factories import UserFactory
from tests.pages.page import Page
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db


@pytest.fixture
def told(mira):
    """Four reports on one lead: three in the middle, of which mending was tried twice and went well once; one plug."""
    cable = maps.submit_map(mira, as_json(usb_map())).map.cable
    middle = {"section": "main", "at_m": 0.9, "symptoms": (Symptom.NO_POWER,)}
    for ending, told in (
        (Ending.MENDED, middle | {"tried": (Remedy.CUT_AND_SPLICED,)}),
        (Ending.GIVEN_UP, middle | {"tried": (Remedy.CUT_AND_SPLICED,)}),
        (Ending.GIVEN_UP, middle),
        (Ending.BOUGHT, {"place": "PLOTTER", "symptoms": (Symptom.HOT,)}),
    ):
        failures.report_failure(UserFactory(), cable, Failure(FailureKind.CORE_OPEN, ending, **told))


def page_of(visitor, **asked):
    return Page(visitor.get(reverse("failing"), asked))


def row_of(page, words):
    return next(row for row in page.all("tr") if row.text.startswith(words))


def test_reports_are_counted_with_how_they_ended_and_how_sure_that_is(visitor, told):
    page = page_of(visitor)
    assert "4 reports on 1 cable." in page.text
    assert "1 of 2 who tried to mend one succeeded" in page.text
    assert row_of(page, "Along the way, in the middle").text.endswith(
        "3 on 1 cable given up ×2; mended, and works 1 of 2; 9 % to 91 %"
    )
    assert row_of(page, "USB 2.0 B").text.endswith("1 on 1 cable replaced by a bought cable nobody tried")


def test_each_count_narrows_the_page_down_and_leads_to_its_cables(visitor, told):
    page = page_of(visitor, symptom="no-power")
    assert "3 reports on 1 cable." in page.text
    narrower = page.link("Along the way, in the middle half of a section")
    assert parse_qs(narrower.removeprefix("?")) == {"symptom": ["no-power"], "place": ["middle"]}
    (cables,) = {
        link.attributes["href"] for link in page.all("a") if link.attributes.get("aria-label", "").endswith("section")
    }
    assert parse_qs(cables.partition("?")[2]) == {"symptom": ["no-power"], "place": ["along"]}
    assert "1 cable." in Page(visitor.get(cables)).text


def test_what_was_asked_stays_in_the_form_and_can_be_dropped(visitor, told):
    page = page_of(visitor, q="plotter", place="connector", connector="usb2-b")
    assert page.value("q") == "plotter"
    assert "1 report on 1 cable." in page.text
    assert "drop" in page.one("ul", class_="chosen").text


def test_where_nothing_fits_the_page_says_how_to_go_on(visitor, told):
    page = page_of(visitor, symptom="noise")
    assert "No report fits all of that" in page.text
    assert page.link("Count all reports") == reverse("failing")


def test_without_a_report_it_asks_for_the_first(visitor):
    page = page_of(visitor)
    assert "No failure is reported here yet" in page.text
    assert page.link("Find it") == reverse("search")


def test_a_word_that_is_none_is_told_at_its_field_and_the_rest_is_counted(visitor, told):
    page = page_of(visitor, symptom="no-power", place="nowhere")
    assert "Select a valid choice" in page.one("div", id="id_place_error").text
    assert "3 reports on 1 cable." in page.text


def test_the_start_page_leads_to_it(visitor):
    assert Page(visitor.get(reverse("start"))).link("Where cables fail") == reverse("failing")
