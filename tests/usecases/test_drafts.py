"""Drafts: a session is begun once however often it is sent, and one person keeps so many and no more."""

import pytest

from catalogue.core.problems import BadDocument, TooManyDrafts
from catalogue.models import Draft, MapRevision
from catalogue.usecases import drafts, maps, submissions
from tests.factories import DraftFactory, UserFactory
from tests.samples import as_json, contradicted_usb_map, usb_map

pytestmark = pytest.mark.django_db

BEGUN = as_json({"ends": [{"name": "A", "connector": "usb2-a"}], "readings": []})
UNREADABLE = b'{"format": '


@pytest.fixture
def author():
    return UserFactory()


@pytest.fixture
def full(author, monkeypatch):
    """An author with as many drafts as one may have: three, to keep the test short."""
    monkeypatch.setattr(maps, "MOST_DRAFTS", 3)
    DraftFactory.create_batch(3, author=author)
    return author


def test_a_session_that_is_sent_again_is_the_same_draft_as_it_is_by_now(author):
    draft, is_new = drafts.new_draft(author, BEGUN, "k1")
    assert is_new
    drafts.replace_draft(author, draft.pk, 1, as_json(usb_map()))
    again, is_new = drafts.new_draft(author, BEGUN, "k1")
    assert (again, is_new, again.version) == (draft, False, 2)
    assert again.text == as_json(usb_map()).decode()


def test_the_sessions_of_two_people_may_have_one_name(author):
    assert drafts.new_draft(author, BEGUN, "k1")[0] != drafts.new_draft(UserFactory(), BEGUN, "k1")[0]


def test_another_session_and_one_without_a_name_are_drafts_of_their_own(author):
    for session in ("k1", "k2", "", ""):
        assert drafts.new_draft(author, BEGUN, session)[1]
    assert Draft.objects.count() == 4


def test_who_has_as_many_drafts_as_are_kept_begins_no_session_and_is_told_where_to_delete_one(full):
    with pytest.raises(TooManyDrafts) as told:
        drafts.new_draft(full, BEGUN, "k1")
    assert "/drafts/" in told.value.text
    assert Draft.objects.count() == 3
    full.drafts.first().delete()
    assert drafts.new_draft(full, BEGUN, "k1")[1]


def test_a_session_that_is_there_already_needs_no_room(full):
    full.drafts.filter(pk=full.drafts.last().pk).update(session="k1")
    assert not drafts.new_draft(full, BEGUN, "k1")[1]


def test_the_drafts_of_others_do_not_count(full):
    assert drafts.new_draft(UserFactory(), BEGUN)[1]


@pytest.mark.parametrize("raw", [as_json(contradicted_usb_map()), UNREADABLE])
def test_a_refused_map_that_cannot_be_kept_is_told_with_why_it_was_refused(full, raw):
    with pytest.raises(TooManyDrafts) as told:
        maps.submit_map(full, raw)
    assert told.value.findings or told.value.defects
    assert Draft.objects.count() == 3


def test_a_good_map_needs_no_room(full):
    assert maps.submit_map(full, as_json(usb_map())).map == MapRevision.objects.get()


def test_the_same_refused_text_sent_again_needs_no_more_room(author, monkeypatch):
    monkeypatch.setattr(maps, "MOST_DRAFTS", 1)
    for _ in range(2):
        assert maps.submit_map(author, as_json(contradicted_usb_map())).draft == Draft.objects.get()


@pytest.mark.parametrize("raw", [as_json(contradicted_usb_map()), UNREADABLE])
def test_a_draft_is_corrected_and_refused_again_in_its_own_room(full, raw):
    draft = full.drafts.first()
    try:
        submissions.submit_again(full, draft.pk, draft.version, raw)
    except BadDocument:
        assert raw == UNREADABLE
    assert Draft.objects.count() == 3
    assert not Draft.objects.filter(pk=draft.pk).exists()
    assert Draft.objects.filter(text=raw.decode()).exists()


def test_a_refused_text_beside_a_draft_that_is_gone_finds_no_room_either(full):
    with pytest.raises(TooManyDrafts):
        submissions.submit_again(full, 0, 1, UNREADABLE)
    assert Draft.objects.count() == 3


@pytest.mark.parametrize("raw", [as_json(usb_map()), as_json(contradicted_usb_map())])
def test_correcting_an_older_text_throws_away_nothing_that_was_written_since(author, raw):
    draft, _ = drafts.new_draft(author, BEGUN)
    drafts.replace_draft(author, draft.pk, 1, b'{"readings": [], "written": "since"}')
    submissions.submit_again(author, draft.pk, 1, raw)
    draft.refresh_from_db()
    assert draft.text == '{"readings": [], "written": "since"}'
