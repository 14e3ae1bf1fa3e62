"""The bench's page as it comes from the server; what it does is tested in a browser."""

import pytest
from django.urls import reverse

from tests.factories import DraftFactory
from tests.pages.page import Page

pytestmark = pytest.mark.django_db


def test_a_visitor_is_cautioned_and_told_what_to_do_without_scripts(visitor):
    page = Page(visitor.get(reverse("bench")))
    assert "Unplug both ends" in page.text
    assert page.link("send them on the submit page") == reverse("submit")
    assert "kept in this browser" in page.text


def test_a_person_goes_on_with_sessions_and_refused_maps_of_their_own(signed_in, mira):
    session = DraftFactory(author=mira, at_the_bench=True, title="Half a lead")
    refused = DraftFactory(author=mira, title="Refused lead")
    DraftFactory(author=mira, unreadable=True)
    DraftFactory(title="Theirs")
    page = Page(signed_in.get(reverse("bench")))
    assert page.link("Half a lead") == f"/bench/#draft-{session.pk}"
    assert page.link("Refused lead") == f"/bench/#draft-{refused.pk}"
    assert len(page.all("a", class_="row-title")) == 2


def test_with_nothing_but_unreadable_drafts_there_is_no_empty_list(signed_in, mira):
    DraftFactory(author=mira, unreadable=True)
    page = Page(signed_in.get(reverse("bench")))
    assert "hidden" in page.one("section", id="continue").attributes


def test_standard_connectors_come_with_their_rows_and_gaps(visitor):
    page = Page(visitor.get(reverse("bench")))
    rows = page.one("option", value="usb-c-plug").attributes["data-rows"]
    assert rows.split("/")[1].split() == ["B1", "B2", "B3", "B4", "B5", "_", "_", "B8", "B9", "B10", "B11", "B12"]


def test_the_page_costs_as_many_statements_for_many_drafts_as_for_one(signed_in, mira, django_assert_num_queries):
    DraftFactory(author=mira)
    with django_assert_num_queries(3):
        signed_in.get(reverse("bench"))
    DraftFactory.create_batch(12, author=mira)
    with django_assert_num_queries(3):
        signed_in.get(reverse("bench"))
