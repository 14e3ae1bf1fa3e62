"""The JSON Schema of the map document (2020-12), and what it has to say about a value, in words for people.

The schema in `map.schema.json` is the one description of the format. Its descriptions are the remedies:
each tells what belongs at its place. Validation itself is jsonschema_rs; here its errors are bounded and
put into words.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from difflib import get_close_matches
from functools import cache
from importlib import resources
from json import loads
from typing import Any

from jsonschema_rs import Draft202012Validator, ValidationError

from catalogue.exchange.violations import Location, Violation, shown

Json = dict[str, Any]


@cache
def schema_bytes() -> bytes:
    """The schema as served to others."""
    return resources.files(__package__).joinpath("map.schema.json").read_bytes()


@cache
def schema() -> Json:
    """The schema as a value. Shared: do not change it."""
    value: Json = loads(schema_bytes())
    return value


def document_violations(document: Json) -> Iterator[Violation]:
    """What the schema finds wrong in a document, lazily, entry by entry of its lists.

    The validator gathers all errors of the value it is given before it returns the first, at about 14 µs
    each. Going entry by entry lets the caller stop early when a large file is wrong throughout.
    """
    if _document_validator().is_valid(document):
        return
    yield from _violations(_outline_validator(), document)
    for name, validator in _entry_validators().items():
        entries = document.get(name)
        for index, entry in enumerate(entries if isinstance(entries, list) else ()):
            if not validator.is_valid(entry):
                yield from _violations(validator, entry, (name, index))


def reading_violations(reading: Json) -> list[Violation]:
    """What the schema finds wrong in one reading; paths start at the reading."""
    validator = _entry_validators()["readings"]
    if validator.is_valid(reading):
        return []
    within: Location = ("readings", 0)
    return [
        Violation(found.path[len(within) :], found.message, found.remedy)
        for found in _violations(validator, reading, within)
    ]


@cache
def _document_validator() -> Draft202012Validator:
    return Draft202012Validator(schema())


@cache
def _outline_validator() -> Draft202012Validator:
    """The document without a look into the entries of its lists."""
    properties = {
        name: {**rule, "items": True} if "items" in rule else rule for name, rule in schema()["properties"].items()
    }
    return Draft202012Validator({**schema(), "properties": properties})


@cache
def _entry_validators() -> dict[str, Draft202012Validator]:
    return {
        name: Draft202012Validator({"$ref": rule["items"]["$ref"], "$defs": schema()["$defs"]})
        for name, rule in schema()["properties"].items()
        if "items" in rule
    }


def _violations(validator: Draft202012Validator, value: object, start: Location = ()) -> Iterator[Violation]:
    errors = list(validator.iter_errors(value))
    misplaced = {tuple(error.instance_path) for error in errors if error.kind.name == "not"}
    for error in errors:
        # What a field holds is beside the point where the field itself does not belong.
        if error.kind.name == "not" or tuple(error.instance_path) not in misplaced:
            yield from _in_words(error, (*start, *error.instance_path))


def _in_words(error: ValidationError, path: Location) -> Iterator[Violation]:
    keyword, limit = error.kind.name, error.kind.value
    if keyword == "additionalProperties":
        known = list(_rule_at(path).get("properties", ()))
        for field in limit:
            near = _nearest(field, known)
            remedy = f'Did you mean "{near}"?' if near else f"Leave it out; known here: {', '.join(known)}."
            yield Violation((*path, field), f"unknown field {shown(field)}", remedy)
    elif keyword == "required":
        meaning = _rule_at((*path, limit)).get("description", "")
        yield Violation(path, f'the field "{limit}" is missing', f'Add "{limit}". {meaning}')
    else:
        message = _message(keyword, limit, error.instance)
        yield Violation(path, message, _remedy(keyword, limit, error, path))


def _message(keyword: str, limit: Any, found: Any) -> str:
    match keyword:
        case "type":
            return f"found {shown(found)}, expected {' or '.join(_TYPE_WORDS[name] for name in limit)}"
        case "const":
            return f"found {shown(found)}, expected {shown(limit)}"
        case "enum":
            return f"{shown(found)} is not one of {', '.join(map(str, limit))}"
        case "pattern":
            return _odd_character(found) or f"{shown(found)} is not written as expected"
        case "maxLength":
            return f"{len(found)} characters, but at most {limit} are allowed"
        case "minLength":
            return "the text is empty"
        case "maxItems":
            return f"more than {limit} entries"
        case "minItems":
            return f"a list of {len(found)}, but at least {limit} are needed"
        case "uniqueItems":
            return f"the same entry twice: {shown(next(item for item in found if found.count(item) > 1))}"
        case "minimum" | "exclusiveMinimum":
            return f"{shown(found)} is too small"
        case "maximum":
            return f"{shown(found)} is too large"
        case "not":
            return "this field does not belong here"
        case _:
            return f"{shown(found)} is not as expected"


_TYPE_WORDS = {
    "string": "text",
    "number": "a number",
    "array": "a list",
    "object": "an object",
    "boolean": "true or false",
    "null": "null",
}


_TOLD_BESIDE = ("not", "pattern", "minLength", "maxLength", "minimum", "exclusiveMinimum", "maximum")
"""Keywords whose rule says beside them what is right; for the others the place says what it wants."""


def _remedy(keyword: str, limit: Any, error: ValidationError, path: Location) -> str:
    rule: Any = schema()
    for step in error.schema_path[:-1]:
        rule = rule[step]
    at_place, beside = (found.get("description", "") for found in (_rule_at(path), rule))
    told = str((beside or at_place) if keyword in _TOLD_BESIDE else (at_place or beside))
    if keyword == "enum" and isinstance(error.instance, str) and (near := _nearest(error.instance, limit)):
        return f'Did you mean "{near}"? {told}'
    return told


def _nearest(word: str, known: list[str]) -> str:
    folded = {one.casefold(): one for one in known}
    near = get_close_matches(word[:60].casefold(), folded, n=1)
    return folded[near[0]] if near else ""


def _odd_character(text: str) -> str:
    """Names the first character that cannot be seen, for nobody finds it otherwise."""
    for character in text:
        if unicodedata.category(character) in ("Cc", "Cf", "Cn", "Zl", "Zp") and character not in "\u200c\u200d":
            name = unicodedata.name(character, "a control character").lower()
            return f"{shown(text)} holds U+{ord(character):04X} ({name}), which is not allowed here"
    return ""


def _rule_at(path: Location) -> Json:
    """The part of the schema that describes a place, conditions aside; empty where it knows no such place."""
    rule = schema()
    for step in path:
        rule = rule.get("items", {}) if isinstance(step, int) else rule.get("properties", {}).get(step, {})
        if "$ref" in rule:
            rule = {**schema()["$defs"][rule["$ref"].rpartition("/")[2]], **rule}
    return rule
