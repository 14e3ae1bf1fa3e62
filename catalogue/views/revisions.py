"""What changed from one revision of a map to another, as a table in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from catalogue.core.difference import Change, Difference, FieldChange, Sign, Thing
from catalogue.core.words import WORDS
from catalogue.usecases import cables
from catalogue.usecases.revisions import compare
from catalogue.views.found import or_404

THINGS = {
    Thing.CABLE: "Cable",
    Thing.END: "End",
    Thing.MODULE: "Module",
    Thing.SPLIT: "Split",
    Thing.SECTION: "Section",
    Thing.NET: "Net",
    Thing.PATH: "Path",
    Thing.CORE: "Core",
    Thing.PART: "Part",
    Thing.MARK: "Mark",
    Thing.OPENING: "Opening",
    Thing.FAULT: "Fault",
    Thing.METER: "Meter",
}
SIGNS = {Sign.ADDED: ("+", "added"), Sign.REMOVED: ("−", "removed"), Sign.CHANGED: ("≠", "changed")}
FIELDS = {
    "revision": ("hardware revision", ""),
    "pitch_mm": ("pitch", "mm"),
    "start": ("from", ""),
    "finish": ("to", ""),
    "length_m": ("length", "m"),
    "at_m": ("at", "m"),
    "colours": ("colour", ""),
    "awg": ("gauge", "AWG"),
    "area_mm2": ("cross-section", "mm²"),
    "carries": ("carries", ""),
    "volts": ("nominal", "V"),
    "via": ("goes through", ""),
    "basis": ("known by", ""),
    "lead_ohms": ("probes held together", "Ω"),
    "contact_ohms": ("contacts", "Ω"),
    "accuracy_pct": ("accuracy", "%"),
    "accuracy_digits": ("accuracy", "digits"),
    "range_ohms": ("range", "Ω"),
    "beep_ohms": ("buzzer", "Ω"),
    "join_ohms": ("joined up to", "Ω"),
}
"""Fields whose names are no words that people read, with their units."""

NOT_TOLD = "not told"


@dataclass(frozen=True, slots=True)
class Told:
    """One field in words, before and after."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: a sign with its word, the thing, and what it says.

    What was added says only what comes `after`, what was removed only what was `before`.
    """

    sign: str
    word: str
    thing: str
    name: str
    fields: tuple[Told, ...]


@gzip_page
@require_safe
def difference(request: HttpRequest, slug: str, number: int, other: int) -> HttpResponse:
    """What changed from revision `number` to revision `other`."""
    compared = or_404(compare, slug, number, other)
    context = {
        "cable": compared.before.cable,
        "before": compared.before,
        "after": compared.after,
        "difference": compared.difference,
        "rows": list(_rows(compared.difference)),
        "revisions": cables.revisions_of(compared.before.cable),
    }
    return render(request, "cable/difference.html", context)


def _rows(told: Difference) -> Iterator[Row]:
    for old, new in told.renamed:
        yield Row("≠", "renamed", THINGS[Thing.NET], new, (Told("name", old, new),))
    for change in told.changes:
        yield _row(change)


def _row(change: Change) -> Row:
    sign, word = SIGNS[change.sign]
    fields = [_told(each) for each in change.fields]
    if change.sign is not Sign.CHANGED:
        fields = [each for each in fields if (each.before, each.after) != (NOT_TOLD, NOT_TOLD)]
    return Row(sign, word, THINGS[change.thing], change.name, tuple(fields))


def _told(change: FieldChange) -> Told:
    label, unit = FIELDS.get(change.field, (change.field.replace("_", " "), ""))
    before, after = (_shown(value, unit) for value in (change.before, change.after))
    return Told(label, before, after)


def _shown(value: Any, unit: str) -> str:
    """A value of a document in words."""
    if value in (None, "", ()):
        return NOT_TOLD
    if isinstance(value, StrEnum):
        return WORDS.get(type(value), {}).get(value, value.value)
    if unit == "Ω" and isinstance(value, float | int) and value >= 1e6:
        return f"{value / 1e6:,.10g} MΩ"
    if isinstance(value, float | int):
        return f"{value:,.10g} {unit}".rstrip()
    if isinstance(value, tuple):
        parted = " / " if isinstance(value[0], tuple) else " to " if unit else " "
        return parted.join(_shown(each, "") if each else "_" for each in value) + (f" {unit}" if unit else "")
    return str(value)
