"""The start page: what this is, one search box, what is new, and the order of work."""

import pytest
from django.urls import reverse

from catalogue.views.browse import NEWEST
from tests.factories import CableFactory
from tests.pages.page import Page

pytestmark = pytest.mark.django_db


def test_a_visitor_finds_one_search_box_that_leads_to_the_search(visitor):
    page = Page(visitor.get("/"))
    box = page.one("form", role="search")
    assert box.attributes["action"] == reverse("search")
    assert page.one("input", type="search").attributes["name"] == "q"


def test_the_order_of_work_is_told_on_the_first_page(visitor):
    text = Page(visitor.get("/")).one("ol", class_="steps").text
    order = ("Look up before", "Measure before", "Open at the likeliest place only", "Prove before")
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_the_newest_maps_are_listed_with_links(visitor):
    cables = CableFactory.create_batch(NEWEST + 2, mapped=True)
    page = Page(visitor.get("/"))
    shown = [cable for cable in cables if reverse("cable", args=[cable.slug]) in page.links]
    assert shown == cables[2:]
    assert cables[-1].model in page.text


def test_an_empty_site_says_what_to_do(visitor):
    page = Page(visitor.get("/"))
    assert "No cable is mapped here yet" in page.text
    assert page.link("Submit the first map") == reverse("submit")


def test_the_page_asks_the_store_once_however_much_is_in_it(visitor, django_assert_num_queries):
    CableFactory.create_batch(NEWEST + 2, mapped=True)
    with django_assert_num_queries(1):
        visitor.get("/")
