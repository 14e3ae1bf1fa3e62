"""The whole catalogue as a file, and the changes that a mirror follows. Plain Django views: they give ready lines."""

import json
import tempfile
from hashlib import file_digest, sha256
from typing import Any

from django.http import FileResponse, HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from drf_spectacular.utils import OpenApiParameter
from rest_framework.exceptions import Throttled

from api.described import Answer, Operation, described_plainly
from api.errors import answers_problems, read_only
from api.files import file_response, number_asked, schema_response
from api.limits import Changes, Exports, counted
from catalogue.core.problems import BadRequest, Conflict
from catalogue.usecases.changes import Told, changes_since
from catalogue.usecases.exports import export_schema, write_export

MOST_DIGITS = 15
"""As many digits as the number of a change can have."""


@described_plainly(
    Operation(
        "read_catalogue",
        "The whole catalogue as NDJSON: a header, an entry a line, and an end with counts and checksums.",
        {200: Answer("The lines.", {"type": "string"}, media_types=["application/x-ndjson"])},
        problems=[Throttled],
    )
)
@answers_problems
@read_only
@counted(Exports)
def catalogue(request: HttpRequest) -> HttpResponseBase:
    return _export(request, "application/x-ndjson", "corelore.ndjson", is_packed=False)


@described_plainly(
    Operation(
        "read_packed_catalogue",
        "The whole catalogue as NDJSON, gzipped.",
        {200: Answer("The file.", {"type": "string"}, media_types=["application/gzip"])},
        problems=[Throttled],
    )
)
@answers_problems
@read_only
@counted(Exports)
def packed_catalogue(request: HttpRequest) -> HttpResponseBase:
    return _export(request, "application/gzip", "corelore.ndjson.gz", is_packed=True)


@described_plainly(
    Operation(
        "read_export_schema",
        "The JSON Schema (2020-12) of the lines of an export, and so of the entries of changes.",
        {200: Answer("The schema.", {"type": "object"}, media_types=["application/schema+json"])},
    )
)
@answers_problems
@read_only
def line_schema(request: HttpRequest) -> HttpResponseBase:
    return schema_response(request, export_schema(), "export.schema.json")


@described_plainly(
    Operation(
        "read_changes",
        """
        What changed after a number, in order.

        `entry` is a line of an export, or null for what is not shown now. `next` is where to ask for more: now when
        `has_more`, else later. A number beyond the last one is a conflict: the site began anew.
        """,
        {200: Answer("The next changes.", "Changes")},
        problems=[BadRequest, Conflict, Throttled],
        asks=[
            OpenApiParameter("since", {"type": "integer", "minimum": 0, "maximum": 10**MOST_DIGITS - 1, "default": 0})
        ],
    )
)
@answers_problems
@read_only
@counted(Changes)
def changes(request: HttpRequest) -> HttpResponseBase:
    refusal = "Changes are asked for after a number, such as since=120, or since=0 for all."
    page = changes_since(number_asked(request.GET.get("since", "0"), MOST_DIGITS, refusal))
    following = request.build_absolute_uri(f"{reverse('api-changes')}?since={page.last}")
    told = ",".join(map(_told, page.changes))
    rest = json.dumps({"last": page.last, "has_more": page.has_more, "next": following})
    # The lines are JSON already, and long.
    body = f'{{"licence": "CC0-1.0", "changes": [{told}], {rest[1:]}'
    return file_response(request, body, "application/json", sha256(body.encode()).hexdigest(), "changes.json")


def _told(change: Told) -> str:
    return f'{{"number":{change.number},"kind":"{change.kind}","entry":{change.line or "null"}}}'


def _export(request: HttpRequest, media_type: str, name: str, is_packed: bool) -> HttpResponseBase:
    """Written to a file first, so that the store's moment is not held for as long as a slow reader takes."""
    file = tempfile.TemporaryFile()  # noqa: SIM115  # closed with the response
    write_export(file, is_packed)
    file.seek(0)
    etag = quote_etag(file_digest(file, "sha256").hexdigest())
    file.seek(0)
    response: Any = FileResponse(file, content_type=media_type, as_attachment=True, filename=name)
    response["ETag"] = etag
    answer: HttpResponseBase = get_conditional_response(request, etag=etag, response=response)
    if answer is not response:
        file.close()
    return answer
