"""Finding a cable: by words, by what it has, page by page, and what the page says when there is nothing."""

import pytest
from django.urls import reverse

from catalogue.usecases import maps
from catalogue.views.browse import ON_A_PAGE
from tests.factories import CableFactory, FailureReportFactory, TraitFactory
from tests.pages.page import Page
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db


@pytest.fixture
def plotter_lead(mira):
    return maps.submit_map(mira, as_json(usb_map())).map.cable


def found(page):
    return [link.text for link in page.all("a") if link.above[-1].tag == "h2"]


@pytest.mark.parametrize(
    "asked",
    [
        {"q": "plotter"},
        {"q": "orrin pl-2"},
        {"q": "PL-200"},
        {"q": "usb2-b"},
        {"connector": "usb2-a"},
        {"contacts": "5"},
        {"rides_on": "copper"},
        {"maker": "orrin & vale (invented)"},
        {"q": "lead", "connector": "usb2-b", "contacts": "5"},
    ],
)
def test_a_cable_is_found_by_what_is_known_of_it(visitor, plotter_lead, asked):
    CableFactory(mapped=True, maker="Quillon (invented)", model="scale rod 1")
    page = Page(visitor.get(reverse("search"), asked))
    assert found(page) == ["Orrin & Vale (invented) Plotter lead PL-2"]
    assert reverse("cable", args=[plotter_lead.slug]) in page.links


def test_a_row_tells_ends_contacts_what_it_rides_on_and_how_often_it_failed(visitor):
    report = FailureReportFactory()
    FailureReportFactory(cable=report.cable)
    TraitFactory(cable=report.cable, fibre=True)
    row = Page(visitor.get(reverse("search"))).one("li", class_="result").text
    assert "HOST USB 2.0 A, 5 contacts" in row
    assert "PLOTTER USB 2.0 B, 5 contacts" in row
    assert "fibre" in row
    assert "2 failure reports" in row


def test_what_was_asked_stays_in_the_form(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "plotter", "connector": "usb2-a", "contacts": "5"}))
    assert page.value("q") == "plotter"
    assert page.value("contacts") == "5"
    assert page.one("option", value="usb2-a").attributes.get("selected") == ""
    assert "open" in page.one("details", class_="facets").attributes


def test_a_number_that_is_none_is_told_at_its_field_and_the_rest_is_searched(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "plotter", "contacts": "many"}))
    assert "Type a number." in page.one("div", id="id_contacts_error").text
    assert found(page) == ["Orrin & Vale (invented) Plotter lead PL-2"]


def test_a_character_that_no_store_takes_is_told_and_not_searched_for(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "plot\0ter"}))
    assert "Null characters are not allowed" in page.one("div", id="id_q_error").text


def test_an_empty_result_says_how_to_go_on(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "no such cable"}))
    assert "No cable here fits all of that" in page.text
    assert page.link("submit what you read") == reverse("submit")


def test_an_empty_site_asks_for_the_first_map(visitor):
    assert "No cable is mapped here yet" in Page(visitor.get(reverse("search"))).text


def test_pages_follow_one_another_without_gap_or_repeat(visitor):
    CableFactory.create_batch(2 * ON_A_PAGE + 3, mapped=True)
    address, seen = reverse("search"), []
    while address:
        page = Page(visitor.get(address))
        seen += found(page)
        following = [link for link in page.all("a") if link.attributes.get("rel") == "next"]
        address = reverse("search") + following[0].attributes["href"] if following else None
    assert len(seen) == len(set(seen)) == 2 * ON_A_PAGE + 3


def test_the_search_is_kept_from_page_to_page(visitor):
    for _ in range(ON_A_PAGE + 1):
        TraitFactory(cable=CableFactory(mapped=True), fibre=True)
    CableFactory(mapped=True)
    first = Page(visitor.get(reverse("search"), {"rides_on": "fibre"}))
    following = first.link("Next →")
    second = Page(visitor.get(reverse("search") + following))
    assert len(found(second)) == 1
    assert second.link("← Previous") == "?rides_on=fibre&page=1"


@pytest.mark.parametrize("page", ["0", "-1", "x", "99999999999999", "²"])
def test_a_page_number_that_is_none_shows_the_first_page(visitor, plotter_lead, page):
    answer = visitor.get(reverse("search"), {"page": page})
    assert found(Page(answer)) == ["Orrin & Vale (invented) Plotter lead PL-2"]


def test_beyond_the_last_page_the_way_back_is_shown(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "plotter", "page": "7"}))
    assert page.link("Back to the first page") == "?q=plotter"


def test_the_list_costs_as_many_statements_for_twenty_cables_as_for_one(visitor, django_assert_num_queries):
    FailureReportFactory()
    with django_assert_num_queries(3):
        visitor.get(reverse("search"))
    for cable in CableFactory.create_batch(ON_A_PAGE, mapped=True):
        FailureReportFactory(cable=cable)
        TraitFactory(cable=cable)
    with django_assert_num_queries(3):
        visitor.get(reverse("search"))
