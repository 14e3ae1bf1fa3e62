"""The description of this API as an OpenAPI 3.1 document, made of what stands beside each view.

Serializers are read by drf-spectacular; what `catalogue.exchange` takes and gives has JSON Schemas of its own. An
answer has no field that is not in the document: all its objects are closed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from hashlib import sha256
from http import HTTPStatus
from importlib import resources
from inspect import cleandoc
from json import dumps
from typing import Any

from django.http import HttpRequest, HttpResponseBase
from drf_spectacular.authentication import BasicScheme
from drf_spectacular.contrib.knox_auth_token import KnoxTokenScheme
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter
from rest_framework import exceptions
from rest_framework.permissions import SAFE_METHODS, IsAuthenticated, IsAuthenticatedOrReadOnly

from api import limits
from api.credentials import Passwords, Tokens
from api.described import JSON, Answer, Operation, PageOf, ResultsOf, Shape, described_plainly
from api.errors import MEDIA_TYPE, OF_THE_SITE, STATUS_OF, answers_problems, read_only, status_and_code
from api.files import file_response
from api.repeats import KEY, LONGEST_KEY
from api.resources import Resource
from catalogue.core.problems import BadRequest, KeyReused, Problem, TooLarge
from catalogue.usecases import published

Json = dict[str, Any]


class TokenScheme(KnoxTokenScheme):  # type: ignore[no-untyped-call]  # the library has no types
    target_class = Tokens


class PasswordScheme(BasicScheme):  # type: ignore[no-untyped-call]
    target_class = Passwords


PLACE = "#/components/schemas"

HEADERS: Mapping[int, Mapping[str, str]] = {
    HTTPStatus.UNAUTHORIZED: {"WWW-Authenticate": "How to say who asks."},
    HTTPStatus.METHOD_NOT_ALLOWED: {"Allow": "The methods that there are."},
    HTTPStatus.TOO_MANY_REQUESTS: {"Retry-After": "Seconds until the next request is taken."},
}
"""What answers to errors carry beside their problem document."""

GROUPS: Mapping[str, tuple[str, ...]] = {
    "Access": ("tokens",),
    "Cables": ("cables",),
    "Maps": ("checks", "maps"),
    "Drafts": ("drafts",),
    "Failures": ("failure-points", "failures"),
    "Bench": ("readings", "inferences", "probe-plans", "diagnoses", "fault-locations", "decisions", "matches"),
    "Mirrors": ("exports", "changes"),
    "Published": ("connectors", "colours", "rules", "schemas", "openapi.json"),
}
"""What operations are listed under, by how their paths begin."""


IF_NONE_MATCH = OpenApiParameter(
    "If-None-Match",
    str,
    OpenApiParameter.HEADER,
    description="The `ETag` of what one has; when it is still the same, the answer is 304 and empty.",
)


IDEMPOTENCY_KEY = OpenApiParameter(
    "Idempotency-Key",
    {"type": "string", "minLength": 1, "maxLength": LONGEST_KEY, "pattern": KEY.pattern},
    OpenApiParameter.HEADER,
    description="Names this request, so that it can be sent again when no answer came, and is done once.",
)


class Description(AutoSchema):
    """One operation, as its view tells it, with the errors that any request can come to."""

    @property
    def operation(self) -> Operation:
        operation: Operation = getattr(self.view, self.method.lower()).operation
        return operation

    def get_operation_id(self) -> str:
        return self.operation.name

    def get_summary(self) -> str:
        return cleandoc(self.operation.says).partition("\n\n")[0].replace("\n", " ")

    def get_description(self) -> str:  # type: ignore[override]  # the library's own is so
        return cleandoc(self.operation.says).partition("\n\n")[2].replace("\n", " ")

    def get_tags(self) -> list[str]:
        first = self.path.removeprefix("/api/v1/").partition("/")[0]
        return [next(group for group, paths in GROUPS.items() if first in paths)]

    def _is_list_view(self, serializer: Any = None) -> bool:
        return False  # its operation says whether it pages

    def get_override_parameters(self) -> list[Any]:
        more = [(IF_NONE_MATCH, self._is_conditional), (IDEMPOTENCY_KEY, self._is_answered_once)]
        return [*self.operation.asks, *(parameter for parameter, is_taken in more if is_taken)]

    @property
    def _is_answered_once(self) -> bool:
        return hasattr(getattr(self.view, self.method.lower()), "is_answered_once")

    @property
    def _is_conditional(self) -> bool:
        return bool(self.method == "GET")

    def _get_request_body(self, direction: str = "request") -> Json | None:
        operation = self.operation
        if operation.takes is None:
            return None
        body: Json = {"schema": self._schema(operation.takes, direction)}
        if operation.example is not None:
            body["examples"] = {"example": {"value": operation.example}}
        return {"required": True, "content": {operation.media_type: body}}

    def _get_response_bodies(self, direction: str = "response") -> Json:
        answers = {str(status): self._answer(answer, direction) for status, answer in self.operation.answers.items()}
        codes = defaultdict(set)
        for error in (*self.operation.problems, *self._problems_of_any_request()):
            status, code = status_and_code(error)
            codes[status].add(code)
        if self._is_conditional:
            answers["304"] = {"description": "It is as named by If-None-Match."}
        return answers | {str(status): _problem_reference(codes[status]) for status in sorted(codes)}

    def _problems_of_any_request(self) -> Iterator[type[Problem | exceptions.APIException]]:
        permissions = self.view.permission_classes
        is_reading = self.method in SAFE_METHODS
        if isinstance(self.view, Resource):
            yield exceptions.NotAcceptable
        if self.view.get_authenticators():
            yield exceptions.AuthenticationFailed
            if not is_reading:
                yield exceptions.PermissionDenied  # by a session without its token against forgery
        if self.view.throttle_classes:
            yield exceptions.Throttled
        if IsAuthenticated in permissions or (IsAuthenticatedOrReadOnly in permissions and not is_reading):
            yield exceptions.NotAuthenticated
        if self.operation.takes is not None:
            yield TooLarge
        if self._is_answered_once:
            yield BadRequest
            yield KeyReused
        if self.operation.takes is not None:
            yield exceptions.UnsupportedMediaType

    def _answer(self, answer: Answer, direction: str) -> Json:
        told: Json = {"description": answer.text}
        if answer.shape is not None:
            schema = self._schema(answer.shape, direction)
            told["content"] = {each.partition(";")[0]: {"schema": schema} for each in answer.media_types}
        tag = {"ETag": "Names this version of it."} if self._is_conditional else {}
        if headers := tag | dict(answer.headers):
            told["headers"] = _headers(headers)
        if answer.links:
            told["links"] = {
                link.operation: {"operationId": link.operation, "parameters": dict(link.parameters)}
                for link in answer.links
            }
        return told

    def _schema(self, shape: Shape, direction: Any) -> Json:
        match shape:
            case str():
                return {"$ref": f"{PLACE}/{shape}"}
            case ResultsOf():
                return _closed({"results": {"type": "array", "items": self._schema(shape.shape, direction)}})
            case PageOf():
                address = {"type": ["string", "null"], "format": "uri"}
                results = {"type": "array", "items": self._schema(shape.shape, direction)}
                return _closed({"next": address, "previous": address, "results": results})
            case Mapping():
                return dict(shape)
        return dict(self.resolve_serializer(shape, direction).ref)


@cache
def document() -> Json:
    """The whole document. Shared: do not change it."""
    made: Json = SchemaGenerator().get_schema(public=True)  # type: ignore[no-untyped-call]
    schemas = made["components"]["schemas"]
    for schema in schemas.values():
        _finish(schema)
    messages = published.message_schemas(PLACE)
    twice = schemas.keys() & messages.keys()
    assert not twice, f"two schemas have one name: {twice}"
    schemas.update(messages)
    messages["Problem"]["properties"]["code"]["enum"] = all_codes()
    made["components"]["responses"] = dict(_problem_responses(made["paths"]))
    made["info"]["description"] = about()
    made["tags"] = [{"name": group} for group in GROUPS]
    return made


@described_plainly(
    Operation(
        "describe",
        "This description of the API, in OpenAPI 3.1.",
        {200: Answer("The document.", {"type": "object"})},
    )
)
@answers_problems
@read_only
def openapi(request: HttpRequest) -> HttpResponseBase:
    content, tag = _as_bytes()
    return file_response(request, content, JSON, tag, "openapi.json")


def about() -> str:
    """What holds for all operations, in CommonMark."""
    text = resources.files(__package__).joinpath("about.md").read_text(encoding="utf-8")
    return text.replace("{limits}", "\n".join(f"- {limit}" for limit in limits.told()))


def all_codes() -> list[str]:
    """The code of every problem there is."""
    framework = (
        exceptions.AuthenticationFailed,
        exceptions.MethodNotAllowed,
        exceptions.NotAcceptable,
        exceptions.NotAuthenticated,
        exceptions.PermissionDenied,
        exceptions.Throttled,
        exceptions.UnsupportedMediaType,
    )
    of_the_site = {code for code, _ in OF_THE_SITE.values()}
    return sorted({status_and_code(error)[1] for error in (*STATUS_OF, *framework)} | of_the_site)


@cache
def _as_bytes() -> tuple[bytes, str]:
    content = dumps(document(), ensure_ascii=False, separators=(",", ":")).encode()
    return content, sha256(content).hexdigest()


def _closed(properties: Json) -> Json:
    return {"type": "object", "required": list(properties), "additionalProperties": False, "properties": properties}


def _finish(schema: Any) -> None:
    """Close every object of a serializer's schema, and take out what the library leaves for itself."""
    if isinstance(schema, list):
        for each in schema:
            _finish(each)
    elif isinstance(schema, dict):
        schema.pop("x-spec-enum-id", None)
        if "properties" in schema:
            schema.setdefault("additionalProperties", False)
        for each in schema.values():
            _finish(each)


def _headers(told: Mapping[str, str]) -> Json:
    return {name: {"description": text, "schema": {"type": "string"}} for name, text in told.items()}


def _problem_reference(codes: Iterable[str]) -> Json:
    return {"$ref": f"#/components/responses/{'.'.join(sorted(codes))}"}


def _problem_responses(paths: Json) -> Iterator[tuple[str, Json]]:
    """The error answers that operations refer to, by the name that `_problem_reference` gives them."""
    used = {
        (answer["$ref"].rpartition("/")[2], int(status))
        for operations in paths.values()
        for operation in operations.values()
        for status, answer in operation["responses"].items()
        if "$ref" in answer
    }
    for name, status in sorted(used):
        codes = name.split(".")
        schema = {"$ref": f"{PLACE}/Problem", "properties": {"code": {"enum": codes}, "status": {"const": status}}}
        told: Json = {
            "description": f"{HTTPStatus(status).phrase}: {', '.join(codes)}.",
            "content": {MEDIA_TYPE: {"schema": schema}},
        }
        if status in HEADERS:
            told["headers"] = _headers(HEADERS[HTTPStatus(status)])
        yield name, told
