"""Files of a map: document, drawings, wire list; and the schema. Plain Django views, since nothing is negotiated."""

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.http import require_safe

from api.errors import answers_problems
from catalogue.core.problems import NotFound
from catalogue.usecases import drawings, maps, published
from catalogue.usecases.drawings import Chart, Format

# An SVG opened by itself must run nothing and reach nowhere.
SANDBOX = "default-src 'none'; style-src 'unsafe-inline'; sandbox"


@require_safe
@answers_problems
def document(request: HttpRequest, map_id: int) -> HttpResponseBase:
    """The document as submitted, in canonical JSON."""
    document, content_hash = maps.document_bytes(map_id)
    return _file(request, document, "application/json", content_hash, f"map-{map_id}.json")


@require_safe
@answers_problems
def drawing(request: HttpRequest, map_id: int, chart: str, form: str) -> HttpResponseBase:
    """A drawing of a map; `?mirrored=1` shows the faces from the solder side."""
    if chart not in set(Chart) or form not in set(Format):
        charts, forms = ", ".join(Chart), ", ".join(Format)
        raise NotFound(f"There is no drawing {chart}.{form}. Drawings are {charts}, each as {forms}.")
    row, kind = maps.map_by_id(map_id), Format(form)
    drawn, tag = drawings.drawing(row, Chart(chart), kind, mirrored="mirrored" in request.GET)
    name = f"{row.cable.slug}-{row.number}-{chart}.{form}"
    return _file(request, drawn, kind.media_type, tag, name)


@require_safe
@answers_problems
def wire_list(request: HttpRequest, map_id: int) -> HttpResponseBase:
    """The from-to list as CSV."""
    row = maps.map_by_id(map_id)
    name = f"{row.cable.slug}-{row.number}-wire-list.csv"
    return _file(request, maps.wire_list(row), "text/csv; charset=utf-8", row.content_hash, name)


@require_safe
def map_schema(request: HttpRequest) -> HttpResponse:
    return HttpResponse(published.map_schema(), content_type="application/schema+json")


def _file(request: HttpRequest, content: str | bytes, media_type: str, tag: str, name: str) -> HttpResponseBase:
    etag = quote_etag(tag)
    response = HttpResponse(content, content_type=media_type)
    response["ETag"] = etag
    response["Cache-Control"] = "no-cache"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    response["Content-Security-Policy"] = SANDBOX
    answer: Any = get_conditional_response(request, etag=etag, response=response)
    return answer or response
