"""Drafts: what was refused waits for its author, with the reasons, and for nobody else."""

import pytest
from django.urls import reverse

from tests.factories import DraftFactory
from tests.pages.page import Page

pytestmark = pytest.mark.django_db


def test_a_person_sees_their_own_drafts_and_no_others(signed_in, mira):
    mine, theirs = DraftFactory(author=mira, title="Mine"), DraftFactory(title="Theirs")
    page = Page(signed_in.get(reverse("drafts")))
    assert page.link("Mine") == reverse("draft", args=[mine.pk])
    assert "Theirs" not in page.text
    assert signed_in.get(reverse("draft", args=[theirs.pk])).status_code == 404


def test_a_draft_shows_its_text_with_the_reasons_on_their_lines(signed_in, mira):
    draft = DraftFactory(author=mira)
    page = Page(signed_in.get(reverse("draft", args=[draft.pk])))
    assert page.value("text") == draft.text
    assert "r6 is over limit" in page.text
    marked = " ".join(page.marked_lines().values())
    assert '"id": "r6"' in marked
    assert '"id": "r1"' in marked
    assert page.value("draft") == str(draft.pk)


def test_a_draft_that_could_not_be_read_shows_where(signed_in, mira):
    draft = DraftFactory(author=mira, unreadable=True)
    page = Page(signed_in.get(reverse("draft", args=[draft.pk])))
    assert "The text ends early. Send all of it." in page.text
    assert page.marked_lines().keys() == {1}


def test_without_drafts_the_page_says_what_they_are_for(signed_in):
    page = Page(signed_in.get(reverse("drafts")))
    assert page.link("Submit a map") == reverse("submit")
    assert "You have none." in page.text


@pytest.mark.parametrize("address", ["/drafts/", "/drafts/1/"])
def test_somebody_signed_out_is_asked_to_sign_in_and_led_back(visitor, address):
    answer = visitor.get(address)
    assert answer.status_code == 302
    assert answer["Location"] == f"{reverse('sign-in')}?next={address}"


def test_the_list_costs_as_many_statements_for_many_drafts_as_for_one(signed_in, mira, django_assert_num_queries):
    DraftFactory(author=mira)
    with django_assert_num_queries(3):
        signed_in.get(reverse("drafts"))
    DraftFactory.create_batch(12, author=mira)
    with django_assert_num_queries(3):
        signed_in.get(reverse("drafts"))
