"""Two revisions of one cable's map, held against each other."""

from dataclasses import dataclass, replace

from catalogue.core.difference import Difference, difference
from catalogue.core.document import MapDocument
from catalogue.core.problems import BadRequest
from catalogue.models import MapRevision
from catalogue.usecases.maps import document_of, map_by_id, map_of_cable, wiring_of


@dataclass(frozen=True)
class Compared:
    """What changed from one revision to another."""

    before: MapRevision
    after: MapRevision
    difference: Difference


def compare(slug: str, before: int, after: int) -> Compared:
    """Two revisions of a cable's map by their numbers, with what changed. Raises NotFound."""
    return _compared(map_of_cable(slug, before), map_of_cable(slug, after))


def compare_maps(before: int, after: int) -> Compared:
    """The same of two maps by their ids. Raises NotFound, and BadRequest for maps of two cables."""
    rows = map_by_id(before), map_by_id(after)
    if rows[0].cable_id != rows[1].cable_id:
        raise BadRequest("These are maps of two cables, whose ends and nets are not the same things. Name two of one.")
    return _compared(*rows)


def _compared(before: MapRevision, after: MapRevision) -> Compared:
    return Compared(before, after, difference(_whole(before), _whole(after)))


def _whole(row: MapRevision) -> MapDocument:
    """The document with its deduced nets and its readings."""
    return replace(wiring_of(row), readings=document_of(row).readings)
