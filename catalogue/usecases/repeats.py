"""Requests that are sent again because their answer was lost: done once, answered alike.

The answer is stored in the transaction of the work itself, so that either both are there or neither is, wherever
a process dies. Of two requests at once the second waits at the first one's row for what becomes of it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from http import HTTPStatus

from django.db import transaction
from django.utils import timezone

from catalogue.core.problems import KeyReused
from catalogue.models import KeptAnswer, User

KEPT = timedelta(hours=24)

FINAL = frozenset({HTTPStatus.OK, HTTPStatus.CREATED, HTTPStatus.UNPROCESSABLE_ENTITY})
"""Answers that are given again. After any other nothing is stored, so the same request is tried anew."""


@dataclass(frozen=True)
class Answer:
    """An answer as it goes out. `headers` are those of this answer alone."""

    status: int
    headers: Mapping[str, str]
    body: str


def answer_once(user: User, key: str, request_digest: str, work: Callable[[], Answer]) -> Answer:
    """The answer of `work`, or what it was when this user sent this request with this key before.

    Raises KeyReused when the key named another request; then nothing is done.
    """
    now = timezone.now()
    with transaction.atomic():
        KeptAnswer.objects.filter(user=user, key=key, created_at__lte=now - KEPT).delete()
        row, is_first = KeptAnswer.objects.get_or_create(
            user=user, key=key, defaults={"request_digest": request_digest, "created_at": now}
        )
        if not is_first:
            if row.request_digest != request_digest:
                raise KeyReused("This Idempotency-Key named another request. Draw a new one for each request.")
            return Answer(row.status, row.headers, row.body)
        answer = work()
        if answer.status in FINAL:
            row.status, row.headers, row.body = answer.status, dict(answer.headers), answer.body
            row.save()
        else:
            row.delete()
    return answer


def forget_old_answers() -> int:
    """Throw away what is not given again any more. Result: how many there were."""
    forgotten, _ = KeptAnswer.objects.filter(created_at__lte=timezone.now() - KEPT).delete()
    return forgotten
