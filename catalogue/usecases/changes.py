"""The change feed: everything that anybody can see, in one order that a mirror can follow from any number on.

A number is given only to what is committed, one giver at a time. So whoever has seen a number has all the lower ones
before them, however long some writer took; and storing a contribution needs no statement for it. A number stands for
a thing, not for its text: read later, it shows the thing as it is then, and nothing when it is not shown any more.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.db import transaction
from django.db.models import CharField, IntegerField, Model, Value

from catalogue import bulk, store
from catalogue.core.problems import Conflict
from catalogue.exchange.exports import EntryKind
from catalogue.models import Cable, Change, Confirmation, EarlierConfirmation, FailureReport, Feed, MapRevision, Review
from catalogue.usecases.entries import SOURCES, lines_of

A_PAGE = 100
"""Changes that are told at once."""

A_PAGE_CHARACTERS = 4 * 1024 * 1024
"""Of documents, readings and reports in a page; a page always has at least one change, whatever its size."""

AT_ONCE = 1000
"""Rows that are numbered in one transaction."""


@dataclass(frozen=True, slots=True)
class Told:
    """One change: its number, and the line of its entry, which is None for what is not shown now."""

    number: int
    kind: EntryKind
    line: str | None


@dataclass(frozen=True)
class Page:
    """Changes in the order of their numbers, the number to go on from, and whether there are more already."""

    changes: tuple[Told, ...]
    last: int
    has_more: bool


def changes_since(since: int) -> Page:
    """The changes after a number. Raises Conflict when the feed never went as far."""
    number_changes()
    # In a transaction, and so of the primary: a replica that is behind would say that the feed never went as far.
    with store.snapshot():
        rows = list(Change.objects.filter(number__gt=since).order_by("number")[: A_PAGE + 1])
        if not rows and since > (last := last_number()):
            raise Conflict(f"The change feed ends at {last}, so there is no {since}. Begin anew, with since=0.")
        page = _within_size(rows[:A_PAGE])
        lines = _lines(page)
    changes = tuple(Told(row.number, EntryKind(row.kind), lines.get((row.kind, row.row))) for row in page)
    return Page(changes, page[-1].number if page else since, len(page) < len(rows))


def last_number() -> int:
    """The highest number that was given."""
    return Feed.objects.values_list("last", flat=True).first() or 0


def number_changes() -> bool:
    """Give numbers to what was made or changed since this was done last; whether there may be more to do.

    What is needed comes before what needs it: all that is committed is seen in one statement, and taken by its kind.
    """
    if not _unnumbered()[:1]:
        return False
    with transaction.atomic():
        feed = locked_feed()
        rows = list(_unnumbered()[:AT_ONCE])
        Change.objects.bulk_create(
            Change(number=number, kind=row["kind_"], row=row["pk"])
            for number, row in enumerate(rows, start=feed.last + 1)
        )
        for kind, group in groupby(rows, key=lambda row: row["kind_"]):
            ids = [row["pk"] for row in group]
            SOURCES[EntryKind(kind)].model._default_manager.filter(pk__in=ids).update(in_feed=True)
        feed.last += len(rows)
        feed.save()
    return len(rows) == AT_ONCE


def number_now(rows: Mapping[EntryKind, Iterable[Model]]) -> None:
    """Give numbers to rows that are stored in this very transaction, what is needed before what needs it.

    They are to be written with `in_feed` set, which spares a second writing. Whoever else gives numbers waits until
    the transaction ends, so this comes last in it.
    """
    feed = locked_feed()
    told = [(kind, row.pk) for kind in SOURCES for row in rows.get(kind, ())]
    numbered = enumerate(told, start=feed.last + 1)
    bulk.write(Change(number=number, kind=kind.value, row=row) for number, (kind, row) in numbered)
    feed.last += len(told)
    feed.save()


def locked_feed() -> Feed:
    """The feed's row, made when missing, locked until the transaction ends."""
    Feed.objects.bulk_create([Feed(pk=1)], ignore_conflicts=True)
    return Feed.objects.select_for_update().get(pk=1)


def feed_again(cable: Cable) -> None:
    """Tell of a cable and all that belongs to it anew: something of it is shown again, which some may have missed."""
    of_cable = (
        Cable.objects.filter(pk=cable.pk),
        MapRevision.objects.filter(cable=cable),
        FailureReport.objects.filter(cable=cable),
        Confirmation.objects.filter(map__cable=cable),
        EarlierConfirmation.objects.filter(confirmation__map__cable=cable),
        Review.objects.filter(map__cable=cable),
        Review.objects.filter(report__cable=cable),
    )
    for rows in of_cable:
        rows.update(in_feed=False)


def _unnumbered() -> Any:
    """Kind and id of what has no number yet, what is needed before what needs it; no more of a kind than are taken."""
    parts = []
    for order, (kind, source) in enumerate(SOURCES.items()):
        waiting = source.model._default_manager.filter(in_feed=False).order_by("pk")
        first = source.model._default_manager.filter(pk__in=waiting.values("pk")[:AT_ONCE]).order_by()
        named = {"order_": Value(order, IntegerField()), "kind_": Value(kind.value, CharField())}
        parts.append(first.values("pk", **named))
    return parts[0].union(*parts[1:], all=True).order_by("order_", "pk")


def _within_size(rows: Sequence[Change]) -> Sequence[Change]:
    """As many of the changes as may be told at once."""
    sizes: dict[tuple[str, int], int] = {}
    for kind, source in SOURCES.items():
        if source.size is not None:
            found = source.model._default_manager.filter(pk__in=_ids(rows, kind))
            sizes |= {(kind.value, pk): size for pk, size in found.values_list("pk", source.size)}
    total = 0
    for place, row in enumerate(rows):
        total += sizes.get((row.kind, row.row), 0)
        if total > A_PAGE_CHARACTERS and place:
            return rows[:place]
    return rows


def _lines(rows: Iterable[Change]) -> dict[tuple[str, int], str]:
    """The lines of those changes that are shown, by kind and row."""
    told = list(rows)
    lines: dict[tuple[str, int], str] = {}
    for kind, source in SOURCES.items():
        # Decisions are open to all, also on what is not shown: that is how a mirror learns of a withdrawal.
        every = source.rows() if kind is EntryKind.REVIEW else source.shown(source.rows())
        found = every.filter(pk__in=_ids(told, kind))
        lines |= {(kind.value, pk): line for pk, line in lines_of(kind, found)}
    return lines


def _ids(rows: Iterable[Change], kind: EntryKind) -> list[int]:
    return [row.row for row in rows if row.kind == kind]
