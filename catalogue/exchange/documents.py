"""Map documents in and out: `parse_map` reads the JSON people send, `canonical_json` writes it one way only.

Reading goes bytes, JSON values, schema, what a schema cannot say, frozen values; a `BadDocument` tells
every error at once. That names refer to something, and that a cable can be so, is left to the rules: it
does not hinder reading.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from hashlib import sha256
from itertools import chain
from typing import Any

from catalogue.core.document import MapDocument
from catalogue.core.problems import BadDocument, Defect, TooLarge
from catalogue.exchange.json_values import cleaned, decoded
from catalogue.exchange.map_schema import document_violations, schema_bytes
from catalogue.exchange.shapes import read_document, write_document
from catalogue.exchange.violations import Location, Violation, defects, pointer, shown

DOCUMENT_BYTES = 2 * 1024 * 1024

POINTS_AT_MOST = 1000
"""Contacts and probe points of one document; what is computed from a map grows with their square."""


def parse_map(raw: bytes, limit_bytes: int = DOCUMENT_BYTES) -> MapDocument:
    """Read a map document of format `corelore.map/1`.

    Raises `TooLarge`, or `BadDocument` with every defect: its place as a JSON pointer (line and column when
    it is not even JSON), what was found there, and what to do.
    """
    if len(raw) > limit_bytes:
        raise TooLarge(
            f"The document has {len(raw):,} bytes; at most {limit_bytes:,} are read. "
            "Leave out repeated readings, or send it as several maps."
        )
    return document_from(decoded(raw))


def document_from(value: object) -> MapDocument:
    """Build a document from decoded JSON. Raises `BadDocument` with every defect."""
    if not isinstance(value, dict):
        defect = Defect("", f"found {shown(value)}, expected an object", 'Start with {"format": "corelore.map/1", …}.')
        raise BadDocument("A map document is a JSON object.", (defect,))
    clean = cleaned(value)
    wrong = (found for found in _violations(clean.value) if found.path not in clean.blanked)
    found = defects(chain(clean.violations, wrong))
    if found:
        raise BadDocument(_summary(found), found)
    return read_document(clean.value)


def read_canonical(raw: bytes | str) -> MapDocument:
    """Read back what `canonical_json` wrote. Nothing is checked: never for text that came from outside."""
    return read_document(json.loads(raw))


def canonical_json(document: MapDocument) -> bytes:
    """The one text of a document: UTF-8, keys in the schema's order, defaults and white space left out.

    Equal documents give equal bytes, and reading them gives an equal document.
    """
    return _compact(write_document(document)).encode()


def pretty_json(document: MapDocument) -> str:
    """The same text broken into lines for people: one line for each field and each entry of a list."""
    fields = ",\n".join(f"  {_compact(key)}: {_pretty(value)}" for key, value in write_document(document).items())
    return f"{{\n{fields}\n}}\n"


def schema_text() -> str:
    """The JSON Schema (2020-12) of map documents, as served to others."""
    return schema_bytes().decode()


def content_hash(raw: bytes) -> str:
    """SHA-256 of a canonical text, as 64 hexadecimal digits."""
    return sha256(raw).hexdigest()


def _compact(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def _pretty(value: object) -> str:
    entries = value if isinstance(value, list) else []
    lines = ",\n".join("    " + json.dumps(entry, ensure_ascii=False, allow_nan=False) for entry in entries)
    return f"[\n{lines}\n  ]" if entries else json.dumps(value, ensure_ascii=False, allow_nan=False)


def _summary(found: tuple[Defect, ...]) -> str:
    first = f"{found[0].where or 'the document'}: {found[0].message}"
    others = f", and {len(found) - 1} more" if len(found) > 1 else ""
    return f"The document cannot be read as a map: {first}{others}. Mend what is listed and send it again."


def _violations(document: dict[str, Any]) -> Iterator[Violation]:
    yield from document_violations(document)
    yield from _repeated_names(document)
    yield from _beep_span(document.get("meter"))
    yield from _too_many_points(document)


_ONE_NAME_EACH = (("ends", "modules", "splits"), ("sections",), ("cores",), ("nets", "paths"))


def _repeated_names(document: dict[str, Any]) -> Iterator[Violation]:
    """Without names of their own, nothing could say which of two entries it means."""
    for kinds in _ONE_NAME_EACH:
        named = chain.from_iterable(_texts(document, kind, "name") for kind in kinds)
        yield from _repeated(named, f"Give each of the {', '.join(kinds)} a name of its own.")
    yield from _repeated(_texts(document, "readings", "id"), "Give each reading an id of its own.")
    for path, end in _entries(document, "ends"):
        seats = _seats((*path, "rows"), end.get("rows"))
        yield from _repeated(seats, "Name each contact of an end once; leave a free seat empty.")


def _repeated(named: Iterable[tuple[Location, str]], remedy: str) -> Iterator[Violation]:
    first: dict[str, Location] = {}
    for path, name in named:
        if name in first:
            yield Violation(path, f"{shown(name)} is used already at {pointer(first[name])}", remedy)
        else:
            first[name] = path


def _beep_span(meter: object) -> Iterator[Violation]:
    span = meter.get("beep_ohms") if isinstance(meter, dict) else None
    match span:
        case [int() | float() as least, int() | float() as most] if least > most:
            remedy = "Put the smaller number first: below it the buzzer certainly sounds."
            yield Violation(("meter", "beep_ohms"), f"{least} is more than {most}", remedy)


def _too_many_points(document: dict[str, Any]) -> Iterator[Violation]:
    points: set[object] = set()
    for _, reading in _entries(document, "readings"):
        points.update(point for _, point in _strings((), [reading.get("red"), reading.get("black")]))
        points.update(point for _, point in _strings((), reading.get("black")))
    for _, net in _entries(document, "nets"):
        points.update(contact for _, contact in _strings((), net.get("contacts")))
    for _, end in _entries(document, "ends"):
        points.update(f"{end.get('name')}:{seat}" for _, seat in _seats((), end.get("rows")))
    if len(points) > POINTS_AT_MOST:
        message = f"{len(points)} contacts and probe points, but at most {POINTS_AT_MOST} are worked with"
        yield Violation((), message, "Send it as several maps.")


def _entries(document: dict[str, Any], name: str) -> Iterator[tuple[Location, dict[str, Any]]]:
    """The entries of a list, as far as they are of the right kind; the schema tells of the others."""
    entries = document.get(name)
    for index, entry in enumerate(entries if isinstance(entries, list) else ()):
        if isinstance(entry, dict):
            yield (name, index), entry


def _texts(document: dict[str, Any], name: str, key: str) -> Iterator[tuple[Location, str]]:
    for path, entry in _entries(document, name):
        if isinstance(entry.get(key), str):
            yield (*path, key), entry[key]


def _strings(path: Location, entries: object) -> Iterator[tuple[Location, str]]:
    for index, entry in enumerate(entries if isinstance(entries, list) else ()):
        if isinstance(entry, str) and entry:
            yield (*path, index), entry


def _seats(path: Location, rows: object) -> Iterator[tuple[Location, str]]:
    for index, row in enumerate(rows if isinstance(rows, list) else ()):
        yield from _strings((*path, index), row)
