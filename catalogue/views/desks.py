"""The two ways to write a map down, as a document and as readings, behind one face.

A desk holds what was written and knows where in the writing the place of a finding is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.http import QueryDict

from catalogue.core.findings import Finding
from catalogue.core.problems import BadDocument, Defect, Problem, TooLarge
from catalogue.core.source_lines import Span, Text
from catalogue.core.words import told
from catalogue.forms import DocumentForm, EndForm, EndFormSet, Ends, Files, ReadingsForm, ends_again
from catalogue.usecases import maps
from catalogue.usecases.submissions import FromReadings, map_from_readings
from catalogue.views.findings import Outcome, json_outcome, outcome, span_of_line

DOCUMENT, READINGS = "document", "readings"


@dataclass(frozen=True)
class DocumentDesk:
    """A map as JSON."""

    form: DocumentForm

    @property
    def fields(self) -> dict[str, Any]:
        """What a page needs to show the writing again."""
        return {"way": DOCUMENT, "document_form": self.form}

    @property
    def raw(self) -> bytes:
        """The map document."""
        return self.form.given_text.encode("utf-8", "replace")

    @property
    def unread_rows(self) -> Sequence[Defect]:
        """What had to be left out of the document, because nobody could read it."""
        return ()

    def is_valid(self) -> bool:
        """Whether every field could be read; where one could not, it says why."""
        return self.form.is_valid()

    def outcome(self, findings: Sequence[Finding] = (), problem: Problem | None = None) -> Outcome:
        """What is to be said of the map, with the lines of the writing concerned."""
        return json_outcome(self.form.given_text, findings, problem.defects if problem else (), problem)


@dataclass(frozen=True)
class ReadingsDesk:
    """A map as readings in CSV, with fields for the cable and its ends."""

    form: ReadingsForm
    ends: Ends

    @property
    def fields(self) -> dict[str, Any]:
        return {"way": READINGS, "readings_form": self.form, "ends": self.ends}

    @property
    def raw(self) -> bytes:
        return self._made.raw

    @property
    def unread_rows(self) -> Sequence[Defect]:
        return self._made.defects

    def is_valid(self) -> bool:
        return all([self.form.is_valid(), self.ends.is_valid()])

    def outcome(self, findings: Sequence[Finding] = (), problem: Problem | None = None) -> Outcome:
        """Defects of a field are shown at that field; all else at the lines of the readings."""
        elsewhere = [defect for defect in problem.defects if not self._at_field(defect)] if problem else []
        defects = [*self.unread_rows, *elsewhere]
        pointers = {pointer for finding in findings for pointer in finding.at}
        pointers |= {defect.where for defect in defects}
        text = Text(self.form.given_text)
        places = {pointer: span for pointer in pointers if (span := self._place(pointer, text))}
        return outcome(text, places, findings, defects, problem)

    @cached_property
    def _made(self) -> FromReadings:
        return map_from_readings(self.form.cable(), self.ends.ends(), self.form.meter(), self.form.given_text)

    def _place(self, pointer: str, text: Text) -> Span | None:
        match pointer.split("/"):
            case [_, "readings", index, *_] if index.isdecimal() and int(index) < len(self._made.lines):
                return text.span_of_line(self._made.lines[int(index)])
        return span_of_line(text, pointer)

    def _at_field(self, defect: Defect) -> bool:
        match defect.where.split("/"):
            case [_, "cable", field, *_] if field in self.form.fields:
                self.form.add_error(field, told(defect))
            case [_, "meter", field, *_] if field in self.form.fields:
                self.form.add_error(field, told(defect))
            case [_, "ends", index, field, *_] if index.isdecimal() and field in EndForm.base_fields:
                filled = [form for form in self.ends.forms if form.has_changed()]
                filled[int(index)].add_error(field, told(defect))
            case _:
                return False
        return True


Desk = DocumentDesk | ReadingsDesk


def blank() -> dict[str, Any]:
    """What a page needs to show both ways empty."""
    return {
        "way": READINGS,
        "document_form": DocumentForm(),
        "readings_form": ReadingsForm(),
        "ends": EndFormSet(),
    }


def sent(data: QueryDict, files: Files) -> Desk:
    """The desk as it was sent."""
    if data.get("way") == DOCUMENT:
        return DocumentDesk(DocumentForm.sent(data, files))
    return ReadingsDesk(ReadingsForm.sent(data, files), EndFormSet(data))


def again(data: QueryDict, files: Files | None = None, more_ends: int = 0) -> dict[str, Any]:
    """What a page needs to show writing again that nobody has judged yet."""
    if data.get("way") == DOCUMENT:
        return {"way": DOCUMENT, "document_form": DocumentForm.again(data, files)}
    return {
        "way": READINGS,
        "readings_form": ReadingsForm.again(data, files),
        "ends": ends_again(data, more_ends),
    }


def check(desk: Desk) -> Outcome:
    """What the rules, or the reader of the format, have to say. Stores nothing."""
    try:
        return desk.outcome(maps.check_map(maps.read_document(desk.raw)))
    except (BadDocument, TooLarge) as problem:
        return desk.outcome(problem=problem)
