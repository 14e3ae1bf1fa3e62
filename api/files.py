"""Files of a map: document, drawings, wire list; and the schema. Plain Django views, since nothing is negotiated."""

from hashlib import sha256
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from drf_spectacular.utils import OpenApiParameter
from rest_framework.exceptions import Throttled

from api.described import Answer, Operation, described_plainly
from api.errors import answers_problems, read_only
from api.limits import Drawings, counted
from catalogue.core.problems import BadRequest, DrawingUnavailable, NotFound, Withdrawn
from catalogue.usecases import drawings, maps, published
from catalogue.usecases.drawings import Chart, Format

MOST_DIGITS = 4
"""As many digits as the number of a page can have."""

# An SVG opened by itself must run nothing and reach nowhere.
SANDBOX = "default-src 'none'; style-src 'unsafe-inline'; sandbox"


@described_plainly(
    Operation(
        "read_document",
        "The document of a map as submitted, in canonical JSON.",
        {200: Answer("The document.", "MapDocument")},
        problems=[NotFound, Withdrawn],
    )
)
@answers_problems
@read_only
def document(request: HttpRequest, map_id: int) -> HttpResponseBase:
    document, content_hash = maps.document_bytes(map_id)
    return file_response(request, document, "application/json", content_hash, f"map-{map_id}.json")


@described_plainly(
    Operation(
        "read_drawing",
        """
        A drawing of a map.

        Rail chart, face chart, or bench sheet. The same map always gives the same drawing.
        """,
        {200: Answer("The drawing.", {"type": "string"}, media_types=[form.media_type for form in Format])},
        problems=[BadRequest, DrawingUnavailable, NotFound, Throttled, Withdrawn],
        asks=[
            OpenApiParameter("chart", {"enum": [chart.value for chart in Chart]}, OpenApiParameter.PATH),
            OpenApiParameter("form", {"enum": [form.value for form in Format]}, OpenApiParameter.PATH),
            OpenApiParameter("mirrored", {"const": "1"}, description="Faces from the solder side."),
            OpenApiParameter(
                "page",
                {"type": "integer", "minimum": 1, "maximum": 9999},
                description="Of a bench sheet. Without it a PDF has all pages, and any other file the first.",
            ),
        ],
    )
)
@answers_problems
@read_only
@counted(Drawings)
def drawing(request: HttpRequest, map_id: int, chart: str, form: str) -> HttpResponseBase:
    if chart not in set(Chart):
        raise NotFound(f"There is no drawing {chart}. Drawings are {', '.join(Chart)}.")
    kind, row = format_named(chart, form), maps.map_by_id(map_id)
    refusal = "The page of a drawing is asked for by its number, such as page=2."
    page = number_asked(request.GET["page"], MOST_DIGITS, refusal) if "page" in request.GET else None
    drawn, tag = drawings.drawing(row, Chart(chart), kind, mirrored="mirrored" in request.GET, page=page)
    name = f"{row.cable.slug}-{row.number}-{chart}{f'-{page}' if page else ''}.{form}"
    return file_response(request, drawn, kind.media_type, tag, name)


@described_plainly(
    Operation(
        "read_wire_list",
        "The from-to list of a map as CSV.",
        {200: Answer("The list.", {"type": "string"}, media_types=["text/csv"])},
        problems=[NotFound, Throttled, Withdrawn],
    )
)
@answers_problems
@read_only
@counted(Drawings)
def wire_list(request: HttpRequest, map_id: int) -> HttpResponseBase:
    row = maps.map_by_id(map_id)
    name = f"{row.cable.slug}-{row.number}-wire-list.csv"
    return file_response(request, maps.wire_list(row), "text/csv; charset=utf-8", row.content_hash, name)


@described_plainly(
    Operation(
        "read_map_schema",
        "The JSON Schema (2020-12) of the map document.",
        {200: Answer("The schema.", {"type": "object"}, media_types=["application/schema+json"])},
    )
)
@answers_problems
@read_only
def map_schema(request: HttpRequest) -> HttpResponseBase:
    return schema_response(request, published.map_schema(), "map.schema.json")


def format_named(chart: str, form: str) -> Format:
    """The format that a drawing is asked for in. Raises NotFound."""
    if form not in set(Format):
        raise NotFound(f"There is no drawing {chart}.{form}. Each is drawn as {', '.join(Format)}.")
    return Format(form)


def as_file(content: str | bytes, media_type: str, name: str) -> HttpResponse:
    """A file as an answer that can do nothing in the browser that shows it."""
    response = HttpResponse(content, content_type=media_type)
    response["Content-Disposition"] = f'inline; filename="{name}"'
    response["Content-Security-Policy"] = SANDBOX
    return response


def number_asked(asked: str, most_digits: int, refusal: str) -> int:
    """A number of an address. Raises BadRequest with `refusal` for what is none, or has too many digits."""
    if not (asked.isascii() and asked.isdecimal() and len(asked) <= most_digits):
        raise BadRequest(refusal)
    return int(asked)


def schema_response(request: HttpRequest, schema: str, name: str) -> HttpResponseBase:
    """A JSON Schema as a file."""
    return file_response(request, schema, "application/schema+json", sha256(schema.encode()).hexdigest(), name)


def file_response(request: HttpRequest, content: str | bytes, media_type: str, tag: str, name: str) -> HttpResponseBase:
    """The file, or 304 for who has it already; `tag` names this version of it."""
    etag = quote_etag(tag)
    response = as_file(content, media_type, name)
    response["ETag"] = etag
    response["Cache-Control"] = "no-cache"
    answer: Any = get_conditional_response(request, etag=etag, response=response)
    return answer or response
