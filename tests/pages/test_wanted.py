"""Asking for a cable that nobody has mapped."""

import pytest
from django.urls import reverse

from catalogue.models import Wanted
from catalogue.usecases import maps
from catalogue.usecases.wanted import ASKS_AN_HOUR
from tests.factories import WantedFactory
from tests.pages.page import Page
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db

ADDRESS = "/wanted/"
ASKED = {"maker": "Quillon (invented)", "model": "Scale lead SL-4", "device": "tray scale"}


def test_a_cable_asked_for_stands_in_the_list(visitor):
    page = Page(visitor.post(ADDRESS, ASKED, follow=True))
    assert "Quillon (invented) Scale lead SL-4 is on the list" in page.text
    assert "Quillon (invented) Scale lead SL-4, for tray scale asked for by 1 person" in page.text


def test_an_empty_list_says_so_and_takes_the_first(visitor):
    page = Page(visitor.get(ADDRESS))
    assert "Nobody asks for a cable at present" in page.text
    assert page.value("maker") == ""


def test_a_cable_that_is_mapped_is_shown_in_place_of_the_list(visitor, mira):
    cable = maps.submit_map(mira, as_json(usb_map())).map.cable
    answer = visitor.post(ADDRESS, {"maker": cable.maker, "model": cable.model})
    assert answer["Location"] == reverse("cable", args=[cable.slug])
    assert "is mapped already" in Page(visitor.get(answer["Location"])).text
    assert not Wanted.objects.exists()


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("maker", "", "required"),
        ("model", "--", "Nothing is written here"),
        ("device", "https://spam.example", "an address"),
        ("model", "x" * 81, "at most 80"),
        ("maker", "a\0b", "Null characters"),
    ],
)
def test_a_slip_is_told_at_its_field_and_nothing_is_stored(visitor, field, value, told):
    answer = visitor.post(ADDRESS, ASKED | {field: value})
    assert answer.status_code == 422
    assert told in Page(answer).one("div", id=f"ask_{field}_error").text
    assert {name: Page(answer).value(name) for name in ASKED.keys() - {field}}.items() <= ASKED.items()
    assert not Wanted.objects.exists()


def test_who_asks_too_often_is_told_when_to_come_back(visitor):
    for number in range(ASKS_AN_HOUR):
        visitor.post(ADDRESS, ASKED | {"model": f"lead {number}"})
    answer = visitor.post(ADDRESS, ASKED)
    assert answer.status_code == 429
    assert "Ask for the others later" in Page(answer).text
    assert Page(answer).value("model") == ASKED["model"]
    assert Wanted.objects.count() == ASKS_AN_HOUR


def test_the_list_costs_one_statement(visitor, django_assert_num_queries):
    WantedFactory.create_batch(5)
    with django_assert_num_queries(1):
        visitor.get(ADDRESS)
