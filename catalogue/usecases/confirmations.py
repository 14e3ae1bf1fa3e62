"""Confirmations: another person's readings held against a map, and all readings of one cable taken together."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from catalogue import store, tables
from catalogue.core.confirming import Verdict, confirm
from catalogue.core.document import MapDocument, Meter, Point, Reading
from catalogue.core.pooling import Contribution, Pool, pool
from catalogue.core.problems import BadReadings, BadRequest, Conflict, Defect
from catalogue.core.wiring import all_contacts
from catalogue.exchange.document_parts import read_parts
from catalogue.exchange.reading_lines import parse_lines
from catalogue.exchange.shapes import METER, read_reading, write_reading
from catalogue.models import Cable, Confirmation, MapRevision, User
from catalogue.usecases.maps import document_of, map_by_id, wiring_of
from catalogue.usecases.matches import unknown_points
from catalogue.usecases.sizes import refuse_too_large

LONGEST_NOTE = 2000

MOST_POOLED = 20
"""Contributions that are taken together: the newest."""

MOST_POOLED_PAIRS = 60_000
"""Pairs of points that their readings probed: a sweep probes as many as it has members."""

TOO_MUCH = "There is more than can be worked with at once, and the rest is newer."


@dataclass(frozen=True)
class Left:
    """A contribution that is not among those taken together, and why."""

    name: str
    why: str


@dataclass(frozen=True)
class Variants:
    """The readings on one cable taken together, and what was left out."""

    pool: Pool
    left_out: tuple[Left, ...]


@dataclass(frozen=True)
class Confirmed:
    """One person's readings held against a map, and what they sent before, newest first."""

    person: str
    at: datetime
    note: str
    verdict: Verdict
    earlier: tuple["Confirmed", ...] = ()


def confirm_map(person: User, map_id: int, raw: bytes) -> tuple[Confirmation, bool]:
    """Hold `{"readings", "meter", "note"}` against a map and keep them, with whether they are this person's first.

    What the same person sent before on this map counts no more, but is kept. Raises NotFound, BadRequest or TooLarge,
    and Conflict for the map's own author.
    """
    row = map_by_id(map_id)
    _check_author(person, row)
    wiring = wiring_of(row)
    document, more = read_parts(raw, ("readings", "meter"), ("note",), wiring.ends)
    return _confirm(person, row, wiring, document.readings, document.meter, more.get("note", ""))


def confirm_with_text(
    person: User, row: MapRevision, text: str, meter: Meter, note: str, good_rows_only: bool = False
) -> tuple[Confirmation, bool]:
    """The same with readings as lines or CSV. What is wrong is told by its line; `good_rows_only` leaves it out.

    Raises BadReadings, BadRequest or TooLarge, and Conflict for the map's own author.
    """
    _check_author(person, row)
    refuse_too_large(text, "The list of readings")
    file = parse_lines(text)
    if file.defects and not (good_rows_only and file.readings):
        raise BadReadings("Some lines cannot be read. Nothing was stored.", file.defects)
    if not file.readings:
        raise BadReadings("There is no reading in this. Nothing was stored.")
    try:
        return _confirm(person, row, wiring_of(row), file.readings, meter, note)
    except BadRequest as problem:
        raise BadRequest(problem.text, [_at_line(defect, file.lines) for defect in problem.defects]) from None


def sample_of(row: MapRevision) -> str:
    """How readings of a map's cable are written: a few lines with its own contacts and invented results."""
    nets = [net for net in wiring_of(row).nets if len(net.contacts) > 1]
    results = ("0.6 ohm", "beeps", "silent")
    return "\n".join(f"{net.contacts[0]} {net.contacts[-1]} {told}" for net, told in zip(nets, results, strict=False))


def confirmations_of(map_id: int) -> QuerySet[Confirmation]:
    """What other people read of a map's cable, newest first. Raises NotFound."""
    return _confirmations(map_by_id(map_id))


def verdicts_of(row: MapRevision) -> tuple[Confirmed, ...]:
    """Who held readings against a map, when, and what came of it; newest first."""
    told = _confirmations(row).defer("readings", "meter").prefetch_related("earlier")
    return tuple(_confirmed(each) for each in told)


def verdict_of(row: Confirmation) -> Verdict:
    return store.verdict_of(row)


def variants_of(cable: Cable) -> Variants:
    """The hardware variants that explain what everybody read of a cable.

    Contacts are named as in its latest map; readings that name others are left out, as are all but the newest.
    """
    if cable.latest is None:
        return Variants(pool((), ()), ())
    contacts = all_contacts(wiring_of(cable.latest), tables.reference())
    known = set(contacts)
    taken: list[Contribution] = []
    left_out: list[Left] = []
    pairs_left = MOST_POOLED_PAIRS
    for offer in _offers(cable):
        if len(taken) == MOST_POOLED or offer.readings > pairs_left:
            left_out.append(Left(offer.name, TOO_MUCH))
            continue
        contribution = offer.read()
        pairs = sum(len(reading.black) for reading in contribution.readings)
        if not known.issuperset(_points(contribution.readings)):
            left_out.append(Left(offer.name, "It names other contacts than the latest map does."))
        elif pairs > pairs_left:
            left_out.append(Left(offer.name, TOO_MUCH))
        else:
            taken.append(contribution)
            pairs_left -= pairs
    return Variants(pool(contacts, taken), tuple(left_out))


@dataclass(frozen=True, slots=True)
class _Offer:
    """A contribution that is there, and how to read it, which costs more than to count it."""

    name: str
    readings: int
    read: Callable[[], Contribution]


def _check_author(person: User, row: MapRevision) -> None:
    if row.author_id == person.pk:
        raise Conflict(
            "This map is your own, and a confirmation has to be another person's. "
            "To add readings of yours, submit the map again with them."
        )


def _confirm(
    person: User, row: MapRevision, wiring: MapDocument, readings: Sequence[Reading], meter: Meter, note: object
) -> tuple[Confirmation, bool]:
    kept_note = _note(note)
    defects = unknown_points(readings, set(all_contacts(wiring, tables.reference())))
    if defects:
        raise BadRequest("Some readings name what this map does not have. Nothing was stored.", defects[:100])
    verdict = confirm(wiring, readings, meter, tables.reference())
    written = [write_reading(reading) for reading in readings]
    with transaction.atomic():
        return store.keep_confirmation(row, person, written, METER.write(meter), kept_note, verdict, timezone.now())


def _confirmed(row: Confirmation) -> Confirmed:
    person = _person(row)
    earlier = (Confirmed(person, *said) for said in store.earlier_confirmations_of(row))
    return Confirmed(person, row.created_at, row.note, verdict_of(row), tuple(earlier))


def _at_line(defect: Defect, lines: Sequence[int]) -> Defect:
    """A defect of a reading at the line of the file that holds it."""
    match defect.where.split("/"):
        case [_, "readings", index, *_] if index.isdecimal() and int(index) < len(lines):
            return replace(defect, where=f"line {lines[int(index)]}")
    return defect


def _confirmations(row: MapRevision) -> QuerySet[Confirmation]:
    return row.confirmations.select_related("author").order_by("-created_at", "-pk")


def _offers(cable: Cable) -> Iterator[_Offer]:
    """What was read of a cable, newest first: the newest map of each author and hardware, then confirmations."""
    told: set[tuple[str | None, str]] = set()
    rows = cable.maps.shown().filter(reading_count__gt=0).select_related("author").defer("wiring", "findings")
    for row in rows.order_by("-number")[:MOST_POOLED]:
        if (row.by, row.hardware_revision) not in told:
            told.add((row.by, row.hardware_revision))
            yield _Offer(_map_name(row), row.reading_count, partial(_read_map, row))
    confirmed = Confirmation.objects.filter(map__in=cable.maps.shown()).select_related("author")
    for confirmation in confirmed.order_by("-created_at", "-pk")[:MOST_POOLED]:
        name = f"confirmation {confirmation.pk} by {_person(confirmation)}"
        yield _Offer(name, len(confirmation.readings), partial(_read_confirmation, name, confirmation))


def _read_map(row: MapRevision) -> Contribution:
    """The readings of a map from contact to contact: what was probed in an opening is of one specimen alone."""
    document = document_of(row)
    readings = tuple(each for each in document.readings if not any("@" in point for point in _points((each,))))
    return Contribution(_map_name(row), readings, document.meter)


def _read_confirmation(name: str, row: Confirmation) -> Contribution:
    return Contribution(name, tuple(map(read_reading, row.readings)), METER.read(row.meter))


def _map_name(row: MapRevision) -> str:
    return f"map revision {row.number} by {_person(row)}"


def _person(row: MapRevision | Confirmation) -> str:
    return row.by or "somebody"


def _points(readings: tuple[Reading, ...]) -> set[Point]:
    return {point for reading in readings for point in (reading.red, *reading.black)}


def _note(note: object) -> str:
    if not isinstance(note, str) or len(note) > LONGEST_NOTE:
        defect = Defect("/note", f"not a text of at most {LONGEST_NOTE:,} characters", "Shorten it.")
        raise BadRequest("The note cannot be kept. Nothing was stored.", (defect,))
    if not all(character.isprintable() or character == "\n" for character in note):
        defect = Defect("/note", "a character that cannot be shown", "Leave it out.")
        raise BadRequest("The note cannot be kept. Nothing was stored.", (defect,))
    return note
