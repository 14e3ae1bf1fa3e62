"""The page of a cable, by its newest map or by an older revision, and the readings of a map as a file.

Everything here is arranging for the eye: nets by end, failure points on a strip. What it means comes from
the guide.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import mark_safe
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from catalogue.core.document import Core, End, MapDocument, Net, Path, end_of
from catalogue.core.failures import Ending
from catalogue.core.problems import DrawingUnavailable
from catalogue.core.reference import Colour
from catalogue.core.words import RIDES_ON
from catalogue.usecases import cables, drawings, maps, published
from catalogue.usecases.guides import Guide, guide_of
from catalogue.usecases.submissions import connector_titles, readings_of
from catalogue.views.findings import grouped
from catalogue.views.found import or_404
from catalogue.views.strip import strips

REPORTS_SHOWN = 20
FEW_ENDINGS = 5
"""Of fewer stories that ended, the counts say little about the next cable: with 3 of 4 mended, a 95 %
interval (Wilson) still reaches from 30 % to 95 %."""

MOST_END_COLUMNS = 3

PATHS_NAMED = 6
"""Paths that the guide names; of more, it gives the number."""


@gzip_page
@require_safe
def cable(request: HttpRequest, slug: str) -> HttpResponse:
    """A cable by its newest map."""
    found = or_404(cables.cable_by_slug, slug)
    if found.latest is None:
        return render(request, "cable/unmapped.html", {"cable": found})
    return _page(request, guide_of(found, found.latest))


@gzip_page
@require_safe
def revision(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """A cable by one revision of its map."""
    row = or_404(maps.map_of_cable, slug, number)
    return _page(request, guide_of(row.cable, row))


@require_safe
def readings(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """The readings of a map as CSV."""
    row = or_404(maps.map_of_cable, slug, number)
    response = HttpResponse(readings_of(row), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{slug}-{number}-readings.csv"'
    return response


@dataclass(frozen=True, slots=True)
class EndLine:
    """An end with what its connector is called and how many contacts it has."""

    end: End
    title: str
    contact_count: int


@dataclass(frozen=True, slots=True)
class Wire:
    """A core with its colours."""

    core: Core
    colours: tuple[Colour, ...]


@dataclass(frozen=True, slots=True)
class EndContacts:
    """The contacts of a net at one end, without the end's name."""

    end: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NetLine:
    """A net as one line of the table: its contacts by end, in the order of the ends, and its cores."""

    net: Net
    by_end: tuple[EndContacts, ...]
    wires: tuple[Wire, ...]


@dataclass(frozen=True, slots=True)
class PathLine:
    path: Path
    wires: tuple[Wire, ...]


@dataclass(frozen=True, slots=True)
class ShownChart:
    """A drawing to put into a page, or why there is none."""

    markup: str
    problem: str


def _page(request: HttpRequest, guide: Guide) -> HttpResponse:
    document, row = guide.document, guide.row
    wires = _wires(document)
    context = {
        "cable": guide.cable,
        "row": row,
        "is_newest": row.pk == guide.cable.latest_id,
        "guide": guide,
        "ways": [way for way in RIDES_ON if way in guide.rides_on],
        "named_paths": guide.paths[:PATHS_NAMED],
        "more_paths": len(guide.paths[PATHS_NAMED:]),
        "ends": _ends(guide),
        "has_end_columns": len(document.ends) <= MOST_END_COLUMNS,
        "nets": [NetLine(net, _by_end(net, document), wires.get(net.name, ())) for net in document.nets],
        "paths": [PathLine(path, wires.get(path.name, ())) for path in document.paths],
        "findings": grouped(maps.findings_of(row)),
        "rail": _chart(guide, drawings.Chart.RAIL),
        "face": _chart(guide, drawings.Chart.FACE),
        "strips": strips(document.sections, guide.points),
        "endings": [(ending, guide.endings[ending]) for ending in Ending if guide.endings[ending]],
        "is_small_sample": guide.ended < FEW_ENDINGS,
        "reports": guide.reports[:REPORTS_SHOWN],
        "revisions": cables.revisions_of(guide.cable),
    }
    return render(request, "cable/cable.html", context)


def _ends(guide: Guide) -> list[EndLine]:
    titles = connector_titles()
    counts = {end.name: end.contact_count for end in guide.row.ends.all()}
    return [
        EndLine(end, titles.get(end.connector, "a connector of its own"), counts.get(end.name, 0))
        for end in guide.document.ends
    ]


def _wires(document: MapDocument) -> dict[str, tuple[Wire, ...]]:
    """The cores of each net and path by its name."""
    colours = {colour.code: colour for colour in published.colours()[0]}
    wires: dict[str, tuple[Wire, ...]] = {}
    for core in document.cores:
        known = tuple(colours[code] for code in core.colours if code in colours)
        wires[core.carries] = (*wires.get(core.carries, ()), Wire(core, known))
    return wires


def _by_end(net: Net, document: MapDocument) -> tuple[EndContacts, ...]:
    contacts: dict[str, list[str]] = {}
    for contact in net.contacts:
        contacts.setdefault(end_of(contact), []).append(contact.partition(":")[2])
    return tuple(EndContacts(end.name, tuple(contacts.get(end.name, ()))) for end in document.ends)


def _chart(guide: Guide, chart: drawings.Chart) -> ShownChart:
    try:
        return ShownChart(mark_safe(drawings.inline(guide.row, chart)), "")
    except DrawingUnavailable as problem:
        return ShownChart("", problem.text)
