"""Reads from a streaming replica of the store, where there is one (REPLICA_URL).

Only a request that reads and comes without credentials reads from the replica: whoever signs in or sends a token may
have written just now, and must see it. So must somebody who wrote without an account, which a cookie tells for some
seconds. Transactions, commands and workers always are on the primary; so is all that a request reads after it wrote.

While the replica does not answer, everything is read from the primary, and the replica is asked again every few
seconds. What fails on it, because it was stopped meanwhile or had to give up a statement, is done again on the primary.
"""

import logging
import time
from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, Error, connections
from django.http import HttpRequest, HttpResponseBase

REPLICA = "replica"
READING = frozenset({"GET", "HEAD"})
ASKED_AGAIN_SECONDS = 2.0
WROTE_COOKIE, WROTE_SECONDS = "wrote", 10

logger = logging.getLogger(__name__)


@dataclass
class Place:
    """Where a request reads: unknown until it does so for the first time."""

    alias: str = ""
    has_written: bool = False


_place: ContextVar[Place | None] = ContextVar("place", default=None)
"""None outside of requests that may read from the replica."""


class Replica:
    """Whether it answers; what is remembered of one that does not is forgotten after some seconds."""

    def __init__(self) -> None:
        self._gone_until = 0.0

    def answers(self) -> bool:
        if time.monotonic() < self._gone_until:
            return False
        try:
            # Looks once a request whether the connection is still good, and connects anew where it is not.
            connections[REPLICA].cursor().close()
        except Error as error:
            self._gone_until = time.monotonic() + ASKED_AGAIN_SECONDS
            logger.warning("The replica does not answer, so the primary is read: %s", error)
            return False
        return True


replica = Replica()


class Router:
    """Django's `DATABASE_ROUTERS`: which of the two is asked."""

    def db_for_read(self, model: type[Any], **hints: Any) -> str:
        place = _place.get()
        if place is None or connections[DEFAULT_DB_ALIAS].in_atomic_block:
            return DEFAULT_DB_ALIAS
        if not place.alias:
            place.alias = REPLICA if replica.answers() else DEFAULT_DB_ALIAS
        return place.alias

    def db_for_write(self, model: type[Any], **hints: Any) -> str:
        if place := _place.get():
            place.alias, place.has_written = DEFAULT_DB_ALIAS, True
        return DEFAULT_DB_ALIAS

    def allow_relation(self, one: Any, other: Any, **hints: Any) -> bool:
        return True

    def allow_migrate(self, alias: str, app_label: str, **hints: Any) -> bool:
        return alias == DEFAULT_DB_ALIAS


class ReadFromReplica:
    """Middleware, the innermost one, so that a request can be done again without anybody noticing."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if has_credentials(request):
            return self.get_response(request)
        place = Place("" if _may_be_behind(request) else DEFAULT_DB_ALIAS)
        response = self._answered(request, place)
        if place.alias == REPLICA and response.status_code == HTTPStatus.INTERNAL_SERVER_ERROR:
            response = self._answered(request, place := Place(DEFAULT_DB_ALIAS))
        if place.has_written:
            response.set_cookie(
                WROTE_COOKIE, "1", WROTE_SECONDS, secure=settings.SESSION_COOKIE_SECURE, httponly=True, samesite="Lax"
            )
        return response

    def _answered(self, request: HttpRequest, place: Place) -> HttpResponseBase:
        token = _place.set(place)
        try:
            return self.get_response(request)
        finally:
            _place.reset(token)


def has_credentials(request: HttpRequest) -> bool:
    """Whether a request says whose it is, rightly or not."""
    return settings.SESSION_COOKIE_NAME in request.COOKIES or "Authorization" in request.headers


def _may_be_behind(request: HttpRequest) -> bool:
    return request.method in READING and WROTE_COOKIE not in request.COOKIES
