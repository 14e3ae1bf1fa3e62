"""Following another site: its change feed is taken in, page by page, from where this site stood last.

Each page is stored with the number that it ends at in one transaction, so a run that is stopped anywhere goes on from
there. Documents are known by their hashes, which are checked like everything else that an import checks.
"""

from __future__ import annotations

import json
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping
from http import HTTPStatus
from http.client import HTTPException
from typing import Any
from urllib.parse import urlsplit

from django.db import transaction

from catalogue.core.problems import BadDocument, BadRequest, Conflict, Defect, Unreachable
from catalogue.exchange.exports import LONGEST_LINE, Entry, compact, entry_from
from catalogue.exchange.json_values import decoded
from catalogue.models import FollowedSite
from catalogue.usecases.changes import A_PAGE, A_PAGE_CHARACTERS
from catalogue.usecases.imports import Taken, show_cables, store_entries

SECONDS = 60
"""How long another site may take to answer."""

LONGEST_PAGE = 4 * A_PAGE_CHARACTERS + LONGEST_LINE + A_PAGE * 16 * 1024
"""Bytes: what a page measures, a character being up to four; one entry that is longer by itself; and all else."""


def follow(address: str, since: int | None = None) -> Iterator[tuple[int, Taken]]:
    """Take in what changed on another site, and yield after each page its last number and what became of it.

    `address` is that of its start page. It goes on from where it ended last, or from `since`. Raises BadRequest for
    what is no address, Unreachable, Conflict when that site has begun its feed anew, and BadDocument for a page that
    is not what a site tells; what came in the pages before is kept.
    """
    site, _ = FollowedSite.objects.get_or_create(address=_normal(address))
    number = site.since if since is None else since
    has_more = True
    while has_more:
        page = _fetched(f"{site.address}api/v1/changes/?since={number}")
        entries, last, has_more = _read(page, number)
        with transaction.atomic():
            locked = FollowedSite.objects.select_for_update().get(pk=site.pk)
            if since is None and locked.since != number:
                raise Conflict("Another run follows this site just now. Let it end; nothing is lost.")
            taken = Taken()
            store_entries(entries, taken, locked)
            show_cables(taken.cables)
            locked.since, number, since = last, last, None
            locked.save()
        yield number, taken


def _normal(address: str) -> str:
    parts = urlsplit(address)
    if parts.scheme not in ("http", "https") or not parts.hostname or parts.query or parts.fragment or parts.username:
        defect = Defect("", "not the address of a site", "Write it like https://corelore.example/.")
        raise BadRequest(f"{address} is not the address of a site.", (defect,))
    return f"{address.rstrip('/')}/"


def _fetched(url: str) -> bytes:
    try:
        with _opener().open(url, timeout=SECONDS) as answer:
            page: bytes = answer.read(LONGEST_PAGE + 1)
    except urllib.error.HTTPError as error:
        with error:
            if error.code == HTTPStatus.CONFLICT:
                raise Conflict(f"{_detail(error)} Give --since 0 to take in everything again.") from None
            raise Unreachable(f"{url} answers {error.code} {error.reason}. Nothing of this page was stored.") from None
    except (OSError, HTTPException) as error:
        raise Unreachable(f"{url} cannot be read: {error}. Run it again; it goes on from here.") from None
    if len(page) > LONGEST_PAGE:
        raise _no_page(f"it has more than {LONGEST_PAGE:,} bytes")
    return page


def _opener() -> urllib.request.OpenerDirector:
    """Nothing but HTTP, and no other address than the one asked for."""
    opener = urllib.request.OpenerDirector()
    for handler in (
        urllib.request.ProxyHandler(),
        urllib.request.HTTPHandler(),
        urllib.request.HTTPSHandler(),
        urllib.request.HTTPDefaultErrorHandler(),
        urllib.request.HTTPErrorProcessor(),
    ):
        opener.add_handler(handler)
    opener.addheaders = [("User-Agent", "corelore-mirror"), ("Accept", "application/json")]
    return opener


def _read(page: bytes, since: int) -> tuple[list[Entry], int, bool]:
    """The entries of a page that are shown, the number it ends at, and whether there is more."""
    said = decoded(page)
    match said:
        case {"changes": list() as changes, "last": int() as last, "has_more": bool() as has_more}:
            pass
        case _:
            raise _no_page("it has no changes, last and has_more")
    entries = []
    number = since
    for change in changes:
        match change:
            case {"number": int() as next_number, "entry": None | dict() as says} if next_number > number:
                number = next_number
            case _:
                raise _no_page(f"after {number} comes what is no change")
        if says is not None:
            where = f"change {number}"
            entries.append(entry_from(dict(says), _as_line(says, where), where))
    if len(changes) > A_PAGE or last != number or (has_more and not changes):
        raise _no_page(f"it does not end at {last}")
    return entries, last, has_more


def _as_line(says: Mapping[str, Any], where: str) -> bytes:
    try:
        return compact(says).encode()
    except (ValueError, RecursionError):
        raise _no_page(f"{where} has what no JSON has") from None


def _detail(error: urllib.error.HTTPError) -> str:
    try:
        return str(json.loads(error.read(LONGEST_LINE))["detail"])
    except (ValueError, KeyError, TypeError, OSError):
        return "That site has begun its feed anew."


def _no_page(why: str) -> BadDocument:
    defect = Defect("", why, "Is it the address of a site like this one, of the same version?")
    return BadDocument("What came is no page of a change feed. Nothing of it was stored.", (defect,))
