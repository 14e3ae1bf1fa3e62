"""The schema file itself: it is valid, says what each field is, and agrees with the core and the tables."""

import dataclasses
import json
from enum import Enum
from typing import Any

import jsonschema_rs
import pytest

from catalogue.core import document as core
from catalogue.exchange.documents import DOCUMENT_BYTES, parse_map, schema_text
from catalogue.exchange.json_values import LONGEST_INNER_LIST
from catalogue.exchange.readings_csv import READINGS_AT_MOST
from catalogue.tables import reference

SCHEMA = json.loads(schema_text())
DEFS = SCHEMA["$defs"]
VALIDATORS = jsonschema_rs.validator_map_for(SCHEMA)

ENTRIES = {
    "cable": core.CableName,
    "end": core.End,
    "module": core.Module,
    "section": core.Section,
    "core": core.Core,
    "net": core.Net,
    "path": core.Path,
    "mark": core.Mark,
    "fault": core.Fault,
    "meter": core.Meter,
    "reading": core.Reading,
}
RENAMED = {"from": "start", "to": "finish", "colour": "colours"}


def rules(value: Any, place: str = "") -> Any:
    """Every part of the schema that is itself a rule, with its place."""
    if isinstance(value, dict):
        yield place, value
        for key, inner in value.items():
            if key not in ("examples", "default", "enum", "const", "required", "dependentRequired"):
                yield from rules(inner, f"{place}/{key}")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from rules(inner, f"{place}/{index}")


def test_it_is_a_valid_schema_of_draft_2020_12():
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema_rs.meta.validate(SCHEMA)


def test_every_example_of_a_whole_document_can_be_read():
    assert len(SCHEMA["examples"]) >= 2
    for example in SCHEMA["examples"]:
        assert parse_map(json.dumps(example).encode())


def test_the_first_example_shows_every_part_of_a_document():
    shown = set(SCHEMA["examples"][0])
    assert shown == set(SCHEMA["properties"]) - {"splits"}


@pytest.mark.parametrize("name", [name for name, rule in DEFS.items() if "examples" in rule])
def test_every_example_of_a_part_is_valid(name):
    for example in DEFS[name]["examples"]:
        assert VALIDATORS[f"#/$defs/{name}"].is_valid(example), example


def test_every_object_refuses_unknown_fields():
    objects = {place.rpartition("/")[2]: rule for place, rule in rules(SCHEMA) if rule.get("type") == "object"}
    assert set(objects) == {"", "split", "part", "opening", *ENTRIES}
    assert all(rule["additionalProperties"] is False for rule in objects.values())


def test_every_field_has_a_description():
    bare = [
        f"{place}/{name}"
        for place, rule in rules(SCHEMA)
        if rule.get("type") == "object"
        for name, field in rule["properties"].items()
        if not field.get("description")
    ]
    assert bare == []


def test_every_text_number_and_list_has_limits():
    unlimited = []
    for place, rule in rules(SCHEMA):
        kind = rule.get("type")
        kinds = kind if isinstance(kind, list) else [kind]
        if "string" in kinds and not {"maxLength", "pattern"} <= set(rule):
            unlimited.append(place)
        if "number" in kinds and not ("maximum" in rule and {"minimum", "exclusiveMinimum"} & set(rule)):
            unlimited.append(place)
        if "array" in kinds and "maxItems" not in rule:
            unlimited.append(place)
    assert unlimited == []


def test_inner_lists_are_cut_only_beyond_what_the_schema_allows():
    longest = [rule["maxItems"] for place, rule in rules(SCHEMA) if "maxItems" in rule and place.startswith("/$defs/")]
    assert max(longest) < LONGEST_INNER_LIST


def test_a_table_of_readings_may_be_as_long_as_a_document():
    assert SCHEMA["properties"]["readings"]["maxItems"] == READINGS_AT_MOST


def test_readings_of_every_pair_of_200_contacts_fit_into_a_document():
    names = [f"TOOL:{number}" for number in range(200)]
    pairs = [(red, black) for place, red in enumerate(names) for black in names[:place]]
    readings = [
        {"id": f"r{number}", "mode": "ohms", "red": red, "black": black, "over": True, "range_ohms": 2e6}
        for number, (red, black) in enumerate(pairs)
    ]
    ends = [{"name": "TOOL", "connector": "usb2-a"}]
    document = SCHEMA["examples"][1] | {"ends": ends, "nets": [], "readings": readings}
    raw = json.dumps(document, separators=(",", ":")).encode()
    assert len(raw) < DOCUMENT_BYTES
    assert len(parse_map(raw).readings) == 19_900


@pytest.mark.parametrize(("name", "kind"), ENTRIES.items())
def test_defaults_are_those_of_the_core(name, kind):
    held = {field.name: field.default for field in dataclasses.fields(kind)}
    told = {key: rule["default"] for key, rule in DEFS[name]["properties"].items() if "default" in rule}
    known = {key: held[RENAMED.get(key, key)] for key in told}
    assert told == {
        key: value.value if isinstance(value, Enum) else list(value) if isinstance(value, tuple) else value
        for key, value in known.items()
    }
    described = {"end": {"form"}, "core": {"kind", "bundle"}, "reading": {"flexed", "note"}}
    assert described.get(name, set()) <= set(told)


@pytest.mark.parametrize(
    ("name", "field", "kind"),
    [
        ("end", "form", core.Form),
        ("module", "holds", core.Holds),
        ("core", "kind", core.CoreKind),
        ("net", "role", core.Role),
        ("path", "via", core.Via),
        ("path", "basis", core.Basis),
        ("part", "kind", core.PartKind),
        ("mark", "kind", core.MarkKind),
        ("fault", "kind", core.FaultKind),
        ("reading", "mode", core.Mode),
    ],
)
def test_closed_sets_are_those_of_the_core(name, field, kind):
    assert DEFS[name]["properties"][field]["enum"] == [one.value for one in kind]


def test_colours_are_those_of_the_table():
    assert set(DEFS["core"]["properties"]["colour"]["items"]["enum"]) == set(reference().colours)


def test_every_standard_connector_and_contact_can_be_named():
    key, seat = VALIDATORS["#/$defs/end"], VALIDATORS["#/$defs/seat"]
    for connector in reference().connectors.values():
        assert key.is_valid({"name": "A", "connector": connector.key})
        assert all(seat.is_valid(contact.contact) for contact in connector.contacts)
