"""Submitting as on a page: readings with a few facts become a document, and a draft is corrected."""

from dataclasses import dataclass

from catalogue import tables
from catalogue.core.document import CableName, End, MapDocument, Meter
from catalogue.core.problems import BadDocument, Defect
from catalogue.exchange.documents import pretty_json
from catalogue.exchange.readings_csv import parse_readings_csv, readings_csv
from catalogue.models import Draft, MapRevision, User
from catalogue.usecases.maps import Submission, document_of, drafts_of, submit_map


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


def submit_again(author: User, draft_id: int, raw: bytes) -> Submission:
    """Submit the corrected text of a draft. What becomes of it, a map or another draft, takes its place.

    A draft that is gone meanwhile is no hindrance. Raises BadDocument (after keeping the text as the draft)
    or TooLarge (leaving the draft as it was).
    """
    draft = Draft.objects.filter(author=author, pk=draft_id).first()
    try:
        submission = submit_map(author, raw)
    except BadDocument:
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
        draft.delete()
