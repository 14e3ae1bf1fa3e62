"""Review: nobody reviews their own, every decision is kept with its reason, and what is withdrawn is seen nowhere."""

import pytest
from django.db import IntegrityError, transaction

from catalogue.core.failures import Ending, Failure, FailureKind
from catalogue.core.problems import BadRequest, Conflict, NotAllowed, NotFound, Withdrawn
from catalogue.core.reviewing import DECISIONS, LONGEST_REASON, Kind, Standing
from catalogue.models import Draft, FailureReport, MapRevision, Review, User
from catalogue.models import reviews as rows
from catalogue.usecases import (
    cables,
    confirmations,
    decisions,
    drafts,
    failures,
    guides,
    maps,
    matches,
    people,
    reviews,
    wanted,
)
from tests.factories import FailureReportFactory, MapRevisionFactory, ReviewFactory, UserFactory
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db

WHY = "It is of another cable."


@pytest.fixture
def author():
    return User.objects.create_user("mira")


@pytest.fixture
def reviewer():
    User.objects.create_user("wren")
    people.appoint_reviewer("wren")
    return User.objects.get(username="wren")


@pytest.fixture
def first(author):
    return maps.submit_map(author, as_json(usb_map())).map


@pytest.fixture
def second(author, first):
    return maps.submit_map(author, as_json(usb_map(marks=[{"kind": "kink", "section": "main", "at_m": 1.0}]))).map


def decide(reviewer, row, decision, reason=WHY, seen=None):
    kind = Kind.MAP if isinstance(row, MapRevision) else Kind.REPORT
    last = reviews.last_review(type(row).objects.get(pk=row.pk))
    seen = (last.pk if last else 0) if seen is None else seen
    return reviews.decide(reviewer, kind, row.pk, decision, reason, seen, account_page="")


def test_an_approval_needs_no_reason_and_takes_the_map_off_the_queue(reviewer, first):
    assert [each.number for each in reviews.queue_for(reviewer).waiting] == [first.pk]
    decide(reviewer, first, Standing.APPROVED, reason="")
    assert reviews.queue_for(reviewer).waiting == ()
    assert reviews.reviewable(reviewer, Kind.MAP, first.pk).standing is Standing.APPROVED
    assert maps.map_by_id(first.pk) == first


def test_what_is_questioned_is_still_shown_and_waits_in_a_queue_of_its_own(reviewer, first):
    decide(reviewer, first, Standing.QUERIED, "Was the screen read?")
    queue = reviews.queue_for(reviewer)
    assert queue.waiting == ()
    assert [(each.number, each.review.reason) for each in queue.questioned] == [(first.pk, "Was the screen read?")]
    assert list(maps.newest_maps()) == [first]


def test_every_decision_is_kept_and_the_last_one_counts(reviewer, first):
    for decision in (Standing.WITHDRAWN, Standing.QUERIED, Standing.APPROVED):
        decide(reviewer, first, decision)
    found = reviews.reviewable(reviewer, Kind.MAP, first.pk)
    assert [review.decision for review in found.history] == ["approved", "queried", "withdrawn"]
    assert found.standing is Standing.APPROVED
    assert list(maps.newest_maps()) == [first]


@pytest.mark.parametrize("decision", [Standing.QUERIED, Standing.WITHDRAWN])
@pytest.mark.parametrize("reason", ["", "  \n ", "x" * (LONGEST_REASON + 1), "a\u202eb", "a\0b"])
def test_anything_but_an_approval_needs_a_reason_that_can_be_read(reviewer, first, decision, reason):
    with pytest.raises(BadRequest) as refusal:
        decide(reviewer, first, decision, reason)
    assert [defect.where for defect in refusal.value.defects] == ["/reason"]
    assert not Review.objects.exists()


def test_not_reviewed_is_no_decision(reviewer, first):
    with pytest.raises(BadRequest):
        decide(reviewer, first, Standing.UNREVIEWED)
    assert not Review.objects.exists()


@pytest.mark.parametrize("decision", DECISIONS)
def test_nobody_reviews_their_own(author, first, decision):
    people.appoint_reviewer("mira")
    author = User.objects.get(pk=author.pk)
    own = FailureReportFactory(cable=first.cable, reporter=author)
    assert reviews.queue_for(author).waiting == ()
    for row in (first, own):
        with pytest.raises(NotAllowed):
            decide(author, row, decision)
    assert not Review.objects.exists()
    assert list(maps.newest_maps()) == [first]


def test_the_database_itself_refuses_a_review_of_ones_own(author, first):
    with pytest.raises(IntegrityError), transaction.atomic():
        ReviewFactory(map=first, reviewer=author, contributor=author)
    ReviewFactory(map=first, contributor=author)


@pytest.mark.parametrize(
    "wrong",
    [
        {"reason": "", "decision": "withdrawn"},
        {"decision": "not-reviewed", "reason": "so"},
        {"decision": "undecided", "reason": "so"},
        {"map": None},
    ],
)
def test_the_database_refuses_a_review_that_says_nothing(wrong):
    with pytest.raises(IntegrityError), transaction.atomic():
        ReviewFactory(**wrong)


def test_the_words_of_the_rows_are_those_of_the_core():
    assert tuple(standing.value for standing in DECISIONS) == rows.DECISIONS
    assert Standing.UNREVIEWED.value == rows.TOLD_ANEW


def test_somebody_who_is_no_reviewer_sees_no_queue_and_decides_nothing(first):
    person = UserFactory()
    for attempt in (
        lambda: reviews.queue_for(person),
        lambda: reviews.reviewable(person, Kind.MAP, first.pk),
        lambda: decide(person, first, Standing.WITHDRAWN),
    ):
        with pytest.raises(NotAllowed):
            attempt()
    assert not Review.objects.exists()
    assert list(maps.newest_maps()) == [first]


def test_a_dismissed_reviewer_decides_no_more_and_their_decisions_stay(reviewer, first):
    decide(reviewer, first, Standing.WITHDRAWN)
    people.dismiss_reviewer("wren")
    dismissed = User.objects.get(pk=reviewer.pk)
    with pytest.raises(NotAllowed):
        decide(dismissed, first, Standing.APPROVED)
    assert not maps.newest_maps().exists()


@pytest.mark.parametrize("kind", Kind)
def test_what_is_not_there_cannot_be_reviewed(reviewer, kind):
    with pytest.raises(NotFound):
        reviews.decide(reviewer, kind, 99, Standing.APPROVED, "", 0, account_page="")


def test_two_reviewers_at_once_do_not_decide_over_each_other(reviewer, first):
    decide(reviewer, first, Standing.QUERIED)
    with pytest.raises(Conflict):
        decide(reviewer, first, Standing.WITHDRAWN, seen=0)
    assert Review.objects.count() == 1
    assert list(maps.newest_maps()) == [first]


def test_a_withdrawn_map_gives_way_to_the_one_before_it(reviewer, first, second):
    decide(reviewer, second, Standing.WITHDRAWN)
    cable = cables.cable_by_slug(first.cable.slug)
    assert cable.latest == first
    assert list(cables.revisions_of(cable)) == [first]
    assert list(maps.newest_maps()) == [first]
    with pytest.raises(Withdrawn) as told:
        maps.map_by_id(second.pk)
    assert WHY in told.value.text
    with pytest.raises(Withdrawn):
        maps.map_of_cable(first.cable.slug, 2)
    with pytest.raises(Withdrawn):
        maps.document_bytes(second.pk)

    decide(reviewer, second, Standing.APPROVED, "")
    assert cables.cable_by_slug(first.cable.slug).latest == second
    assert maps.document_bytes(second.pk)[1] == second.content_hash


def test_a_cable_whose_every_map_is_withdrawn_is_found_nowhere_and_comes_back_with_one(reviewer, first):
    decide(reviewer, first, Standing.WITHDRAWN)
    assert not cables.search_cables().cables.exists()
    assert not cables.search_cables("plotter").cables.exists()
    assert not cables.search_cables(connector="usb2-a").cables.exists()
    with pytest.raises(Withdrawn):
        cables.cable_by_slug(first.cable.slug)

    decide(reviewer, first, Standing.APPROVED, "")
    assert cables.search_cables("plotter", connector="usb2-a").cables.get() == first.cable
    assert cables.cable_by_slug(first.cable.slug).devices == usb_map()["cable"]["devices"]


def test_a_withdrawn_map_matches_no_plug_even_when_another_comes_back_at_the_same_time(reviewer, author, first):
    asked = as_json(
        {
            "ends": usb_map()["ends"],
            "readings": [{"id": "r1", "mode": "beep", "red": "HOST:1", "black": "PLOTTER:1", "beeps": True}],
        }
    )
    other = maps.submit_map(author, as_json(usb_map(cable={"maker": "Invented", "model": "B"}))).map

    def found():
        return {each.map.pk for each in matches.find_maps(asked).found}

    assert found() == {first.pk, other.pk}
    decide(reviewer, first, Standing.WITHDRAWN)
    assert found() == {other.pk}
    decide(reviewer, first, Standing.APPROVED)
    decide(reviewer, other, Standing.WITHDRAWN)
    assert found() == {first.pk}


def test_a_withdrawn_map_is_not_confirmed_nor_pooled(reviewer, first):
    decide(reviewer, first, Standing.WITHDRAWN)
    with pytest.raises(Withdrawn):
        confirmations.confirm_map(UserFactory(), first.pk, b'{"readings": []}')
    assert confirmations.variants_of(first.cable).pool.variants == ()


def test_a_withdrawn_report_is_told_counted_and_searched_no_more(reviewer, first):
    report = FailureReportFactory(cable=first.cable, map=first, words="smells of fish", given_up=True)
    maps.show_newest_maps([first.cable])
    assert cables.search_cables("fish", symptom="no-power").cables.exists()

    decide(reviewer, report, Standing.WITHDRAWN)
    cable = cables.cable_by_slug(first.cable.slug)
    assert cable.failure_count == 0
    assert not failures.failures_of(cable).exists()
    assert failures.points_of(cable) == ()
    assert guides.guide_of(cable, cable.latest).reports == ()
    assert list(decisions._told(FailureReport.objects.shown())) == []
    assert not cables.search_cables("fish").cables.exists()
    assert not cables.search_cables(symptom="no-power").cables.exists()
    assert FailureReport.objects.get().words == "smells of fish"

    decide(reviewer, report, Standing.APPROVED, "")
    assert cables.search_cables("fish", symptom="no-power").cables.get().failure_count == 1


def test_the_chance_of_a_mend_counts_no_withdrawn_report(reviewer, first):
    report = FailureReportFactory(cable=first.cable, map=first)
    here, _ = decisions._reported(decisions.Option.MEND, first.cable, None)
    assert here.succeeded == 1
    decide(reviewer, report, Standing.WITHDRAWN)
    assert decisions._reported(decisions.Option.MEND, first.cable, None) == (decisions.NO_OUTCOMES,) * 2


def test_sending_a_withdrawn_map_again_keeps_it_as_a_draft_with_the_reason(reviewer, author, first):
    decide(reviewer, first, Standing.WITHDRAWN)
    with pytest.raises(Conflict):
        maps.submit_map(author, as_json(usb_map()))
    draft = Draft.objects.get(author=author)
    assert WHY in maps.defects_of(draft)[0].message
    assert not maps.newest_maps().exists()

    changed = usb_map(marks=[{"kind": "kink", "section": "main", "at_m": 1.0}])
    better = maps.submit_map(author, as_json(changed)).map
    assert (better.number, cables.cable_by_slug(first.cable.slug).latest) == (2, better)


def test_a_session_at_the_bench_that_comes_to_a_withdrawn_map_stays_a_session(reviewer, author, first):
    decide(reviewer, first, Standing.WITHDRAWN)
    draft, _ = drafts.new_draft(author, as_json(usb_map()))
    with pytest.raises(Conflict) as told:
        drafts.submit_draft(author, draft.pk, None, as_json(usb_map()))
    assert WHY in told.value.defects[0].message
    assert list(Draft.objects.all()) == [draft]
    assert not maps.newest_maps().exists()


def test_the_document_of_a_withdrawn_map_is_for_its_author_and_reviewers(reviewer, author, first):
    decide(reviewer, first, Standing.WITHDRAWN)
    assert reviews.document_for(author, first.pk) == reviews.document_for(reviewer, first.pk) == first.document.encode()
    with pytest.raises(NotFound):
        reviews.document_for(UserFactory(), first.pk)


def test_rebuilding_a_withdrawn_map_shows_nothing(reviewer, first):
    decide(reviewer, first, Standing.WITHDRAWN)
    maps.rebuild_derived(maps.kept_map(first.pk))
    assert not cables.search_cables().cables.exists()


@pytest.mark.parametrize("decision", [None, Standing.APPROVED, Standing.QUERIED])
def test_a_report_that_its_author_tells_anew_waits_to_be_reviewed_again(reviewer, author, first, decision):
    cable = cables.cable_by_slug(first.cable.slug)
    told = failures.report_failure(author, cable, Failure(FailureKind.CORE_OPEN, Ending.MENDED, section="main"))
    if decision:
        decide(reviewer, told, decision)
    seen = reviews.reviewable(reviewer, Kind.REPORT, told.pk).seen
    anew = Failure(FailureKind.CORE_OPEN, Ending.GIVEN_UP, section="main")
    assert failures.send_report(author, cable, anew, str(told.pk)).outcome is failures.Outcome.TOLD_ANEW
    queue = reviews.queue_for(reviewer)
    assert (Kind.REPORT, told.pk) in [(each.kind, each.number) for each in queue.waiting]
    assert queue.questioned == ()
    found = reviews.reviewable(reviewer, Kind.REPORT, told.pk)
    assert (found.standing, found.failure) == (Standing.UNREVIEWED, anew)
    assert [telling.failure.ending for telling in found.told_before] == [Ending.MENDED]
    assert [review.decision for review in found.history[1:]] == ([decision.value] if decision else [])
    assert [review.decision for review in reviews.recent_decisions()] == ([decision.value] if decision else [])
    assert list(failures.failures_of(cable)) == [told]
    # Who has only seen the words of before decides nothing.
    with pytest.raises(Conflict):
        decide(reviewer, told, Standing.APPROVED, "", seen=seen)
    decide(reviewer, told, Standing.APPROVED, "")
    assert (Kind.REPORT, told.pk) not in [(each.kind, each.number) for each in reviews.queue_for(reviewer).waiting]


def test_telling_a_withdrawn_report_anew_does_not_bring_it_back(reviewer, author, first):
    cable = cables.cable_by_slug(first.cable.slug)
    told = failures.report_failure(author, cable, Failure(FailureKind.CORE_OPEN, Ending.MENDED, section="main"))
    decide(reviewer, told, Standing.WITHDRAWN)
    with pytest.raises(BadRequest) as refusal:
        failures.send_report(author, cable, Failure(FailureKind.CORE_OPEN, Ending.GIVEN_UP), str(told.pk))
    assert [defect.where for defect in refusal.value.defects] == ["/event"]
    told.refresh_from_db()
    assert told.ending == Ending.MENDED
    assert not failures.failures_of(cable).exists()


def test_a_cable_whose_every_map_is_withdrawn_is_wanted_again(reviewer, first):
    named = usb_map()["cable"]
    assert wanted.ask_for(named["maker"], named["model"], "", "somebody").slug == first.cable.slug
    decide(reviewer, first, Standing.WITHDRAWN)
    assert wanted.ask_for(named["maker"], named["model"], "", "somebody").slug == ""
    assert [each.identity for each in wanted.most_wanted()] == [first.cable.identity]


def test_a_withdrawn_cable_is_no_near_miss_of_a_search(reviewer, first):
    asked = cables.search_cables("plotter nowhere")
    assert list(cables.nearest_to(asked)) == [first.cable]
    decide(reviewer, first, Standing.WITHDRAWN)
    assert list(cables.nearest_to(cables.search_cables("plotter nowhere"))) == []


def test_the_decisions_that_everybody_reads_do_not_name_what_is_withdrawn(reviewer, first):
    report = FailureReportFactory(cable=first.cable, map=first)
    decide(reviewer, report, Standing.WITHDRAWN)
    decide(reviewer, first, Standing.APPROVED, "")
    told = {bool(each.map_id): bool(each.is_hidden) for each in reviews.recent_decisions()}
    assert told == {True: False, False: True}


@pytest.mark.parametrize("count", [1, 30])
def test_the_queue_takes_as_many_statements_for_many_as_for_one(reviewer, count, django_assert_num_queries):
    ReviewFactory(queried=True)
    for _ in range(count):
        FailureReportFactory()
    with django_assert_num_queries(9):
        queue = reviews.queue_for(reviewer)
    assert queue.has_more is (count >= reviews.IN_A_QUEUE)


def test_a_document_is_asked_for_by_the_same_rule_as_everything_else():
    for decisions_made in ((), ("withdrawn",), ("withdrawn", "approved"), ("queried", "withdrawn"), ("approved",)):
        row = MapRevisionFactory()
        for decision in decisions_made:
            ReviewFactory(map=row, decision=decision, reason="so")
        is_shown = MapRevision.objects.shown().filter(pk=row.pk).exists()
        assert (maps.store.content_hash_of(row.pk) is not None) is is_shown
        assert is_shown is (not decisions_made or decisions_made[-1] != "withdrawn")
