"""What anybody may have of the catalogue, as entries of an export: which rows, in which order, and what they say.

Nothing of accounts is in them but the name that the site shows with a map or a confirmation.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db.models import Case, Exists, F, Model, OuterRef, Prefetch, Q, QuerySet, Sum, TextField, Value, When
from django.db.models.functions import Cast, Length

from catalogue.core.failures import Failure, failure_from
from catalogue.exchange.exports import EntryKind, entry_line, written_meter, written_readings
from catalogue.models import (
    Cable,
    Change,
    Confirmation,
    EarlierConfirmation,
    EarlierTelling,
    FailureReport,
    MapRevision,
    Review,
    User,
    Wanted,
)
from catalogue.models.reviews import withdrawn
from catalogue.store import failure_columns, failure_of

Json = dict[str, Any]

MOMENT = "%Y-%m-%dT%H:%M:%S.%fZ"


@dataclass(frozen=True)
class Source:
    """Where the entries of one kind come from.

    `rows` are all that are kept, with what `says` needs; `shown` leaves those that anybody may see; `order` is the
    same on every site; `by` is the column of the id. `size` is what the largest part of a row is measured by.
    """

    model: type[Model]
    rows: Callable[[], QuerySet[Any]]
    shown: Callable[[QuerySet[Any]], QuerySet[Any]]
    order: tuple[Any, ...]
    by: str
    says: Callable[[Any], Json]
    size: Any = None


def moment(at: datetime) -> str:
    """A time as entries tell it, in UTC and to the microsecond."""
    return at.astimezone(UTC).strftime(MOMENT)


def told_columns(failure: Failure) -> Json:
    """What a failure report tells, in the words and numbers of an entry."""
    columns = failure_columns(failure)
    return columns | {"cost": None if failure.cost is None else f"{failure.cost:.2f}"}


def lines_of(kind: EntryKind, rows: Iterable[Any]) -> Iterator[tuple[int, str]]:
    """For each row its id in this store and its line."""
    source = SOURCES[kind]
    for row in rows:
        yield row.pk, entry_line(source.says(row), row.document if kind is EntryKind.MAP else None)


def numbered(kind: EntryKind) -> QuerySet[Any]:
    """The rows of a kind that anybody may see and the change feed has told of, in the order of an export."""
    source = SOURCES[kind]
    in_feed = Exists(Change.objects.filter(kind=kind.value, row=OuterRef("pk")))
    return source.shown(source.rows()).filter(in_feed).order_by(*source.order)


def _cables() -> QuerySet[Cable]:
    return Cable.objects.only("slug", "identity", "maker", "model")


def _maps() -> QuerySet[MapRevision]:
    return MapRevision.objects.select_related("cable", "author").defer("wiring", "findings")


def _failures() -> Any:
    earlier = _with_shown_map(EarlierTelling.objects.order_by("pk"))
    return _with_shown_map(FailureReport.objects.select_related("cable")).prefetch_related(Prefetch("earlier", earlier))


def _with_shown_map(rows: QuerySet[Any]) -> Any:
    """The rows with the `map_hash` of the map that they name, None when it is not shown."""
    hidden = When(map__in=withdrawn("map"), then=Value(None))
    return rows.annotate(map_hash=Case(hidden, default=F("map__content_hash")))


def _confirmations() -> QuerySet[Confirmation]:
    only = ("author__username", "author_name", "created_at", "key", "map__content_hash", "meter", "note", "readings")
    return Confirmation.objects.select_related("map", "author").only(*only)


def _earlier_confirmations() -> QuerySet[EarlierConfirmation]:
    return EarlierConfirmation.objects.select_related("confirmation").only(
        "confirmation__key", "key", "told", "told_at"
    )


def _reviews() -> QuerySet[Review]:
    only = ("decision", "key", "map__content_hash", "reason", "report__key", "reviewed_at")
    return Review.objects.select_related("map", "report").only(*only)


def _only_shown(rows: Any) -> Any:
    return rows.shown()


def _of_shown_reports(rows: QuerySet[Any], prefix: str = "") -> QuerySet[Any]:
    """Failure reports, or what belongs to some, as far as they and their cables are shown."""
    hidden = {f"{prefix}pk__in": withdrawn("report")}
    return rows.exclude(**hidden).filter(**{f"{prefix}cable__in": Cable.objects.shown().values("pk")})


def _of_shown(rows: QuerySet[Any]) -> QuerySet[Any]:
    reports = _of_shown_reports(FailureReport.objects.all()).values("pk")
    return rows.filter(Q(map__in=MapRevision.objects.shown().values("pk")) | Q(report__in=reports))


def _name(author: User | None, author_name: str) -> str:
    return author.get_username() if author else author_name


def _cable_says(row: Cable) -> Json:
    return {"kind": "cable", "id": row.identity, "slug": row.slug, "maker": row.maker, "model": row.model}


def _map_says(row: MapRevision) -> Json:
    return {
        "kind": "map",
        "id": row.content_hash,
        "cable": row.cable.identity,
        "number": row.number,
        "author": _name(row.author, row.author_name),
        "at": moment(row.created_at),
    }


def _failure_says(row: Any) -> Json:
    return {
        "kind": "failure",
        "id": str(row.key),
        "cable": row.cable.identity,
        "map": row.map_hash,
        "at": moment(row.created_at),
        "told": told_columns(failure_of(row)),
        "earlier": [
            {
                "until": moment(telling.replaced_at),
                "map": telling.map_hash,
                "told": told_columns(failure_from(telling.told)),
            }
            for telling in row.earlier.all()
        ],
    }


def _confirmation_says(row: Confirmation) -> Json:
    return {
        "kind": "confirmation",
        "id": str(row.key),
        "map": row.map.content_hash,
        "author": _name(row.author, row.author_name),
        "at": moment(row.created_at),
        "note": row.note,
        "meter": written_meter(row.meter),
        "readings": written_readings(row.readings),
    }


def _earlier_says(row: EarlierConfirmation) -> Json:
    return {
        "kind": "earlier",
        "id": str(row.key),
        "confirmation": str(row.confirmation.key),
        "at": moment(row.told_at),
        "note": row.told["note"],
        "meter": written_meter(row.told["meter"]),
        "readings": written_readings(row.told["readings"]),
    }


def _review_says(row: Review) -> Json:
    return {
        "kind": "review",
        "id": str(row.key),
        "of": "map" if row.map else "failure",
        "target": row.map.content_hash if row.map else str(row.report.key),  # type: ignore[union-attr]  # of one
        "decision": row.decision,
        "reason": row.reason,
        "at": moment(row.reviewed_at),
    }


def _wanted_says(row: Wanted) -> Json:
    return {
        "kind": "wanted",
        "id": row.identity,
        "maker": row.maker,
        "model": row.model,
        "device": row.device,
        "askers": row.askers,
        "first_asked_at": moment(row.first_asked_at),
        "last_asked_at": moment(row.last_asked_at),
    }


SOURCES = {
    EntryKind.CABLE: Source(Cable, _cables, _only_shown, ("identity",), "identity", _cable_says),
    EntryKind.MAP: Source(
        MapRevision,
        _maps,
        _only_shown,
        ("cable__identity", "number"),
        "content_hash",
        _map_says,
        Length("document"),
    ),
    EntryKind.FAILURE: Source(
        FailureReport,
        _failures,
        _of_shown_reports,
        ("cable__identity", "key"),
        "key",
        _failure_says,
        Length(Cast("nets", TextField())) + Sum(Length(Cast("earlier__told", TextField())), default=0),
    ),
    EntryKind.CONFIRMATION: Source(
        Confirmation,
        _confirmations,
        lambda rows: rows.filter(map__in=MapRevision.objects.shown().values("pk")),
        ("map__content_hash", "key"),
        "key",
        _confirmation_says,
        Length(Cast("readings", TextField())),
    ),
    # What was sent when, and which review is the last and counts, is told by ids: they keep their order on every site.
    EntryKind.EARLIER: Source(
        EarlierConfirmation,
        _earlier_confirmations,
        lambda rows: rows.filter(confirmation__map__in=MapRevision.objects.shown().values("pk")),
        ("confirmation__map__content_hash", "confirmation__key", "pk"),
        "key",
        _earlier_says,
        Length(Cast("told", TextField())),
    ),
    EntryKind.REVIEW: Source(
        Review,
        _reviews,
        _of_shown,
        (F("map__content_hash").asc(nulls_last=True), "report__key", "pk"),
        "key",
        _review_says,
    ),
    EntryKind.WANTED: Source(Wanted, Wanted.objects.all, lambda rows: rows, ("identity",), "identity", _wanted_says),
}
"""Every kind of entry, in the order of an export."""
