"""The lines of an export (format `corelore.export/1`): written one way only, and read with everything checked.

Each line is a JSON object: a header, the entries kind by kind, and an end with counts and checksums. The entries of
the change feed are the same. `export.schema.json` is the one description of them.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from hashlib import sha256
from importlib import resources
from itertools import chain, count
from typing import Any, BinaryIO

from jsonschema_rs import Draft202012Validator

from catalogue.core.document import CableName, End, MapDocument
from catalogue.core.problems import BadDocument, Defect
from catalogue.core.text import hidden_characters
from catalogue.exchange.documents import canonical_json, content_hash, document_from
from catalogue.exchange.json_values import decoded
from catalogue.exchange.shapes import METER, read_reading, write_document, write_reading

Json = dict[str, Any]

FORMAT = "corelore.export/1"
HEADER = {
    "kind": "header",
    "format": FORMAT,
    "licence": "CC0-1.0",
    "schema": 2,
    "map_format": "corelore.map/1",
}

LONGEST_LINE = 8 * 1024 * 1024
"""Bytes. A document is at most 2 MiB as it is sent; written canonically it may grow by a little, never as far."""

STAND_IN = End("END", "usb2-a")
"""Readings of a confirmation stand without the ends that they name; a document has ends."""

NUMBERS = ("at_m", "hours")
"""What of a failure is kept as a float."""


class EntryKind(StrEnum):
    """What is told of the catalogue, in the order in which one thing needs another to be there."""

    CABLE = "cable"
    MAP = "map"
    FAILURE = "failure"
    CONFIRMATION = "confirmation"
    EARLIER = "earlier"
    REVIEW = "review"
    WANTED = "wanted"


@dataclass(frozen=True)
class Entry:
    """One entry: its line, what it says but a map's document, that document, and how its place is told to people."""

    kind: EntryKind
    line: str
    says: Json
    document: MapDocument | None = None
    where: str = ""

    @property
    def id(self) -> str:
        return str(self.says["id"])


class Tally:
    """Counts and checksums of the lines that went by."""

    def __init__(self) -> None:
        self.counts: Counter[str] = Counter()
        self._kinds = {kind.value: sha256() for kind in EntryKind}
        self._content = sha256()
        self._all = sha256()

    def header(self, line: bytes) -> None:
        self._all.update(line)

    def entry(self, kind: EntryKind, line: bytes) -> None:
        self.counts[kind.value] += 1
        for checksum in (self._kinds[kind.value], self._content, self._all):
            checksum.update(line)

    def end(self) -> Json:
        checksums = {kind: checksum.hexdigest() for kind, checksum in self._kinds.items()}
        return {
            "kind": "end",
            "counts": {kind.value: self.counts[kind.value] for kind in EntryKind},
            "checksums": checksums | {"content": self._content.hexdigest(), "all": self._all.hexdigest()},
        }


def compact(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def entry_line(says: Json, document: str | None = None) -> str:
    """The line of an entry without its end; the canonical JSON of a map's document goes in as it is."""
    return compact(says) if document is None else f'{compact(says)[:-1]},"document":{document}}}'


def written(header: Json, entries: Iterable[tuple[EntryKind, str]]) -> Iterator[bytes]:
    """Every line of an export with its end, from the lines of its entries."""
    tally = Tally()
    first = _encoded(compact(HEADER | header))
    tally.header(first)
    yield first
    for kind, line in entries:
        encoded = _encoded(line)
        tally.entry(kind, encoded)
        yield encoded
    yield _encoded(compact(tally.end()))


def read_header(file: BinaryIO) -> tuple[Json, bytes]:
    """The header and its line. Raises BadDocument."""
    line = _line(file, 1)
    says = _object(line, "line 1")
    if says.get("format") != FORMAT:
        raise _bad("line 1", f"the file is not of the format {FORMAT}", "Name a file that manage.py export wrote.")
    _check(says, ("header",), "line 1")
    return says, line


def read_entries(file: BinaryIO) -> Iterator[Entry]:
    """The entries of an export, one at a time; the header is read along. Raises BadDocument naming the line.

    Nothing is to be trusted until the last one came: only then are counts and checksums known to be right.
    """
    tally = Tally()
    tally.header(read_header(file)[1])
    latest = EntryKind.CABLE
    order = list(EntryKind)
    for number in count(2):
        line, where = _line(file, number), f"line {number}"
        says = _object(line, where)
        if says.get("kind") == "end":
            _check_end(says, tally, where)
            if file.read(1):
                raise _bad(f"line {number + 1}", "there is more after the end", "Take the export anew.")
            return
        entry = entry_from(says, line.removesuffix(b"\n"), where)
        if order.index(entry.kind) < order.index(latest):
            raise _bad(where, f"a {entry.kind} after a {latest}", "An export has its entries kind by kind.")
        latest = entry.kind
        tally.entry(entry.kind, line)
        yield entry


def entry_from(says: Json, line: bytes, where: str) -> Entry:
    """An entry from what it says in JSON and its line without the end. Raises BadDocument naming the place.

    It has to be written exactly as this site would write it, which leaves no two ways to say the same.
    """
    try:
        _check(says, tuple(EntryKind), where)
        kind, document = EntryKind(says["kind"]), None
        if kind is EntryKind.MAP:
            document = document_from(says.pop("document"))
            canonical = canonical_json(document)
            if content_hash(canonical) != says["id"]:
                raise _bad(where, "the document is not the one that the id names", "Take the export anew.")
            expected = entry_line(says, canonical.decode())
        else:
            says = _normal(kind, says)
            expected = entry_line(says)
        _require_alike(expected, line, where)
    except BadDocument as problem:
        first = problem.defects[0]
        if first.where == where:
            raise
        raise _bad(where, f"{first.where or 'in it'}: {first.message}", first.remedy) from None
    except (ValueError, RecursionError):
        message = "a number that is none, half of a surrogate pair, or something nested too deeply"
        raise _bad(where, message, "Take the export anew.") from None
    return Entry(kind, expected, says, document, where)


@cache
def schema_bytes() -> bytes:
    """The schema as served to others."""
    return resources.files(__package__).joinpath("export.schema.json").read_bytes()


def written_readings(readings: Iterable[Json]) -> list[Json]:
    """Readings as a map document has them, with their fields in its order, which a store may have lost."""
    return [write_reading(read_reading(reading)) for reading in readings]


def written_meter(meter: Json) -> Json:
    return METER.write(METER.read(meter))


def _normal(kind: EntryKind, says: Json) -> Json:
    """What an entry says, as this site would say it. Raises BadDocument for readings that are none."""
    for text in _texts(says):
        if hidden := hidden_characters(text):
            message = f"characters that hide or turn text round: {', '.join(hidden)}"
            raise _bad("", message, "Nothing that was taken by a site has them.")
    if kind is EntryKind.FAILURE:
        earlier = [telling | {"told": _with_floats(telling["told"])} for telling in says["earlier"]]
        return says | {"told": _with_floats(says["told"]), "earlier": earlier}
    if kind in (EntryKind.CONFIRMATION, EntryKind.EARLIER):
        whole = write_document(MapDocument(CableName("not known", "not known"), (STAND_IN,)))
        document = document_from(whole | {"meter": says["meter"], "readings": says["readings"]})
        readings = [write_reading(reading) for reading in document.readings]
        return says | {"meter": METER.write(document.meter), "readings": readings}
    return says


def _with_floats(told: Json) -> Json:
    return {key: float(held) if key in NUMBERS and held is not None else held for key, held in told.items()}


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        yield from chain.from_iterable(map(_texts, value.values() if isinstance(value, dict) else value))


def _line(file: BinaryIO, number: int) -> bytes:
    line = file.readline(LONGEST_LINE + 1)
    where = f"line {number}"
    if len(line) > LONGEST_LINE:
        raise _bad(where, f"longer than {LONGEST_LINE:,} bytes", "No entry is as long as that. Take the export anew.")
    if not line.endswith(b"\n"):
        raise _bad(where, "the file ends there, before its last line", "It was cut off; take the export anew.")
    return line


def _object(line: bytes, where: str) -> Json:
    try:
        says = decoded(line)
    except BadDocument as problem:
        raise _bad(where, f"no JSON: {problem.defects[0].message}", "Take the export anew.") from None
    if not isinstance(says, dict):
        raise _bad(where, "not a JSON object", "Take the export anew.")
    return dict(says)


def _check(says: Json, kinds: Iterable[str], where: str) -> None:
    kind = says.get("kind")
    if not isinstance(kind, str) or kind not in kinds:
        raise _bad(where, f"not a line of kind {', '.join(kinds)}", "Take the export anew.")
    validator = _validators()[kind]
    if not validator.is_valid(says):
        error = next(validator.iter_errors(says))
        place = "".join(f"/{step}" for step in error.instance_path)
        raise _bad(where, f"{place or kind}: {error.message[:200]}", "Take the export anew.")


def _check_end(says: Json, tally: Tally, where: str) -> None:
    _check(says, ("end",), where)
    expected, nothing = tally.end(), {"counts": 0, "checksums": sha256().hexdigest()}
    for part, none in nothing.items():
        for name, value in expected[part].items():
            # An older export tells nothing of a kind that it does not know.
            if (told := says[part].get(name, none)) != value:
                message = f"the {part} differ: {name} is {value}, and should be {told}"
                raise _bad(where, message, "The file was changed or damaged. Take the export anew.")


def _require_alike(expected: str, line: bytes, where: str) -> None:
    if expected.encode() != line.removesuffix(b"\n"):
        raise _bad(where, "not written as an export writes it", "Take the export anew.")


@cache
def _validators() -> dict[str, Draft202012Validator]:
    definitions = json.loads(schema_bytes())["$defs"]
    return {
        kind: Draft202012Validator({"$ref": f"#/$defs/{kind}", "$defs": definitions})
        for kind in ("header", *EntryKind, "end")
    }


def _encoded(line: str) -> bytes:
    return f"{line}\n".encode()


def _bad(where: str, message: str, remedy: str) -> BadDocument:
    place = f"{where}: " if where else ""
    return BadDocument(f"{place}{message}. Nothing was stored.", (Defect(where, message, remedy),))
