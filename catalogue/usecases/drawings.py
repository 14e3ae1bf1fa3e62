"""Drawings of a stored map, cached by the content of the drawing itself, so that a cached one is never stale."""

import hashlib
import re
from enum import StrEnum

from django.core.cache import cache

from catalogue import tables
from catalogue.core.failures import FailurePoint
from catalogue.drawing.face import face_chart
from catalogue.drawing.rail import rail_chart
from catalogue.drawing.render import Format, inline_svg, render
from catalogue.drawing.title import ReportCount, TitleBlock
from catalogue.models import MapRevision
from catalogue.usecases.failures import points_of
from catalogue.usecases.maps import wiring_of

__all__ = ["Chart", "Format", "drawing", "inline"]

CACHE_SECONDS = 30 * 24 * 3600

SHRUNK = 'width="100%" '
PIXELS_PER_POINT = 4 / 3
"""Pixels of a style sheet for a point of a drawing (CSS Values and Units Level 3, section 5.2)."""


class Chart(StrEnum):
    RAIL = "rail"
    FACE = "face"


def drawing(row: MapRevision, chart: Chart, form: Format, mirrored: bool = False) -> tuple[bytes, str]:
    """The drawing's bytes and a tag that names them. Raises DrawingUnavailable.

    `mirrored` shows the faces from the solder side and has no meaning for a rail chart.
    """
    dot = _dot(row, chart, mirrored)
    tag = hashlib.sha256(f"{form}\n{dot}".encode()).hexdigest()
    drawn = cache.get(tag)
    if drawn is None:
        drawn = render(dot, form)
        cache.set(tag, drawn, CACHE_SECONDS)
    return drawn, tag


def inline(row: MapRevision, chart: Chart) -> str:
    """The drawing as markup that stands in a page, at its own size: shrunk to a phone nobody could read it.

    Raises DrawingUnavailable.
    """
    markup = inline_svg(drawing(row, chart, Format.SVG)[0])

    def at_own_size(found: re.Match[str]) -> str:
        width, height = (round(float(points) * PIXELS_PER_POINT) for points in found.groups())
        return f'{found[0]} width="{width}" height="{height}" aria-label="{chart.capitalize()} chart"'

    return re.sub(r'viewBox="\S+ \S+ (\S+) (\S+)"', at_own_size, markup.replace(SHRUNK, "", 1), count=1)


def _dot(row: MapRevision, chart: Chart, mirrored: bool) -> str:
    wiring, title = wiring_of(row), _title(row)
    if chart is Chart.FACE:
        return face_chart(wiring, tables.reference(), title, mirrored)
    return rail_chart(wiring, tables.reference(), title, [_report_count(point) for point in points_of(row.cable)])


def _title(row: MapRevision) -> TitleBlock:
    hardware = f", hardware revision {row.hardware_revision}" if row.hardware_revision else ""
    return TitleBlock(
        name=f"{row.cable}{hardware}",
        revision=f"map revision {row.number}",
        drawn=row.created_at.date().isoformat(),
    )


def _report_count(point: FailurePoint) -> ReportCount:
    return ReportCount(place=point.section or point.place, at_m=point.at_m, count=point.count)
