"""Review pages: the queue, a decision with its reason, and what readers see of it."""

from dataclasses import replace

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse

from catalogue.models import Review, User
from catalogue.usecases import failures, maps, people
from tests.factories import FailureReportFactory, MapRevisionFactory, ReviewFactory
from tests.pages.page import Page
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db

WHY = "It is of another cable.\nSee the face."


@pytest.fixture
def reviewer(db):
    people.contributor("wren")
    people.appoint_reviewer("wren")
    client = Client()
    client.force_login(User.objects.get(username="wren"))
    return client


@pytest.fixture
def row(mira):
    return maps.submit_map(mira, as_json(usb_map())).map


def test_a_reviewer_finds_the_queue_from_their_account_and_decides(reviewer, row):
    account = Page(reviewer.get(reverse("account")))
    queue = Page(reviewer.get(account.link("What waits for review")))
    address = queue.link(str(row.cable))
    page = Page(reviewer.get(address))
    assert page.link("Open its page") == reverse("map", args=[row.cable.slug, 1])
    sent = {"decision": "approved", "reason": "", "seen": page.value("seen")}
    page = Page(reviewer.post(address, sent, follow=True))
    assert "Kept: the map is reviewed." in page.text
    assert "Nothing waits." in page.text
    assert Review.objects.get().reviewer.username == "wren"


def test_the_author_is_mailed_where_the_decision_can_be_answered(
    reviewer, mira, row, django_capture_on_commit_callbacks
):
    people.vouch_for_address(mira, "mira@example.invalid")
    with django_capture_on_commit_callbacks(execute=True):
        reviewer.post(reverse("review-map", args=[row.pk]), {"decision": "queried", "reason": WHY, "seen": "0"})
    (sent,) = mail.outbox
    assert sent.to == ["mira@example.invalid"]
    assert "It is of another cable." in sent.body
    assert "http://testserver/account/\n" in sent.body


def test_a_report_that_was_told_anew_shows_the_reviewer_what_it_said_before(reviewer, mira, row):
    report = FailureReportFactory(cable=row.cable, map=row, reporter=mira, words="smells of fish")
    anew = replace(failures.failure_of(report), words="smells of tar")
    failures.send_report(mira, row.cable, anew, str(report.pk))
    page = Page(reviewer.get(reverse("review-report", args=[report.pk])))
    (before,) = (each for each in page.all("details") if "What it said before" in each.text)
    assert "smells of fish" in before.text
    assert "smells of tar" not in before.text
    assert "smells of tar" in page.text


def test_a_report_is_told_whole_and_withdrawn_with_a_reason(reviewer, visitor, row):
    report = FailureReportFactory(cable=row.cable, map=row, words="smells of fish")
    address = reverse("review-report", args=[report.pk])
    waiting = Page(reviewer.get(reverse("review")))
    (listed,) = [item.text for item in waiting.all("li") if "failure report" in item.text]
    assert "A core is broken (open), main at 1.2 m." in listed
    assert "smells of fish" in Page(reviewer.get(address)).text
    assert "smells of fish" in Page(visitor.get(reverse("cable", args=[row.cable.slug]))).text
    reviewer.post(address, {"decision": "withdrawn", "reason": WHY.replace("\n", "\r\n"), "seen": "0"})
    assert "smells of fish" not in Page(visitor.get(reverse("cable", args=[row.cable.slug]))).text
    assert Review.objects.get().reason == WHY


def test_a_map_is_marked_until_it_is_reviewed_and_a_question_is_shown_with_it(visitor, row):
    address = reverse("cable", args=[row.cable.slug])
    assert "Not reviewed yet" in Page(visitor.get(address)).one("p", class_="byline").text
    ReviewFactory(map=row)
    assert "Not reviewed" not in Page(visitor.get(address)).text
    ReviewFactory(map=row, queried=True)
    assert "Questioned by a reviewer Was the screen read?" in Page(visitor.get(address)).text


def test_a_withdrawn_map_says_so_and_why_without_naming_it(reviewer, visitor, row):
    reviewer.post(reverse("review-map", args=[row.pk]), {"decision": "withdrawn", "reason": WHY, "seen": "0"})
    slug = row.cable.slug
    for address in (
        reverse("cable", args=[slug]),
        reverse("map", args=[slug, 1]),
        reverse("map-readings", args=[slug, 1]),
        reverse("report", args=[slug]),
    ):
        answer = visitor.get(address)
        assert answer.status_code == 410
        assert "was withdrawn by a reviewer" in Page(answer).text
        assert "It is of another cable. See the face." in Page(answer).text
        assert "Plotter" not in Page(answer).text
    assert "Plotter" not in Page(visitor.get(reverse("search"))).text
    assert "Plotter" not in Page(visitor.get(reverse("start"))).text
    assert "Plotter" not in Page(visitor.get(reverse("decisions"))).text
    assert reviewer.get(reverse("reviewed-document", args=[row.pk])).content == row.document.encode()


def test_a_withdrawal_is_taken_back_from_the_list_of_decisions(reviewer, visitor, row):
    withdrawn = ReviewFactory(map=row, withdrawn=True)
    address = Page(reviewer.get(reverse("decisions"))).link("decide anew")
    assert "decide anew" not in Page(visitor.get(reverse("decisions"))).text
    reviewer.post(address, {"decision": "approved", "reason": "", "seen": withdrawn.pk})
    assert visitor.get(reverse("cable", args=[row.cable.slug])).status_code == 200


def test_a_decision_without_its_reason_is_told_at_the_field_and_changes_nothing(reviewer, row):
    address = reverse("review-map", args=[row.pk])
    for sent, field in (
        ({"decision": "withdrawn", "reason": " ", "seen": "0"}, "reason"),
        ({"decision": "", "reason": "so", "seen": "0"}, "decision"),
        ({"decision": "not-reviewed", "reason": "so", "seen": "0"}, "decision"),
    ):
        answer = reviewer.post(address, sent)
        assert answer.status_code == 422
        assert Page(answer).one("div", id=f"id_{field}_error").text
    assert not Review.objects.exists()


def test_a_decision_that_came_meanwhile_is_shown_and_nothing_written_is_lost(reviewer, row):
    other = ReviewFactory(map=row, queried=True)
    answer = reviewer.post(reverse("review-map", args=[row.pk]), {"decision": "withdrawn", "reason": WHY, "seen": "0"})
    page = Page(answer)
    assert answer.status_code == 409
    assert "Was the screen read?" in page.text
    assert page.value("reason") == WHY
    assert page.value("seen") == str(other.pk)
    assert Review.objects.count() == 1


def test_ones_own_contribution_offers_no_decision_and_takes_none(reviewer):
    row = maps.submit_map(User.objects.get(username="wren"), as_json(usb_map())).map
    address = reverse("review-map", args=[row.pk])
    page = Page(reviewer.get(address))
    assert "Another person has to review it" in page.text
    assert not page.all("form", class_="sheet")
    answer = reviewer.post(address, {"decision": "approved", "reason": "", "seen": "0"})
    assert answer.status_code == 403
    assert "another person has to review it" in Page(answer).text
    assert not Review.objects.exists()


def test_who_is_no_reviewer_is_told_so_and_changes_nothing(signed_in, row):
    addresses = [reverse("review"), reverse("review-map", args=[row.pk])]
    for answer in (*map(signed_in.get, addresses), signed_in.post(addresses[1], {"decision": "approved", "seen": "0"})):
        assert answer.status_code == 403
        assert "Only reviewers see this" in Page(answer).text
    assert not Review.objects.exists()


def test_what_is_not_there_cannot_be_reviewed(reviewer):
    assert reviewer.get(reverse("review-map", args=[99])).status_code == 404
    assert reviewer.get(reverse("reviewed-document", args=[99])).status_code == 404


def test_everybody_reads_what_was_decided_but_not_by_whom(visitor, row):
    review = ReviewFactory(map=row, queried=True)
    page = Page(visitor.get(reverse("decisions")))
    assert "Was the screen read?" in page.text
    assert page.link(str(row.cable)) == reverse("map", args=[row.cable.slug, 1])
    assert review.reviewer.username not in page.text


@pytest.mark.parametrize("count", [1, 20])
def test_the_list_of_decisions_takes_one_statement(visitor, count, django_assert_num_queries):
    for _ in range(count):
        ReviewFactory(map=MapRevisionFactory())
    with django_assert_num_queries(1):
        visitor.get(reverse("decisions"))
