"""Drawings of a stored map, and of a specimen held against one, cached by the content of the drawing itself, so that
a cached one is never stale."""

import hashlib
import re
from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum

from django.core.cache import cache

from catalogue import tables
from catalogue.core.document import Point
from catalogue.core.failures import FailurePoint
from catalogue.core.problems import BadRequest, Defect, NotFound
from catalogue.core.still_to_read import still_to_read
from catalogue.drawing.bench_sheet import bench_sheet
from catalogue.drawing.captions import TITLE_BOTTOM
from catalogue.drawing.contacts import contacts_of
from catalogue.drawing.density import Break
from catalogue.drawing.face import face_chart
from catalogue.drawing.fault import fault_chart
from catalogue.drawing.pages import bound
from catalogue.drawing.rail import rail_chart
from catalogue.drawing.render import Format, inline_svg, render
from catalogue.drawing.title import ReportCount, TitleBlock
from catalogue.models import MapRevision
from catalogue.usecases.diagnoses import Answer
from catalogue.usecases.failures import points_of
from catalogue.usecases.maps import document_of, map_by_id, wiring_of

__all__ = [
    "Break",
    "Chart",
    "Format",
    "contact_handles",
    "drawing",
    "fault_drawing",
    "fault_drawing_of",
    "inline",
    "inline_bench_sheet",
    "inline_fault",
    "net_handle",
]

CACHE_SECONDS = 30 * 24 * 3600
SPECIMEN_CACHE_SECONDS = 3600
"""For as long as somebody works at one specimen: saving its chart draws nothing anew."""

SHRUNK = 'width="100%" '
PIXELS_PER_POINT = 4 / 3
"""Pixels of a style sheet for a point of a drawing (CSS Values and Units Level 3, section 5.2)."""


class Chart(StrEnum):
    RAIL = "rail"
    FACE = "face"
    BENCH_SHEET = "bench-sheet"


def drawing(
    row: MapRevision, chart: Chart, form: Format, mirrored: bool = False, page: int | None = None
) -> tuple[bytes, str]:
    """The drawing's bytes and a tag that names them. Raises DrawingUnavailable, or NotFound for a page too many.

    `mirrored` shows the faces of a face chart from the solder side; only a bench sheet has pages beyond the first.
    Where no `page` is named a PDF has all of them, and any other file the first.
    """
    pages = _pages(row, chart, mirrored)
    if page is None and form is Format.PDF and len(pages) > 1:
        return _bound(pages)
    number = 1 if page is None else page
    if not 1 <= number <= len(pages):
        raise NotFound(f"There is no page {number} of this drawing: it has {len(pages)}.")
    return _drawn(pages[number - 1], form)


def inline(row: MapRevision, chart: Chart) -> str:
    """A chart as markup that stands in a page, at its own size: shrunk to a phone nobody could read it.

    Its title is left to the page, where it is not cut off by what the chart scrolls in. Raises DrawingUnavailable.
    """
    return _markup(_pages(row, chart, mirrored=False)[0], f"{chart.capitalize()} chart", TITLE_BOTTOM)


def inline_bench_sheet(row: MapRevision) -> list[str]:
    """The pages of the bench sheet as markup. Raises DrawingUnavailable."""
    pages = _pages(row, Chart.BENCH_SHEET, mirrored=False)
    return [_markup(dot, f"Bench sheet, page {number} of {len(pages)}") for number, dot in enumerate(pages, start=1)]


def contact_handles(row: MapRevision) -> dict[str, Point]:
    """The class that marks a contact in every chart of a map, and the contact."""
    return {
        f"contact-{number}": contact
        for contact, number in contacts_of(wiring_of(row), tables.reference()).number.items()
    }


def net_handle(number: int) -> str:
    """The class that marks a net or path in every chart, by its place among the nets, then the paths, of its map."""
    return f"net-{number}"


def fault_drawing(row: MapRevision, answer: Answer, located: Break | None, form: Format) -> bytes:
    """The fault chart of a specimen that was held against a map. Raises DrawingUnavailable."""
    return _drawn(_fault_dot(row, answer, located), form, SPECIMEN_CACHE_SECONDS)[0]


def fault_drawing_of(answer: Answer, form: Format) -> bytes:
    """The same of an answer alone, which tells of no place of a break.

    Raises DrawingUnavailable, and BadRequest where no map was asked of: a standard has no length to draw along.
    """
    if answer.map_id is None:
        defect = Defect("", "Only a cable that has a map can be drawn.", "Name a map or a cable.")
        raise BadRequest("There is nothing to draw the fault chart along.", (defect,))
    return fault_drawing(map_by_id(answer.map_id), answer, None, form)


def inline_fault(row: MapRevision, answer: Answer, located: Break | None) -> str:
    """The fault chart as markup that stands in a page, at its own size, without title. Raises DrawingUnavailable."""
    return _markup(_fault_dot(row, answer, located), "Fault chart", TITLE_BOTTOM, SPECIMEN_CACHE_SECONDS)


def _drawn(dot: str, form: Format, seconds: int = CACHE_SECONDS) -> tuple[bytes, str]:
    """The drawing of a DOT text and a tag that names it, from the cache or kept there for so long."""
    tag = hashlib.sha256(f"{form}\n{dot}".encode()).hexdigest()
    drawn = cache.get(tag)
    if drawn is None:
        drawn = render(dot, form)
        cache.set(tag, drawn, seconds)
    return drawn, tag


def _bound(pages: Sequence[str]) -> tuple[bytes, str]:
    """One PDF of all pages, each a DOT text, and a tag that names it."""
    drawn = [_drawn(dot, Format.PDF) for dot in pages]
    return bound(page for page, _ in drawn), hashlib.sha256("".join(tag for _, tag in drawn).encode()).hexdigest()


def _markup(dot: str, name: str, top: float = 0, seconds: int = CACHE_SECONDS) -> str:
    """The drawing from `top` on, in points."""

    def at_own_size(found: re.Match[str]) -> str:
        width, height = float(found[1]), float(found[2]) - top
        size = f'width="{width * PIXELS_PER_POINT:.0f}" height="{height * PIXELS_PER_POINT:.0f}"'
        return f'viewBox="0 {top:g} {width:.2f} {height:.2f}" {size} aria-label="{name}"'

    markup = inline_svg(_drawn(dot, Format.SVG, seconds)[0]).replace(SHRUNK, "", 1)
    return re.sub(r'viewBox="0.00 0.00 (\S+) (\S+)"', at_own_size, markup, count=1)


def _pages(row: MapRevision, chart: Chart, mirrored: bool) -> tuple[str, ...]:
    """The DOT of a drawing, of each of its pages."""
    wiring, title, reference = wiring_of(row), _title(row), tables.reference()
    if chart is Chart.BENCH_SHEET:
        asked = still_to_read(replace(wiring, readings=document_of(row).readings), reference)
        return bench_sheet(wiring, reference, title, asked)
    if chart is Chart.FACE:
        return (face_chart(wiring, reference, title, mirrored),)
    return (rail_chart(wiring, reference, title, [_report_count(point) for point in points_of(row.cable)]),)


def _fault_dot(row: MapRevision, answer: Answer, located: Break | None) -> str:
    reports = [_report_count(point) for point in points_of(row.cable)]
    return fault_chart(answer.specimen, tables.reference(), _title(row), answer.diagnosis.rails, located, reports)


def _title(row: MapRevision) -> TitleBlock:
    hardware = f", hardware revision {row.hardware_revision}" if row.hardware_revision else ""
    return TitleBlock(
        name=f"{row.cable}{hardware}",
        revision=f"map revision {row.number}",
        drawn=row.created_at.date().isoformat(),
    )


def _report_count(point: FailurePoint) -> ReportCount:
    return ReportCount(place=point.section or point.place, at_m=point.at_m, count=point.count)
