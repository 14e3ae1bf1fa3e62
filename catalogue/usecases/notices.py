"""Decisions of reviewers reach the author: by mail, and as a notice on the account page until it is noted."""

import logging
from dataclasses import dataclass

from allauth.account.models import EmailAddress
from django.core.mail import send_mail

from catalogue import store
from catalogue.core.letters import decision_letter
from catalogue.core.reviewing import DECISIONS, Kind
from catalogue.models import Cable, MapRevision, Review, User

MOST_SHOWN = 20
"""Notices shown at once; the next ones come up when these are noted."""

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Notice:
    """A decision on one's contribution, which is a map where `map` says so and else a failure report."""

    review: Review
    cable: Cable
    map: MapRevision | None


def mail_author(review: Review, page: str) -> None:
    """Mail a decision to the verified address of who contributed, if there is one and they want it.

    `page` is the address of their account page. When sending fails, the notice on that page remains.
    """
    author = review.contributor
    if author is None or not author.wants_mail:
        return
    verified = EmailAddress.objects.filter(user=author, verified=True).order_by("-primary", "pk")
    address = verified.values_list("email", flat=True).first()
    if address is None:
        return
    kind, cable = Kind.MAP if review.map else Kind.REPORT, str(store.contribution_of(review).cable)
    letter = decision_letter(author.get_username(), kind, cable, store.standing_of(review), review.reason, page)
    try:
        send_mail(letter.subject, letter.text, None, [address])
    # Each way of sending mail has errors of its own, and their texts name whom the mail was to.
    except Exception as error:
        logger.warning("The mail about review %s could not be sent: %s", review.pk, type(error).__name__)


def notices_for(person: User) -> tuple[Notice, ...]:
    """The decisions on what a person contributed that they have not noted yet, oldest first."""
    decided = person.reviews_got.filter(decision__in=DECISIONS, pk__gt=person.decisions_read)
    rows = decided.select_related("map__cable", "report__cable").order_by("pk")
    rows = rows.defer("map__document", "map__wiring", "map__findings")[:MOST_SHOWN]
    return tuple(Notice(review, store.contribution_of(review).cable, review.map) for review in rows)


def note_decisions(person: User, last: int) -> None:
    """Take note of the decisions up to this one, the number of a review."""
    User.objects.filter(pk=person.pk, decisions_read__lt=last).update(decisions_read=last)


def choose_mail(person: User, wants_mail: bool) -> None:
    """Say whether decisions come by mail."""
    User.objects.filter(pk=person.pk).update(wants_mail=wants_mail)
