"""Review of contributions by others: what waits, one decision, what was decided, and what is withdrawn.

What a withdrawal hides is said by `shown` of `catalogue.models.reviews`, which every list, search and count asks.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any

from django.db import transaction
from django.db.models import BooleanField, ExpressionWrapper, Q, QuerySet
from django.utils import timezone

from catalogue import store
from catalogue.core.failures import Failure, Telling
from catalogue.core.findings import Finding
from catalogue.core.problems import BadRequest, Conflict, NotAllowed, NotFound
from catalogue.core.reviewing import DECISIONS, Kind, Standing, decision_defects
from catalogue.models import Cable, FailureReport, MapRevision, Review, User
from catalogue.models.reviews import Reviewed, withdrawn
from catalogue.usecases.changes import feed_again
from catalogue.usecases.maps import show_newest_maps
from catalogue.usecases.notices import mail_author

IN_A_QUEUE = 25
"""How many of each kind a reviewer sees at once, the oldest first."""

PERMISSION = "catalogue.review"

Contribution = MapRevision | FailureReport


@dataclass(frozen=True, slots=True)
class Waiting:
    """A contribution as the queue names it; `failure` of a report, since a cable may have many."""

    kind: Kind
    number: int
    cable: str
    contributor: str
    made_at: datetime
    review: Review | None
    failure: Failure | None


@dataclass(frozen=True, slots=True)
class Queue:
    """What others contributed and nobody reviewed yet, and what was questioned, each by kind and then oldest first.

    `has_more` says that more waits than is listed.
    """

    waiting: tuple[Waiting, ...]
    questioned: tuple[Waiting, ...]
    has_more: bool


@dataclass(frozen=True)
class Reviewable:
    """All that a reviewer needs of one contribution; `tellings` of a report, oldest first, `findings` of a map."""

    kind: Kind
    row: Contribution
    contributor: str
    standing: Standing
    history: tuple[Review, ...]
    is_own: bool
    tellings: tuple[Telling, ...]
    findings: tuple[Finding, ...]

    @property
    def failure(self) -> Failure | None:
        """What a report says now."""
        return self.tellings[-1].failure if self.tellings else None

    @property
    def told_before(self) -> tuple[Telling, ...]:
        """What a report said before, newest first."""
        return self.tellings[-2::-1]

    @property
    def seen(self) -> int:
        """The number of the last review, by which it shows whether another one came meanwhile; 0 for none."""
        return self.history[0].pk if self.history else 0


def may_review(person: User) -> bool:
    return person.has_perm(PERMISSION)


def queue_for(reviewer: User) -> Queue:
    """What waits for this reviewer, whose own contributions are left to others. Raises NotAllowed."""
    _require_reviewer(reviewer)
    maps = MapRevision.objects.exclude(author=reviewer).select_related("cable", "author")
    maps = maps.defer("document", "wiring", "findings")
    reports = FailureReport.objects.exclude(reporter=reviewer).select_related("cable", "reporter")
    new = [*_oldest(maps.waiting()), *_oldest(reports.waiting())]
    questioned = [*_oldest(maps.questioned()), *_oldest(reports.questioned())]
    return Queue(
        tuple(map(_waiting, new)),
        tuple(map(_waiting, questioned)),
        has_more=any(len(rows) >= IN_A_QUEUE for rows in (new, questioned)),
    )


def reviewable(reviewer: User, kind: Kind, number: int) -> Reviewable:
    """One contribution with the history of its reviews, newest first. Raises NotAllowed or NotFound."""
    _require_reviewer(reviewer)
    row = _contribution(kind, number)
    history = tuple(row.reviews.select_related("reviewer").order_by("-pk"))
    return Reviewable(
        kind=kind,
        row=row,
        contributor=_name(row),
        standing=store.standing_of(history[0] if history else None),
        history=history,
        is_own=store.contributor_of(row) == reviewer,
        tellings=store.tellings_of(row) if isinstance(row, FailureReport) else (),
        findings=store.findings_of(row) if isinstance(row, MapRevision) else (),
    )


def decide(
    reviewer: User, kind: Kind, number: int, decision: Standing, reason: str, seen: int, account_page: str
) -> Review:
    """Keep a decision on one contribution, show or hide what it is about, and tell its author.

    `seen` is the number of the last review that the reviewer knows of, 0 for none; `account_page` the whole address
    of the page where authors see decisions and can answer, without which no mail is sent. Raises NotAllowed for
    somebody who is no reviewer and for one's own contribution, NotFound, BadRequest for a decision without its
    reason, and Conflict when another review came meanwhile. Then nothing is changed.
    """
    _require_reviewer(reviewer)
    if defects := decision_defects(decision, reason):
        raise BadRequest("The decision cannot be kept. Nothing was changed.", defects)
    row = _contribution(kind, number)
    if store.contributor_of(row) == reviewer:
        raise NotAllowed("This is your own contribution, so another person has to review it. Nothing was changed.")
    with transaction.atomic():
        cable = Cable.objects.select_for_update().get(pk=row.cable_id)
        before = store.last_review(row)
        if (before.pk if before else 0) != seen:
            raise Conflict("Another decision came meanwhile; it is listed here. Nothing of yours was stored yet.")
        review = store.add_review(row, reviewer, decision, reason.strip(), timezone.now())
        if Standing.WITHDRAWN in (decision, store.standing_of(before)):
            show_newest_maps([cable])
        if store.standing_of(before) is Standing.WITHDRAWN and decision is not Standing.WITHDRAWN:
            feed_again(cable)
        if account_page:
            transaction.on_commit(partial(mail_author, review, account_page))
    return review


def recent_decisions() -> QuerySet[Review]:
    """All decisions, newest first, each with its cable, for everybody to read.

    `is_hidden` tells that what was decided on is not shown now, and so not to be named either.
    """
    hidden = Q(map__in=withdrawn("map")) | Q(report__in=withdrawn("report")) | Q(report__cable__latest=None, map=None)
    known = Review.objects.filter(decision__in=DECISIONS).select_related("map__cable", "report__cable")
    known = known.defer("map__document", "map__wiring", "map__findings")
    return known.annotate(is_hidden=ExpressionWrapper(hidden, output_field=BooleanField())).order_by("-pk")


def document_for(person: User, map_id: int) -> bytes:
    """A map's document, also when it is withdrawn, for reviewers and its author. Raises NotFound for anybody else."""
    row = MapRevision.objects.filter(pk=map_id).first()
    if row is None or not (row.author_id == person.pk or may_review(person)):
        raise NotFound(f"There is no map {map_id} that is yours to see.")
    return row.document.encode()


def last_review(row: Contribution) -> Review | None:
    return store.last_review(row)


def standing_of(review: Review | None) -> Standing:
    return store.standing_of(review)


def _require_reviewer(person: User) -> None:
    if not may_review(person):
        raise NotAllowed("Only reviewers see this. The people who run this site appoint them; ask them.")


def _contribution(kind: Kind, number: int) -> Contribution:
    found: Contribution | None
    if kind is Kind.MAP:
        found = MapRevision.objects.select_related("cable", "author").filter(pk=number).first()
    else:
        found = FailureReport.objects.select_related("cable", "reporter").filter(pk=number).first()
    if found is None:
        raise NotFound(f"There is no {kind} {number} to review.")
    return found


def _oldest(rows: Reviewed[Any]) -> Iterable[Contribution]:
    return rows.prefetch_related("reviews").order_by("created_at", "pk")[:IN_A_QUEUE]


def _waiting(row: Contribution) -> Waiting:
    return Waiting(
        Kind.MAP if isinstance(row, MapRevision) else Kind.REPORT,
        row.pk,
        str(row.cable),
        _name(row),
        row.created_at,
        store.last_review(row),
        store.failure_of(row) if isinstance(row, FailureReport) else None,
    )


def _name(row: Contribution) -> str:
    if isinstance(row, MapRevision) and row.by:
        return row.by
    person = store.contributor_of(row)
    return person.get_username() if person else "somebody without an account here"
