"""Decisions reach who contributed: by a mail that may fail, and by a notice that does not."""

import logging
from smtplib import SMTPRecipientsRefused

import pytest
from allauth.account.models import EmailAddress
from django.core import mail

from catalogue.core.problems import Conflict
from catalogue.core.reviewing import DECISIONS, Kind, Standing
from catalogue.models import Review, User
from catalogue.usecases import accounts, notices, people, reviews
from tests.factories import FailureReportFactory, MapRevisionFactory, ReviewFactory, UserFactory

pytestmark = pytest.mark.django_db

PAGE = "https://corelore.invalid/account/"
ADDRESS = "mira@example.invalid"
WHY = "Was the screen read?\nSee the face."


@pytest.fixture
def mira():
    user = UserFactory(username="mira")
    people.vouch_for_address(user, ADDRESS)
    return user


@pytest.fixture
def reviewer():
    people.contributor("wren")
    people.appoint_reviewer("wren")
    return User.objects.get(username="wren")


@pytest.fixture
def decide(reviewer, django_capture_on_commit_callbacks):
    """Decides, and lets happen what waits for the commit."""

    def decided(row, decision=Standing.QUERIED, reason=WHY, kind=Kind.MAP, seen=0):
        with django_capture_on_commit_callbacks(execute=True):
            return reviews.decide(reviewer, kind, row.pk, decision, reason, seen, PAGE)

    return decided


def test_a_decision_is_mailed_with_its_reason_and_where_to_answer(mira, decide):
    row = MapRevisionFactory(author=mira, cable__maker="Orrin", cable__model="PL-2")
    decide(row)
    (sent,) = mail.outbox
    assert sent.to == [ADDRESS]
    assert sent.subject == "Your map of Orrin PL-2 was questioned"
    assert "    Was the screen read?\n    See the face.\n" in sent.body
    assert PAGE in sent.body
    assert "wren" not in sent.subject + sent.body


@pytest.mark.parametrize("decision", DECISIONS)
@pytest.mark.parametrize("kind", Kind)
def test_each_decision_on_either_kind_is_told(mira, decide, kind, decision):
    row = MapRevisionFactory(author=mira) if kind is Kind.MAP else FailureReportFactory(reporter=mira)
    decide(row, decision, kind=kind)
    assert len(mail.outbox) == len(notices.notices_for(mira)) == 1


def test_an_approval_without_a_reason_claims_none(mira, decide):
    decide(MapRevisionFactory(author=mira), Standing.APPROVED, reason="")
    assert "reason" not in mail.outbox[0].body


def test_a_cable_named_over_two_lines_makes_a_subject_of_one(mira, decide):
    decide(MapRevisionFactory(author=mira, cable__maker="Orrin\nBcc: all@example.invalid"))
    assert "\n" not in mail.outbox[0].subject
    assert mail.outbox[0].recipients() == [ADDRESS]


def test_nothing_is_mailed_before_the_decision_is_kept(mira, reviewer, django_capture_on_commit_callbacks):
    row = MapRevisionFactory(author=mira)
    ReviewFactory(map=row)
    with django_capture_on_commit_callbacks(execute=True) as callbacks, pytest.raises(Conflict):
        reviews.decide(reviewer, Kind.MAP, row.pk, Standing.QUERIED, WHY, 0, PAGE)
    assert not callbacks
    with django_capture_on_commit_callbacks() as callbacks:
        reviews.decide(reviewer, Kind.MAP, row.pk, Standing.QUERIED, WHY, Review.objects.get().pk, PAGE)
    assert (len(callbacks), mail.outbox) == (1, [])


def unverified(user):
    EmailAddress.objects.update(verified=False)


def without_address(user):
    EmailAddress.objects.all().delete()


def unwilling(user):
    notices.choose_mail(user, wants_mail=False)


@pytest.mark.parametrize("become", [unverified, without_address, unwilling])
def test_who_wants_no_mail_or_cannot_have_any_is_told_by_the_account_alone(mira, decide, become):
    become(mira)
    review = decide(MapRevisionFactory(author=mira))
    assert mail.outbox == []
    assert [notice.review for notice in accounts.account_of(mira).notices] == [review]


def test_of_several_addresses_the_first_verified_one_is_written_to(mira, decide):
    EmailAddress.objects.create(user=mira, email="new@example.invalid", verified=False)
    EmailAddress.objects.create(user=mira, email="other@example.invalid", verified=True)
    decide(MapRevisionFactory(author=mira))
    assert [sent.to for sent in mail.outbox] == [[ADDRESS]]


def test_a_decision_on_what_nobody_answers_for_any_more_is_kept(decide):
    decide(MapRevisionFactory(author=None))
    assert Review.objects.count() == 1
    assert mail.outbox == []


@pytest.mark.parametrize(
    "trouble", [SMTPRecipientsRefused({ADDRESS: (550, b"no such user")}), TimeoutError(ADDRESS), RuntimeError(ADDRESS)]
)
def test_a_mail_that_fails_loses_no_decision_and_puts_no_address_into_the_log(
    mira, decide, monkeypatch, caplog, trouble
):
    def refuse(*args, **kwargs):
        raise trouble

    monkeypatch.setattr(notices, "send_mail", refuse)
    with caplog.at_level(logging.DEBUG):
        review = decide(MapRevisionFactory(author=mira))
    assert Review.objects.get() == review
    assert [notice.review for notice in notices.notices_for(mira)] == [review]
    assert f"The mail about review {review.pk} could not be sent: {type(trouble).__name__}" in caplog.text
    assert ADDRESS not in caplog.text
    assert "mira" not in caplog.text


def test_what_was_noted_is_told_no_more_and_what_comes_later_is(mira):
    first, second = (ReviewFactory(contributor=mira, queried=True) for _ in range(2))
    assert [notice.review for notice in notices.notices_for(mira)] == [first, second]
    notices.note_decisions(mira, first.pk)
    mira.refresh_from_db()
    assert [notice.review for notice in notices.notices_for(mira)] == [second]
    notices.note_decisions(mira, second.pk)
    notices.note_decisions(mira, first.pk)
    mira.refresh_from_db()
    assert notices.notices_for(mira) == ()


def test_the_decisions_on_others_and_ones_own_new_tellings_are_no_notices(mira):
    ReviewFactory(contributor=UserFactory())
    report = FailureReportFactory(reporter=mira)
    ReviewFactory(map=None, report=report, decision="not-reviewed", reason="anew", reviewer=None, contributor=mira)
    assert notices.notices_for(mira) == ()
