"""An answer held against the API's own document: its status, headers and media type, and every field of its body."""

import re
from functools import cache
from json import dumps, loads

from django.urls import Resolver404, resolve
from jsonschema_rs import Draft202012Validator

from api.openapi import document

UNLISTED = {
    400: "malformed-request",
    404: "not-found",
    405: "method-not-allowed",
    411: "length-required",
    412: "stale",
    500: "internal-error",
}
"""What no operation lists, because it is told of all of them at once."""


def documented_path(route):
    """`/maps/{map_id}/` for `api/v1/maps/<int:map_id>/`."""
    return re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", route).removeprefix("api/v1")


def assert_documented(response):
    request = response.wsgi_request
    if not request.path.startswith("/api/v1/"):
        return
    operation = _operation(request)
    answer = operation.get("responses", {}).get(str(response.status_code))
    if answer is None:
        told = f"{request.method} {request.path}: {response.status_code} is not documented"
        assert UNLISTED.get(response.status_code) == response.json()["code"], told
        schema = {"$ref": "#/components/schemas/Problem"}
        assert response["Content-Type"] == "application/problem+json"
    else:
        answer = _resolved(answer)
        missing = set(answer.get("headers", {})) - set(response.headers)
        assert not missing, f"{request.method} {request.path}: {response.status_code} has no {missing}"
        schema = _schema(answer, response)
    if schema is not None and re.search("[/+]json$", response["Content-Type"].partition(";")[0]):
        wrong = _validator(dumps(schema)).iter_errors(response.json())
        errors = [f"{each.instance_path}: {each.message}" for each in wrong]
        assert errors == [], f"{request.method} {request.path}: {errors[:5]}"


def _operation(request):
    try:
        route = resolve(request.path).route
    except Resolver404:
        return {}
    method = {"HEAD": "get"}.get(request.method, request.method.lower())
    return document()["paths"].get(documented_path(route), {}).get(method, {})


def _schema(answer, response):
    if "content" not in answer:
        assert response.content == b""
        return None
    media_type = response["Content-Type"].partition(";")[0]
    assert media_type in answer["content"], f"{media_type} is not documented"
    return answer["content"][media_type]["schema"]


def _resolved(answer):
    if "$ref" not in answer:
        return answer
    *_, kind, name = answer["$ref"].split("/")
    return document()["components"][kind][name]


@cache
def _validator(schema):
    """For a schema as JSON text, with the components that it may refer to."""
    return Draft202012Validator({**loads(schema), "components": document()["components"]})
