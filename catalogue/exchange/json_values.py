"""Bytes to JSON values that are safe to work on: what JSON leaves open is settled here or reported.

JSON (RFC 8259) leaves open what doubled keys, lone surrogates, numbers beyond a double and endless nesting
mean. `decoded` reads bytes, `cleaned` checks values however they were decoded: text comes out in Unicode
form NFC with `\\n` line ends, and what no document can hold becomes null and is reported.
"""

from __future__ import annotations

import json
import unicodedata
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from catalogue.core.problems import BadDocument, Defect
from catalogue.exchange.violations import COUNTED_DEFECTS, Location, Violation, shown

DEEPEST = 8
"""Levels of lists and objects; a map document needs six."""

LONGEST_INNER_LIST = 501
"""Entries kept of a list inside a list: one more than the schema allows there, so that it still objects."""

GREATEST = 1.7e308
DIGITS_OF_AN_INTEGER = 300


def decoded(raw: bytes) -> object:
    """Read UTF-8 JSON, with or without a byte order mark. Raises `BadDocument` when it is none."""
    try:
        return json.loads(raw.decode("utf-8-sig"), object_pairs_hook=_object, parse_int=_integer)
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _unreadable(f"line {line}", f"byte {error.start} is not UTF-8 text", "Save the file as UTF-8.") from None
    except json.JSONDecodeError as error:
        raise _syntax(error) from None
    except RecursionError:
        raise _unreadable("", "lists or objects are nested too deeply", "A map document is six levels deep.") from None


@dataclass
class Cleaned:
    """A value fit for the schema. At the places in `blanked` a null stands for something already reported."""

    value: Any = None
    violations: list[Violation] = field(default_factory=list)
    blanked: set[Location] = field(default_factory=set)


def cleaned(value: object) -> Cleaned:
    """A copy of a decoded JSON value without anything that JSON, UTF-8 or a double cannot hold."""
    result = Cleaned()
    result.value = _clean(value, (), result)
    return result


class _Doubled(dict[str, object]):
    """An object that was written with the keys in `twice` more than once; it holds the last value of each."""

    twice: tuple[str, ...] = ()


def _object(pairs: list[tuple[str, object]]) -> dict[str, object]:
    plain = dict(pairs)
    if len(plain) == len(pairs):
        return plain
    doubled = _Doubled(pairs)
    doubled.twice = tuple(key for key, times in Counter(key for key, _ in pairs).items() if times > 1)
    return doubled


def _integer(digits: str) -> int | float:
    # Python converts no thousands of digits; as a float they are infinite, which is told with its place.
    return int(digits) if len(digits) <= DIGITS_OF_AN_INTEGER else float(digits)


def _unreadable(where: str, message: str, remedy: str) -> BadDocument:
    place = f" at {where}" if where else ""
    return BadDocument(f"This is not a JSON document{place}: {message}.", (Defect(where, message, remedy),))


def _syntax(error: json.JSONDecodeError) -> BadDocument:
    if not error.doc.strip():
        return _unreadable("", "there is nothing in it", "Send a JSON object, or name the file that holds it.")
    rest = error.doc[error.pos : error.pos + 20]
    found = f"found {shown(rest)}" if rest.strip() else "but the text ends there"
    reason = error.msg[0].lower() + error.msg[1:].removesuffix(" at")
    remedy = "Mend the JSON there; often a comma, quote or bracket is missing just before, or one is too many."
    return _unreadable(f"line {error.lineno}, column {error.colno}", f"{reason}, {found}", remedy)


def _clean(value: object, path: Location, result: Cleaned) -> object:
    if isinstance(value, str):
        return _clean_text(value, path, result)
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int | float) and -GREATEST <= value <= GREATEST:
        return value
    if isinstance(value, dict) and len(path) < DEEPEST:
        return _clean_object(value, path, result)
    if isinstance(value, list) and len(path) < DEEPEST:
        kept = value if len(path) < 2 else value[:LONGEST_INNER_LIST]
        return [_clean(item, (*path, index), result) for index, item in enumerate(kept)]
    _blank(path, result, *_why_not(value))
    return None


def _why_not(value: object) -> tuple[str, str]:
    if isinstance(value, int | float):
        return "not a number that can be worked with", "Write a finite number."
    if isinstance(value, dict | list):
        return "nested too deeply", "A map document is six levels deep."
    return f"{shown(value)} is no JSON value", "Use text, numbers, lists and objects."


def _clean_text(text: str, path: Location, result: Cleaned) -> str | None:
    if "\r" in text:
        text = text.replace("\r\n", "\n")
    if text.isascii():
        return text
    if _has_lone_surrogate(text):
        _blank(path, result, "half of a surrogate pair, which is no character", "Write the character itself.")
        return None
    return unicodedata.normalize("NFC", text)


def _clean_object(value: dict[Any, object], path: Location, result: Cleaned) -> dict[str, object]:
    if isinstance(value, _Doubled):
        for key in value.twice:
            _report((*path, key), result, f"the field {shown(key)} is written twice here", "Keep one of the two.")
    kept = {}
    for key, item in value.items():
        if isinstance(key, str) and not _has_lone_surrogate(key):
            kept[key] = _clean(item, (*path, key), result)
        else:
            _report(path, result, f"{ascii(key)[:40]} cannot be the name of a field", "Leave it out.")
    return kept


def _has_lone_surrogate(text: str) -> bool:
    return not text.isascii() and any("\ud800" <= character <= "\udfff" for character in text)


def _blank(path: Location, result: Cleaned, message: str, remedy: str) -> None:
    """Report a value, and stand null in its place."""
    result.blanked.add(path)
    _report(path, result, message, remedy)


def _report(path: Location, result: Cleaned, message: str, remedy: str) -> None:
    if len(result.violations) < COUNTED_DEFECTS:
        result.violations.append(Violation(path, message, remedy))
