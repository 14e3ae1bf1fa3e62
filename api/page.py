"""The description of the API as a page for people, made of the same document that programs read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import conditional_page, require_safe

from api.openapi import GROUPS, about, document

Json = dict[str, Any]

LOCAL_SITE = "http://127.0.0.1:8000"
"""The address in the examples as they are tested; on the page stands that of the site itself."""


@dataclass(frozen=True)
class Step:
    """One thing to do, in the words of a shell and of Python. `told` are what it says before."""

    title: str
    told: str
    shell: str
    python: str

    @property
    def anchor(self) -> str:
        return re.sub(r"\W+", "-", self.title.lower()).strip("-")


@dataclass(frozen=True)
class Field:
    """A field of an object, or of an object in it. `schemas` are the names that its type leads to."""

    name: str
    is_required: bool
    type: str
    schema: str
    text: str


@dataclass(frozen=True)
class Answered:
    status: str
    text: str
    schema: str
    headers: str


@dataclass(frozen=True)
class Told:
    """An operation as it is told on the page."""

    name: str
    method: str
    path: str
    says: str
    more: str
    asks: tuple[Field, ...]
    takes: Field | None
    answers: tuple[Answered, ...]
    access: str


@require_safe
@conditional_page
def page(request: HttpRequest) -> HttpResponse:
    site = f"{request.scheme}://{request.get_host()}"
    told = {"about": blocks(about()), "steps": steps(site), "groups": _groups(), "schemas": _schemas(), "site": site}
    response = render(request, "api/api.html", told)
    patch_vary_headers(response, ["Host"])
    return response


def steps(site: str) -> list[Step]:
    """How it is done, step by step, with the address of this site."""
    shell, python = (_parts(name, site) for name in ("curl.txt", "python.txt"))
    return [Step(title, told, code, python[title][1]) for title, (told, code) in shell.items()]


def blocks(text: str) -> list[tuple[str, Any]]:
    """Headings, lists and paragraphs of the little CommonMark that the description is written in."""
    found: list[tuple[str, Any]] = []
    for block in text.strip().split("\n\n"):
        if block.startswith("## "):
            found.append(("heading", block.removeprefix("## ")))
        elif block.startswith("- "):
            found.append(("list", [line.removeprefix("- ") for line in block.splitlines()]))
        else:
            found.append(("paragraph", block))
    return found


def _parts(name: str, site: str) -> dict[str, tuple[str, str]]:
    """What is said before each step and its code, by the step's title."""
    text = resources.files(__package__).joinpath("how_to", name).read_text(encoding="utf-8").replace(LOCAL_SITE, site)
    found = {}
    for part in text.split("#: ")[1:]:
        title, _, rest = part.partition("\n")
        lines = rest.splitlines()
        told = [line for line in lines[:1] if line.startswith("# ")]
        found[title] = (" ".join(told).removeprefix("# "), "\n".join(lines[len(told) :]).strip("\n"))
    return found


@cache
def _groups() -> list[tuple[str, list[Told]]]:
    operations = [
        (path, method, operation)
        for path, methods in document()["paths"].items()
        for method, operation in methods.items()
    ]
    return [(group, [_told(*each) for each in operations if group in each[2]["tags"]]) for group in GROUPS]


def _told(path: str, method: str, operation: Json) -> Told:
    body = next(iter(operation.get("requestBody", {}).get("content", {}).items()), None)
    return Told(
        name=operation["operationId"],
        method=method.upper(),
        path=path,
        says=operation["summary"],
        more=operation.get("description", ""),
        asks=tuple(_field(each["name"], each, each["schema"]) for each in operation.get("parameters", ())),
        takes=_field(body[0], {"required": True}, body[1]["schema"]) if body else None,
        answers=tuple(_answered(status, answer) for status, answer in sorted(operation["responses"].items())),
        access=_access(operation.get("security", [])),
    )


def _access(ways: list[Json]) -> str:
    if any("basicAuth" in way for way in ways):
        return "name and password"
    return "" if {} in ways or not ways else "token"


def _answered(status: str, answer: Json) -> Answered:
    if "$ref" in answer:
        name = answer["$ref"].rpartition("/")[2]
        return Answered(status, ", ".join(f"`{code}`" for code in name.split(".")), "", "")
    content: Json = next(iter(answer.get("content", {}).values()), {"schema": {}})["schema"]
    results = content.get("properties", {}).get("results", {}).get("items", {})
    return Answered(
        status, answer["description"], _name(content) or _name(results), ", ".join(answer.get("headers", ()))
    )


@cache
def _schemas() -> list[tuple[str, str, list[Field]]]:
    schemas = document()["components"]["schemas"]
    return [(name, schema.get("description", ""), list(_fields(schema))) for name, schema in sorted(schemas.items())]


def _fields(schema: Json, before: str = "") -> Iterator[Field]:
    """The fields of an object, and with dots between those of the objects in it."""
    for variant in schema.get("oneOf", ()) or schema.get("anyOf", ()):
        yield from _fields(variant, before)
    for name, rule in schema.get("properties", {}).items():
        inner = rule.get("items", rule) if isinstance(rule.get("items", {}), dict) else rule
        place = f"{before}{name}{'[]' if 'items' in rule else ''}"
        yield _field(place, {"required": name in schema.get("required", ()), **rule}, rule)
        if "properties" in inner:
            yield from _fields(inner, f"{place}.")


def _field(name: str, told: Json, schema: Json) -> Field:
    inner = schema.get("items", schema)
    return Field(name, told.get("required") is True, _type(schema), _name(inner), told.get("description", ""))


def _type(schema: Json) -> str:
    if "items" in schema:
        return "list" if _name(schema["items"]) else f"list of {_type(schema['items'])}"
    if "enum" in schema:
        return ", ".join(f"`{word}`" for word in schema["enum"] if word not in ("", None))
    if "const" in schema:
        return f"`{schema['const']}`"
    if "anyOf" in schema or "oneOf" in schema:
        return " or ".join(filter(None, (_type(each) for each in schema.get("anyOf") or schema["oneOf"])))
    kind = schema.get("type", "")
    limits = [f"{schema['minimum']} to {schema['maximum']}"] if {"minimum", "maximum"} <= schema.keys() else []
    limits += [f"at most {schema['maxLength']} characters"] if "maxLength" in schema else []
    return ", ".join([" or ".join(kind) if isinstance(kind, list) else kind, *limits])


def _name(schema: Json) -> str:
    """The schema that is referred to, by its name on the page; those inside the map document are told there."""
    reference: str = schema.get("$ref", "") or next(
        (each["$ref"] for each in schema.get("anyOf", ()) if "$ref" in each), ""
    )
    return reference.removeprefix("#/components/schemas/").partition("/")[0]
