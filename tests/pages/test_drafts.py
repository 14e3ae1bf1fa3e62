"""Drafts: what was refused waits for its author, with the reasons, and for nobody else."""

import pytest
from django.urls import reverse

from catalogue.models import Draft
from catalogue.usecases import maps
from tests.factories import DraftFactory
from tests.pages.page import Page
from tests.samples import as_json, contradicted_usb_map

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


def test_a_session_at_the_bench_is_told_from_a_refused_map_and_leads_there(signed_in, mira):
    refused, session = DraftFactory(author=mira), DraftFactory(author=mira, at_the_bench=True, title="Half a lead")
    assert "at the bench" in Page(signed_in.get(reverse("drafts"))).text
    page = Page(signed_in.get(reverse("draft", args=[session.pk])))
    assert page.link("Go on at the bench") == f"{reverse('bench')}#draft-{session.pk}"
    assert "Why it was not taken" not in page.text
    assert page.value("text") == session.text
    page = Page(signed_in.get(reverse("draft", args=[refused.pk])))
    assert page.link("Correct it at the bench") == f"{reverse('bench')}#draft-{refused.pk}"


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


@pytest.mark.parametrize("address", ["drafts", "draft"])
def test_a_draft_is_deleted_from_the_list_and_from_its_page(signed_in, mira, address):
    draft, other = DraftFactory(author=mira), DraftFactory(author=mira, title="Kept")
    page = Page(signed_in.get(reverse(address, args=[draft.pk] if address == "draft" else [])))
    delete = reverse("delete-draft", args=[draft.pk])
    assert page.one("form", action=delete)
    page = Page(signed_in.post(delete, follow=True))
    assert "The draft is deleted." in page.text
    assert list(Draft.objects.all()) == [other]


def test_nobody_deletes_the_drafts_of_others_or_by_a_mere_visit(signed_in, visitor, mira):
    theirs, mine = DraftFactory(), DraftFactory(author=mira)
    assert signed_in.post(reverse("delete-draft", args=[theirs.pk])).status_code == 404
    assert signed_in.get(reverse("delete-draft", args=[mine.pk])).status_code == 405
    assert visitor.post(reverse("delete-draft", args=[mine.pk])).status_code == 302
    assert Draft.objects.count() == 2


@pytest.mark.parametrize("text", [as_json(contradicted_usb_map()).decode(), '{"format": '])
def test_a_refused_map_beside_too_many_drafts_comes_back_whole_with_where_to_make_room(
    signed_in, mira, monkeypatch, text
):
    monkeypatch.setattr(maps, "MOST_DRAFTS", 2)
    DraftFactory.create_batch(2, author=mira)
    answer = signed_in.post(reverse("submit"), {"way": "document", "act": "submit", "text": text})
    page = Page(answer)
    assert answer.status_code == 422
    assert "not kept as a draft either" in page.text
    assert "Delete one on the page /drafts/ first" in page.text
    assert page.value("text") == text
    assert page.all("ul", class_="defects") or "r6 shows" in page.text
    assert "Nothing is lost: what you sent is kept" not in page.text
    assert Draft.objects.count() == 2
