"""One's own account: what is there of one's own, all of it as data, and its removal."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from allauth.account.models import EmailAddress
from django.db import transaction
from django.utils import timezone

from catalogue import store
from catalogue.core.problems import BadRequest, Defect
from catalogue.models import Cable, Confirmation, Draft, FailureReport, MapRevision, Review, User
from catalogue.usecases.maps import drafts_of
from catalogue.usecases.notices import Notice, notices_for
from catalogue.usecases.people import tokens_of
from catalogue.usecases.reviews import may_review

LISTED = 20
"""How many contributions of each kind the account page names; the data has all."""

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Own:
    """A contribution of one's own, with the last review of it."""

    row: Any
    cable: Cable
    review: Review | None


@dataclass(frozen=True)
class Account:
    """What is there of one's own: the newest of each kind, and one more where there are more than are listed."""

    addresses: tuple[str, ...]
    notices: tuple[Notice, ...]
    maps: tuple[Own, ...]
    reports: tuple[Own, ...]
    confirmations: tuple[Confirmation, ...]
    drafts: tuple[Draft, ...]
    tokens: tuple[Any, ...]
    is_reviewer: bool


def account_of(person: User) -> Account:
    """What the account page shows, in a fixed number of statements."""
    maps = person.maps.select_related("cable").prefetch_related("reviews").defer("document", "wiring", "findings")
    reports = person.failures.select_related("cable").prefetch_related("reviews")
    confirmations = person.confirmations.select_related("map__cable").defer(
        "readings", "map__document", "map__wiring", "map__findings"
    )
    return Account(
        addresses=tuple(EmailAddress.objects.filter(user=person).order_by("pk").values_list("email", flat=True)),
        notices=notices_for(person),
        maps=_own(maps.order_by("-pk")[: LISTED + 1]),
        reports=_own(reports.order_by("-pk")[: LISTED + 1]),
        confirmations=tuple(confirmations.order_by("-pk")[: LISTED + 1]),
        drafts=tuple(drafts_of(person)[: LISTED + 1]),
        tokens=tuple(tokens_of(person)),
        is_reviewer=may_review(person),
    )


def own_data(person: User) -> Json:
    """Everything that is kept about a person, as JSON values: the account and all they contributed.

    Passwords and tokens are kept only as hashes, which are of no use to anybody and left out.
    """
    return {
        "made_at": timezone.now().isoformat(),
        "account": {
            "name": person.username,
            "addresses": list(EmailAddress.objects.filter(user=person).values("email", "verified")),
            "signed_up_at": person.date_joined.isoformat(),
            "last_signed_in_at": person.last_login.isoformat() if person.last_login else None,
            "is_reviewer": may_review(person),
            "wants_mail": person.wants_mail,
            "decisions_read": person.decisions_read,
        },
        "maps": [_map_data(row) for row in person.maps.select_related("cable").prefetch_related("reviews")],
        "failure_reports": [
            _report_data(row) for row in person.failures.select_related("cable").prefetch_related("reviews", "earlier")
        ],
        "confirmations": [
            {
                "map": row.map_id,
                "sent_at": row.created_at.isoformat(),
                "readings": row.readings,
                "meter": row.meter,
                "note": row.note,
                "outcome": row.outcome,
                "earlier": [{"sent_at": before.told_at.isoformat(), **before.told} for before in row.earlier.all()],
            }
            for row in person.confirmations.order_by("pk").prefetch_related("earlier")
        ],
        "drafts": [
            {"title": row.title, "changed_at": row.changed_at.isoformat(), "text": row.text}
            for row in person.drafts.order_by("pk")
        ],
        "answers_kept_for_a_day": [
            {"key": row.key, "answered_at": row.created_at.isoformat(), "body": row.body}
            for row in person.kept_answers.order_by("pk")
        ],
        "tokens": [
            {
                "name": row.named.name if hasattr(row, "named") else "",
                "begins_with": row.token_key,
                "made_at": row.created.isoformat(),
                "ends_at": row.expiry.isoformat() if row.expiry else None,
            }
            for row in tokens_of(person)
        ],
        "reviews_made": [
            {"map": review.map_id, "failure_report": review.report_id} | _review_data(review)
            for review in person.reviews_made.order_by("pk")
        ],
    }


def remove_account(person: User, password: str) -> None:
    """Remove a person's account, drafts, address and tokens. What they contributed stays, without their name.

    Raises BadRequest for a wrong password, and changes nothing then.
    """
    if not person.check_password(password):
        defect = Defect("/password", "This is not your password.", "Type it again; nothing is removed yet.")
        raise BadRequest("The account was not removed.", (defect,))
    with transaction.atomic():
        # What is told without its author's name from now on is told anew to those who follow the feed.
        for contributed in (person.maps, person.confirmations):
            contributed.update(in_feed=False)
        person.delete()


def _own(rows: Iterable[MapRevision | FailureReport]) -> tuple[Own, ...]:
    return tuple(Own(row, row.cable, store.last_review(row)) for row in rows)


def _map_data(row: MapRevision) -> Json:
    return {
        "id": row.pk,
        "cable": row.cable.slug,
        "revision": row.number,
        "sent_at": row.created_at.isoformat(),
        "document": json.loads(row.document),
        "reviews": [_review_data(review) for review in row.reviews.all()],
    }


def _report_data(row: FailureReport) -> Json:
    return {
        "id": row.pk,
        "cable": row.cable.slug,
        "map": row.map_id,
        "sent_at": row.created_at.isoformat(),
        "kind": row.kind,
        "ending": row.ending,
        "symptoms": row.symptoms,
        "words": row.words,
        "section": row.section,
        "at_m": row.at_m,
        "place": row.place,
        "nets": row.nets,
        "cause": row.cause,
        "tried": row.tried,
        "note": row.note,
        "hours": row.hours,
        "cost": None if row.cost is None else str(row.cost),
        "currency": row.currency,
        "told_before": [
            {"until": telling.replaced_at.isoformat()} | telling.told
            for telling in sorted(row.earlier.all(), key=lambda telling: telling.pk)
        ],
        "reviews": [_review_data(review) for review in row.reviews.all()],
    }


def _review_data(review: Review) -> Json:
    return {"decision": review.decision, "reason": review.reason, "at": review.reviewed_at.isoformat()}
