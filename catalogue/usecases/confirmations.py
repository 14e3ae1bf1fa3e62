"""Confirmations: another person's readings held against a map, and all readings of one cable taken together."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from django.db.models import QuerySet
from django.utils import timezone

from catalogue import store, tables
from catalogue.core.confirming import Verdict, confirm
from catalogue.core.document import Point, Reading
from catalogue.core.pooling import Contribution, Pool, pool
from catalogue.core.problems import BadRequest, Conflict, Defect
from catalogue.core.wiring import all_contacts
from catalogue.exchange.document_parts import read_parts
from catalogue.exchange.shapes import METER, read_reading, write_reading
from catalogue.models import Cable, Confirmation, MapRevision, User
from catalogue.usecases.maps import document_of, map_by_id, wiring_of
from catalogue.usecases.matches import unknown_points

LONGEST_NOTE = 2000

MOST_POOLED = 20
"""Contributions that are taken together: the newest."""

MOST_POOLED_READINGS = 20_000


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


def confirm_map(person: User, map_id: int, raw: bytes) -> tuple[Confirmation, bool]:
    """Hold `{"readings", "meter", "note"}` against a map and keep them, with whether they are this person's first.

    What the same person sent before on this map gives way. Raises NotFound, BadRequest or TooLarge, and Conflict
    for the map's own author.
    """
    row = map_by_id(map_id)
    if row.author_id == person.pk:
        raise Conflict(
            "This map is your own, and a confirmation has to be another person's. "
            "To add readings of yours, submit the map again with them."
        )
    wiring = wiring_of(row)
    document, more = read_parts(raw, ("readings", "meter"), ("note",), wiring.ends)
    note = _note(more.get("note", ""))
    defects = unknown_points(document.readings, set(all_contacts(wiring, tables.reference())))
    if defects:
        raise BadRequest("Some readings name what this map does not have. Nothing was stored.", defects[:100])
    verdict = confirm(wiring, document.readings, document.meter, tables.reference())
    readings = [write_reading(reading) for reading in document.readings]
    return store.keep_confirmation(row, person, readings, METER.write(document.meter), note, verdict, timezone.now())


def confirmations_of(map_id: int) -> QuerySet[Confirmation]:
    """What other people read of a map's cable, newest first. Raises NotFound."""
    return map_by_id(map_id).confirmations.select_related("author").order_by("-created_at", "-pk")


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
    readings = 0
    for offer in _offers(cable):
        if len(taken) == MOST_POOLED or readings + offer.readings > MOST_POOLED_READINGS:
            left_out.append(Left(offer.name, "There is more than can be worked with at once, and the rest is newer."))
            continue
        contribution = offer.read()
        if known.issuperset(_points(contribution.readings)):
            taken.append(contribution)
            readings += offer.readings
        else:
            left_out.append(Left(offer.name, "It names other contacts than the latest map does."))
    return Variants(pool(contacts, taken), tuple(left_out))


@dataclass(frozen=True, slots=True)
class _Offer:
    """A contribution that is there, and how to read it, which costs more than to count it."""

    name: str
    readings: int
    read: Callable[[], Contribution]


def _offers(cable: Cable) -> Iterator[_Offer]:
    """What was read of a cable, newest first: the newest map of each author and hardware, then confirmations."""
    told: set[tuple[int | None, str]] = set()
    rows = cable.maps.filter(reading_count__gt=0).select_related("author").defer("wiring", "findings")
    for row in rows.order_by("-number")[:MOST_POOLED]:
        if (row.author_id, row.hardware_revision) not in told:
            told.add((row.author_id, row.hardware_revision))
            yield _Offer(_map_name(row), row.reading_count, partial(_read_map, row))
    confirmed = Confirmation.objects.filter(map__cable=cable).select_related("author")
    for confirmation in confirmed.order_by("-created_at", "-pk")[:MOST_POOLED]:
        name = f"confirmation {confirmation.pk} by {_person(confirmation.author)}"
        yield _Offer(name, len(confirmation.readings), partial(_read_confirmation, name, confirmation))


def _read_map(row: MapRevision) -> Contribution:
    """The readings of a map from contact to contact: what was probed in an opening is of one specimen alone."""
    document = document_of(row)
    readings = tuple(each for each in document.readings if not any("@" in point for point in _points((each,))))
    return Contribution(_map_name(row), readings, document.meter)


def _read_confirmation(name: str, row: Confirmation) -> Contribution:
    return Contribution(name, tuple(map(read_reading, row.readings)), METER.read(row.meter))


def _map_name(row: MapRevision) -> str:
    return f"map revision {row.number} by {_person(row.author)}"


def _person(user: User | None) -> str:
    return user.get_username() if user else "somebody"


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
