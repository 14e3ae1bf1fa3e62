"""The document of the API: valid, of every route and method, and with examples that the site takes."""

from enum import StrEnum
from json import dumps

import pytest
from drf_spectacular.validation import validate_schema

from api.openapi import document
from api.urls import urlpatterns
from catalogue.core.diagnosis.evidence import LOOKS, Evidence, Explanation
from catalogue.core.diagnosis.states import State
from catalogue.core.document import MarkKind, Role, Via
from catalogue.core.findings import Limit, Severity
from catalogue.core.location.observations import Method
from catalogue.core.outcomes import Option
from catalogue.usecases.people import new_token
from tests.api.conftest import ApiClient
from tests.api.contract import documented_path


def operations():
    for path, methods in document()["paths"].items():
        for method, operation in methods.items():
            yield path, method, operation


def routes():
    """Path and methods of each route of the API; the last one answers for all that are none."""
    page, *patterns, unknown = urlpatterns
    assert (page.name, unknown.name) == ("api-page", None)
    for pattern in patterns:
        view = pattern.callback.cls
        path = documented_path(f"api/v1/{pattern.pattern}")
        yield from ((path, method) for method in ("get", "post", "put", "patch", "delete") if hasattr(view, method))


def test_it_has_every_route_and_method_and_no_other():
    assert {(path, method) for path, method, _ in operations()} == set(routes())


def test_it_is_valid_openapi():
    validate_schema(document())
    assert document()["openapi"].startswith("3.1")


def test_every_operation_has_a_name_of_its_own_and_says_what_it_does():
    names = [operation["operationId"] for _, _, operation in operations()]
    assert len(set(names)) == len(names)
    assert all(operation["summary"] and operation["tags"] for _, _, operation in operations())


def test_links_lead_to_operations_and_name_their_parameters():
    named = {operation["operationId"]: operation for _, _, operation in operations()}
    links = [
        link
        for operation in named.values()
        for answer in operation["responses"].values()
        for link in answer.get("links", {}).values()
    ]
    assert len(links) > 20
    for link in links:
        known = {parameter["name"] for parameter in named[link["operationId"]]["parameters"]}
        assert {name.rpartition(".")[2] for name in link["parameters"]} <= known


def test_every_reference_leads_somewhere():
    whole = document()

    def follow(value):
        if isinstance(value, list):
            for each in value:
                follow(each)
        elif isinstance(value, dict):
            if isinstance(reference := value.get("$ref"), str):
                found = whole
                for step in reference.removeprefix("#/").split("/"):
                    found = found[step]
            for each in value.values():
                follow(each)

    follow(whole)


def test_objects_of_answers_are_closed():
    """A field that is not told fails the test of whoever adds it."""
    schemas = document()["components"]["schemas"]
    open_ones = [
        name for name, schema in schemas.items() if schema.get("properties") and "additionalProperties" not in schema
    ]
    assert open_ones == []


def words(name, *path):
    schema = document()["components"]["schemas"][name]
    for step in path:
        schema = schema[step]
    return {word for word in schema if word is not None}


@pytest.mark.parametrize(
    ("found", "enum"),
    [
        (("Finding", "properties", "severity", "enum"), Severity),
        (("Step", "properties", "limit", "enum"), Limit),
        (("Explanation", "enum"), Explanation),
        (("Evidence", "enum"), Evidence),
        (("Option", "enum"), Option),
        (("Looks", "properties"), LOOKS),
        (("Diagnosis", "properties", "rows", "items", "properties", "state", "enum"), State),
        (("Diagnosis", "properties", "rows", "items", "properties", "role", "enum"), Role),
        (("Diagnosis", "properties", "rows", "items", "properties", "via", "enum"), Via),
        (("LocationQuestion", "properties", "marks", "items", "properties", "kind", "enum"), MarkKind),
    ],
)
def test_its_words_are_those_of_the_core(found, enum: type[StrEnum]):
    assert words(*found) == {word.value for word in enum}


def test_it_knows_every_method_of_observation():
    kinds = document()["components"]["schemas"]["Observation"]["oneOf"]
    assert {kind["properties"]["method"]["const"] for kind in kinds} == {method.value for method in Method}


def examples():
    """Each example of a request with its operation, those of schemas included."""
    schemas = document()["components"]["schemas"]
    for path, method, operation in operations():
        for media_type, body in operation.get("requestBody", {}).get("content", {}).items():
            name = body["schema"].get("$ref", "").rpartition("/")[2]
            told = [each["value"] for each in body.get("examples", {}).values()]
            told = told or schemas.get(name, {}).get("examples", [])
            assert told, f"{operation['operationId']} takes something, and shows no example of it"
            yield from (
                pytest.param(path, method, media_type, each, id=f"{operation['operationId']}-{number}")
                for number, each in enumerate(told)
            )


@pytest.mark.parametrize(("path", "method", "media_type", "body"), list(examples()))
def test_the_site_takes_every_example(contributor, stored, path, method, media_type, body):
    map_id = stored["id"]
    if "confirmations" in path:  # they are of somebody else's map
        contributor = ApiClient(headers={"Authorization": f"Token {new_token('oren')[0]}"})
    draft_id = contributor.send("drafts/", b"{}").json()["id"]
    content = body if isinstance(body, str) else dumps(body)
    answer = contributor.generic(
        method.upper(),
        "/api/v1" + path.format(map_id=map_id, draft_id=draft_id, form="svg"),
        content,
        content_type=media_type,
        headers={"If-Match": "*"},
    )
    assert answer.status_code in (200, 201), answer.content


def test_it_is_served_as_it_is(visitor):
    answer = visitor.fetch("openapi.json")
    assert answer.json() == document()
    assert visitor.fetch("openapi.json", headers={"If-None-Match": answer["ETag"]}).status_code == 304
