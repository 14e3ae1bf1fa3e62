"""Submitting as on a page: readings with a few facts become a document, and a draft is corrected."""

from dataclasses import asdict, dataclass
from typing import Any

from catalogue import tables
from catalogue.core.document import CableName, End, MapDocument, Meter
from catalogue.core.problems import BadDocument, Conflict, Defect
from catalogue.exchange.documents import pretty_json
from catalogue.exchange.readings_csv import parse_readings_csv, readings_csv
from catalogue.exchange.shapes import write_reading
from catalogue.models import Draft, MapRevision, User
from catalogue.usecases.maps import Submission, document_of, drafts_of, submit_map
from catalogue.usecases.sizes import refuse_too_large


@dataclass(frozen=True)
class FromReadings:
    """A map made of readings as CSV.

    `raw` is its document, `lines` the line of the CSV for each of its readings, and `defects` the rows that
    could not be read, each named by its line; the good rows are in the document all the same.
    """

    raw: bytes
    lines: tuple[int, ...]
    defects: tuple[Defect, ...]


def map_from_readings(cable: CableName, ends: tuple[End, ...], meter: Meter, csv_text: str) -> FromReadings:
    """The document that says just this much of a cable. Nothing is stored."""
    file = parse_readings_csv(csv_text)
    document = MapDocument(cable=cable, ends=ends, meter=meter, readings=file.readings)
    return FromReadings(pretty_json(document).encode(), file.lines, file.defects)


def readings_from_csv(raw: bytes) -> dict[str, Any]:
    """Readings as CSV in the shape of a map document, the line of each, and what could not be read. Stores nothing."""
    refuse_too_large(raw, "The list")
    file = parse_readings_csv(raw)
    return {
        "readings": [write_reading(reading) for reading in file.readings],
        "lines": list(file.lines),
        "defects": [asdict(defect) for defect in file.defects],
    }


def submit_again(author: User, draft_id: int, version: int, raw: bytes) -> Submission:
    """Submit the corrected text of a draft. What becomes of it, a map or another draft, takes its place.

    A draft that is gone meanwhile is no hindrance, and one that does not have this version any more, because it was
    written on elsewhere, stays beside what becomes of this. Raises BadDocument or Conflict (after keeping the text
    as the draft), or TooLarge or TooManyDrafts (leaving the draft as it was).
    """
    draft = Draft.objects.filter(author=author, pk=draft_id, version=version).first()
    try:
        submission = submit_map(author, raw, instead_of=draft)
    except (BadDocument, Conflict):
        _replace(draft, drafts_of(author).first())
        raise
    _replace(draft, submission.draft)
    return submission


def readings_of(row: MapRevision) -> str:
    """The readings of a map as CSV."""
    return readings_csv(document_of(row).readings)


def connector_titles() -> dict[str, str]:
    """The standard connectors by key, with the titles that people know them by."""
    return {connector.key: connector.title for connector in tables.reference().connectors.values()}


def _replace(draft: Draft | None, successor: Draft | None) -> None:
    """Remove a draft, unless it is its own successor because nothing in it was changed."""
    if draft and (successor is None or successor.pk != draft.pk):
        Draft.objects.filter(pk=draft.pk, version=draft.version).delete()
