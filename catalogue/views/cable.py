"""The page of a cable, by its newest map or by an older revision, and the readings of a map as a file.

Everything here is arranging for the eye: nets by end, failure points on a strip. What it means comes from
the guide.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import mark_safe
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from catalogue.core.document import Core, End, MapDocument, Net, Path, end_of
from catalogue.core.problems import DrawingUnavailable
from catalogue.core.reference import Colour
from catalogue.core.words import RIDES_ON, word
from catalogue.usecases import cables, confirmations, drawings, maps, published
from catalogue.usecases.guides import Guide, guide_of
from catalogue.usecases.submissions import connector_titles, readings_of
from catalogue.views.findings import grouped
from catalogue.views.found import or_404
from catalogue.views.strip import strips

REPORTS_FIRST, REPORTS_SHOWN = 5, 20
"""Reports that are read at once, and with those that open below them."""

POINTS_FIRST = 6
"""Failure points in the table before the rest opens below it."""

FEW_ENDINGS = 5
"""Of fewer stories that ended, the counts say little about the next cable: with 3 of 4 mended, a 95 %
interval (Wilson) still reaches from 30 % to 95 %."""

MOST_END_COLUMNS = 3

SIZE = re.compile(r'<svg[^>]* viewBox="[\d.-]+ [\d.-]+ (?P<width>[\d.]+) (?P<height>[\d.]+)"')
TALL = 0.95
"""Height over width from which a chart is larger on upright A4: 182 mm across there, 175 mm high lengthwise."""

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


@gzip_page
@require_safe
def bench_sheet(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """The pages of the bench sheet of a map, to print."""
    row = or_404(maps.map_of_cable, slug, number)
    try:
        pages, problem = [mark_safe(page) for page in drawings.inline_bench_sheet(row)], ""
    except DrawingUnavailable as unavailable:
        pages, problem = [], unavailable.text
    context = {"cable": row.cable, "row": row, "pages": pages, "problem": problem}
    return render(request, "cable/bench_sheet.html", context)


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
    """A net as one line of the table: its contacts by end, in the order of the ends, and its cores.

    `handle` marks it in the charts, and `told` is what is said of it when it is pointed at there.
    """

    net: Net
    by_end: tuple[EndContacts, ...]
    wires: tuple[Wire, ...]
    handle: str

    @property
    def told(self) -> str:
        role = word(self.net.role) + ("" if self.net.volts is None else f", {self.net.volts:g} V")
        ends = "; ".join(f"{each.end} {' '.join(each.names)}" for each in self.by_end if each.names)
        return f"{self.net.name}: {role}. {ends}.{_colour_words(self.wires)}"


@dataclass(frozen=True, slots=True)
class PathLine:
    """A path as one line of the table; `handle` and `told` as of a net."""

    path: Path
    wires: tuple[Wire, ...]
    handle: str

    @property
    def told(self) -> str:
        path = self.path
        way = f"through {word(path.via)}, no conductor"
        return f"{path.name}: {way}. {path.start} to {path.finish}.{_colour_words(self.wires)}"


@dataclass(frozen=True, slots=True)
class ShownChart:
    """A drawing to put into a page, or why there is none."""

    markup: str
    problem: str

    @property
    def is_tall(self) -> bool:
        """Whether more of it fits on paper upright than lengthwise."""
        size = SIZE.search(self.markup)
        return size is not None and float(size["height"]) > TALL * float(size["width"])


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
        "nets": [
            NetLine(net, _by_end(net, document), wires.get(net.name, ()), drawings.net_handle(number))
            for number, net in enumerate(document.nets)
        ],
        "paths": [
            PathLine(path, wires.get(path.name, ()), drawings.net_handle(number))
            for number, path in enumerate(document.paths, start=len(document.nets))
        ],
        "contacts": drawings.contact_handles(row).items(),
        "findings": grouped(maps.findings_of(row)),
        "rail": _chart(guide, drawings.Chart.RAIL),
        "face": _chart(guide, drawings.Chart.FACE),
        "strips": strips(document.sections, guide.points),
        "confirmations": confirmations.verdicts_of(row),
        "is_small_sample": guide.ended < FEW_ENDINGS,
        "reports": guide.reports[:REPORTS_FIRST],
        "more_reports": guide.reports[REPORTS_FIRST:REPORTS_SHOWN],
        "most_reports": REPORTS_SHOWN,
        "points": guide.points[:POINTS_FIRST],
        "more_points": guide.points[POINTS_FIRST:],
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


def _colour_words(wires: tuple[Wire, ...]) -> str:
    """The colours of cores as a sentence, each once; empty where none is told."""
    told = dict.fromkeys(" and ".join(f"{each.name} ({each.code})" for each in wire.colours) for wire in wires)
    words = ", ".join(filter(None, told))
    return f" Cores: {words}." if words else ""


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
