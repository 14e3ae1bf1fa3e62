"""The JSON Schemas (2020-12) of questions and answers, and of the map document, as parts of one larger document."""

from __future__ import annotations

from importlib import resources
from json import loads
from typing import Any

from catalogue.exchange.map_schema import schema

Json = dict[str, Any]

MAP = "MapDocument"


def message_schemas(place: str) -> dict[str, Json]:
    """Each schema by its name, with references that count from the top of the document that has them at `place`.

    `place` is a JSON pointer as it is written in references, such as `#/components/schemas`.
    """
    messages = loads(resources.files(__package__).joinpath("messages.schema.json").read_bytes())["$defs"]
    shown = {key: rule for key, rule in schema().items() if key not in ("$schema", "$id")}
    whole = f"{place}/{MAP}"
    found: dict[str, Json] = _moved(messages, {"#/$defs/": f"{place}/", "map#": whole})
    return {MAP: _moved(shown, {"#/$defs/": f"{whole}/$defs/"}), **found}


def _moved(rule: Any, places: dict[str, str]) -> Any:
    if isinstance(rule, list):
        return [_moved(each, places) for each in rule]
    if not isinstance(rule, dict):
        return rule
    return {key: _target(value, places) if key == "$ref" else _moved(value, places) for key, value in rule.items()}


def _target(reference: str, places: dict[str, str]) -> str:
    start = next(start for start in places if reference.startswith(start))
    return places[start] + reference.removeprefix(start)
