"""The start page: what this is, one search box, what is new, and the order of work."""

import pytest
from django.urls import reverse

from catalogue.views.browse import MOST_WANTED, NEWEST
from tests.factories import CableFactory, DraftFactory, WantedFactory
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


def test_the_page_asks_the_store_twice_however_much_is_in_it(visitor, django_assert_num_queries):
    CableFactory.create_batch(NEWEST + 2, mapped=True)
    WantedFactory.create_batch(MOST_WANTED + 2)
    with django_assert_num_queries(2):
        visitor.get("/")


def test_the_most_wanted_cables_are_listed(visitor):
    rows = WantedFactory.create_batch(MOST_WANTED + 1)
    section = Page(visitor.get("/")).one("section", aria_labelledby="wanted").text
    assert [row.model in section for row in rows] == [False] + MOST_WANTED * [True]
    assert f"asked for by {rows[-1].askers} people" in section


def test_each_journey_starts_where_it_can_be_gone_on_with(visitor):
    page = Page(visitor.get("/"))
    assert page.link("Find it") == reverse("search")
    assert page.link("Map it reading by reading") == reverse("bench")
    assert page.link("paste the readings") == reverse("submit")
    assert page.link("Try it") == reverse("api-cables")
    assert page.link("Find it by a few readings") == reverse("which-cable")


def test_who_left_a_session_at_the_bench_finds_it_on_the_start_page(signed_in, mira):
    draft, other = DraftFactory(author=mira), DraftFactory(title="Lead of somebody else")
    section = Page(signed_in.get("/")).one("section", id="continue")
    assert draft.title in section.text
    assert other.title not in section.text
    assert Page(signed_in.get("/")).link(draft.title) == f"{reverse('bench')}#draft-{draft.pk}"
