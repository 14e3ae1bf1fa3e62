"""The whole form of the diagnose page. Nothing of it is stored: what was typed is carried in the page itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.forms.formsets import ManagementForm
from django.http import QueryDict

from catalogue.core.document import MapDocument, Mark, MarkKind, Mode, Opening
from catalogue.core.location.observations import Method, Side
from catalogue.core.location.ways import Way
from catalogue.core.problems import Defect
from catalogue.core.words import told
from catalogue.forms import Files
from catalogue.usecases.specimens import TypedReading, TypedReadings, typed_readings
from catalogue.views.diagnose_forms import (
    FLEXING,
    MOST_ROWS,
    OPENED,
    SOUND_TO_FINISH,
    SOUND_TO_START,
    LooksForm,
    PlaceForm,
    ReadingRow,
    ReadingRows,
    Rows,
    SeenFormSet,
    SeenRows,
    TableForm,
)
from catalogue.views.worth_form import WorthForm

WITHIN_M = 0.1
"""A hand's width: bending is done no more exactly (judgement)."""


@dataclass
class Worksheet:
    """All parts of the form together."""

    document: MapDocument
    rows: Rows
    table: TableForm
    seen: SeenRows
    looks: LooksForm
    place: PlaceForm
    worth: WorthForm

    @classmethod
    def blank(cls, document: MapDocument, table: str = "", seen: Iterable[Mapping[str, object]] = ()) -> Worksheet:
        """Nothing filled in but a table of readings, and what is known to be seen along the cable.

        It can be read like one that was sent.
        """
        data = QueryDict(mutable=True)
        data["table"] = table
        places = list(seen)
        for number, place in enumerate(places):
            data.update({f"seen-{number}-{name}": str(value) for name, value in place.items()})
        data.update({"rows-TOTAL_FORMS": "0", "rows-INITIAL_FORMS": "0"})
        data.update({"seen-TOTAL_FORMS": str(len(places)), "seen-INITIAL_FORMS": "0"})
        return cls.sent(document, data)

    @classmethod
    def sent(cls, document: MapDocument, data: QueryDict, files: Files | None = None) -> Worksheet:
        """The worksheet as it was sent."""
        data = data.copy()
        for prefix in ("rows", "seen"):
            if not ManagementForm(data, prefix=prefix).is_valid():
                data.update({f"{prefix}-TOTAL_FORMS": "0", f"{prefix}-INITIAL_FORMS": "0"})
        for_map = {"document": document}
        return cls(
            document,
            ReadingRows(data, prefix="rows"),
            TableForm.sent(data, files),
            SeenFormSet(data, prefix="seen", form_kwargs=for_map),
            LooksForm(data),
            PlaceForm(data, document=document),
            WorthForm(data, document=document),
        )

    @cached_property
    def typed(self) -> TypedReadings:
        """The readings of rows and table; what cannot be read is told at its row, unless a field of it was already."""
        rows = {
            number: TypedReading(given["probes"], Mode(given["mode"] or Mode.OHMS), given["shows"], given["flexed"])
            for number, form in enumerate(self.rows.forms, start=1)
            if not form.errors and (given := form.cleaned_data).get("shows")
        }
        typed = typed_readings(rows, self.table.given_text)
        self.take(defect for found in typed.defects.values() for defect in found)
        return typed

    def is_valid(self) -> bool:
        """Whether all that a diagnosis needs could be read."""
        parts = [self.rows.is_valid(), self.table.is_valid(), self.seen.is_valid(), self.looks.is_valid()]
        return all([*parts, not self.typed.defects])

    def take(self, defects: Iterable[Defect]) -> None:
        """Show each defect at its row, or over the table with the line that it is about."""
        for defect in defects:
            kind, _, number = defect.where.partition(" ")
            if kind == "row":
                self.rows.forms[int(number) - 1].add_error("shows", told(defect))
            else:
                place = f"{defect.where.capitalize()}: " if defect.where else ""
                self.table.add_error("table", place + told(defect))

    def specimen(self) -> MapDocument:
        """What was seen and read of the specimen, in a document without nets."""
        marks, openings = [], []
        for given in self._seen():
            section, at_m = given["section"], given["at_m"]
            if given["what"] in (OPENED, SOUND_TO_START, SOUND_TO_FINISH):
                openings.append(Opening(section, at_m))
            elif given["what"] != FLEXING:
                marks.append(Mark(MarkKind(given["what"]), section, at_m))
        return MapDocument(
            self.document.cable,
            self.document.ends,
            marks=tuple(marks),
            openings=tuple(openings),
            meter=self.table.meter(),
            readings=self.typed.readings,
        )

    def along(self, way: Way) -> list[Mapping[str, object]]:
        """What openings and bending tell of the break's place, as the API takes it."""
        found: list[Mapping[str, object]] = []
        for given in self._seen():
            leg = next((leg for leg in way.legs if leg.section == given["section"]), None)
            at_m = way.along_m(given["section"], given["at_m"])
            if leg is None or at_m is None:
                continue
            if given["what"] == FLEXING:
                found.append({"method": Method.FLEXING.value, "at_m": at_m, "within_m": WITHIN_M})
            elif given["what"] in (SOUND_TO_START, SOUND_TO_FINISH):
                side = Side.NEAR if leg.forwards is (given["what"] == SOUND_TO_START) else Side.FAR
                found.append({"method": Method.OPENING.value, "at_m": at_m, "sound_towards": side.value})
        return found

    def _seen(self) -> list[dict[str, Any]]:
        return [given for form in self.seen.forms if (given := form.cleaned_data).get("what")]

    def with_rows(self, pairs: Iterable[tuple[str, str]], blank: int) -> Rows:
        """The rows that were typed, then those pairs that no row has, then empty ones."""
        typed = [
            {name: given.get(name) for name in ReadingRow.base_fields}
            for form in self.rows.forms
            if (given := form.cleaned_data) and (given["probes"] or given["shows"])
        ]
        known = {frozenset(str(row["probes"]).replace(",", " ").split()) for row in typed if row["probes"]}
        fresh = [pair for pair in dict.fromkeys(pairs) if frozenset(pair) not in known]
        rows: list[dict[str, Any]] = [
            *typed,
            *({"probes": " ".join(pair)} for pair in fresh),
            *({} for _ in range(blank)),
        ]
        return ReadingRows(prefix="rows", initial=rows[:MOST_ROWS])

    def with_seen(self) -> SeenRows:
        """The places that were filled in, then two empty ones."""
        return SeenFormSet(prefix="seen", initial=self._seen(), form_kwargs={"document": self.document})
