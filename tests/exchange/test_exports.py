"""Lines of an export: a file that is not whole and right is refused, and the line that is wrong is named."""

import io
import json

import pytest

from catalogue.core.problems import BadDocument
from catalogue.exchange.documents import canonical_json, content_hash, parse_map
from catalogue.exchange.exports import LONGEST_LINE, EntryKind, compact, entry_line, read_entries, written
from tests.samples import as_json, usb_map

IDENTITY = "a" * 64
KEY = "0f5d7af9-f376-4add-8ef0-2874335361b4"
AT = "2026-01-02T03:04:05.000006Z"
DOCUMENT = canonical_json(parse_map(as_json(usb_map()))).decode()
CABLE = {"kind": "cable", "id": IDENTITY, "slug": "plotter-lead", "maker": "Orrin", "model": "PL-2"}
MAP = {
    "kind": "map",
    "id": content_hash(DOCUMENT.encode()),
    "cable": IDENTITY,
    "number": 1,
    "author": "mira",
    "at": AT,
}
TOLD = {
    "kind": "core-open",
    "ending": "mended",
    "symptoms": ["no-power"],
    "words": "",
    "section": "main",
    "at_m": 1.0,
    "place": "",
    "nets": ["VBUS"],
    "cause": "kink",
    "tried": [],
    "note": "",
    "hours": None,
    "cost": "12.50",
    "currency": "EUR",
}
FAILURE = {"kind": "failure", "id": KEY, "cable": IDENTITY, "map": None, "at": AT, "told": TOLD, "earlier": []}
READING = {"id": "r1", "mode": "ohms", "red": "HOST:1", "black": "PLOTTER:1", "ohms": 0.6}
CONFIRMATION = {
    "kind": "confirmation",
    "id": KEY,
    "map": MAP["id"],
    "author": "",
    "at": AT,
    "note": "",
    "meter": {"lead_ohms": 0.3},
    "readings": [READING],
}
EARLIER = {
    "kind": "earlier",
    "id": KEY,
    "confirmation": KEY,
    "at": AT,
    "note": "once",
    "meter": {},
    "readings": [READING],
}
REVIEW = {
    "kind": "review",
    "id": KEY,
    "of": "map",
    "target": MAP["id"],
    "decision": "queried",
    "reason": "Why?",
    "at": AT,
}
WANTED = {
    "kind": "wanted",
    "id": IDENTITY,
    "maker": "Orrin",
    "model": "PL-3",
    "device": "",
    "askers": 2,
    "first_asked_at": AT,
    "last_asked_at": AT,
}
EVERY = (CABLE, MAP, FAILURE, CONFIRMATION, EARLIER, REVIEW, WANTED)


def lines(*entries):
    """An export of these entries, each a value or a ready line, with right counts and checksums."""
    ready = []
    for entry in entries:
        says = entry if isinstance(entry, dict) else json.loads(entry)
        document = DOCUMENT if says.get("kind") == "map" and "document" not in says else None
        ready.append((EntryKind(says["kind"]), entry_line(says, document) if isinstance(entry, dict) else entry))
    return list(written({"changes": 9}, ready))


def read(parts):
    return list(read_entries(io.BytesIO(b"".join(parts))))


def refusal(parts):
    with pytest.raises(BadDocument) as problem:
        read(parts)
    return problem.value.defects[0]


def test_every_kind_of_entry_is_read_as_it_was_written():
    entries = read(lines(*EVERY))
    assert [entry.says for entry in entries] == list(EVERY)
    assert entries[1].document == parse_map(as_json(usb_map()))
    assert [entry.where for entry in entries] == [f"line {number}" for number in range(2, 9)]


def test_the_last_line_has_counts_and_checksums():
    end = json.loads(lines(*EVERY)[-1])
    assert set(end["counts"].values()) == {1}
    assert end["checksums"]["cable"] == content_hash(lines(*EVERY)[1])
    assert end["checksums"]["content"] == content_hash(b"".join(lines(*EVERY)[1:-1]))
    assert end["checksums"]["all"] == content_hash(b"".join(lines(*EVERY)[:-1]))


@pytest.mark.parametrize("kept", range(9))
def test_a_file_that_was_cut_off_is_refused_wherever_it_was_cut(kept):
    whole = lines(*EVERY)
    assert refusal(whole[:kept]).where == f"line {kept + 1}"
    assert refusal([*whole[:kept], whole[kept][:-2]]).where == f"line {kept + 1}"


@pytest.mark.parametrize("number", range(1, 8))
def test_a_changed_letter_is_found_by_the_checksums(number):
    whole = lines(*EVERY)
    was = {1: b"Orrin", 2: b"mira", 3: b"12.50", 4: b"0.3", 5: b"once", 6: b"Why?", 7: b"PL-3"}[number]
    now = {1: b"Orrim", 2: b"mara", 3: b"12.51", 4: b"0.4", 5: b"ones", 6: b"Why!", 7: b"PL-4"}[number]
    assert whole[number].count(was) >= 1
    whole[number] = whole[number].replace(was, now, 1)
    assert "checksums differ" in refusal(whole).message
    assert refusal(whole).where == "line 9"


def test_a_document_that_its_hash_does_not_name_is_found_at_once():
    whole = lines(*EVERY)
    whole[2] = whole[2].replace(b'"length_m":1.8', b'"length_m":1.7')
    assert refusal(whole).where == "line 3"


def test_a_line_that_is_missing_or_told_twice_is_found():
    whole = lines(*EVERY)
    assert "counts differ" in refusal(whole[:3] + whole[4:]).message
    assert "counts differ" in refusal([*whole[:2], *whole[1:]]).message


def test_a_changed_header_is_found():
    whole = lines(*EVERY)
    whole[0] = whole[0].replace(b'"changes":9', b'"changes":8')
    assert "checksums differ" in refusal(whole).message


def test_another_format_or_number_of_it_is_named():
    whole = lines(*EVERY)
    for wrong in (b"corelore.export/2", b"corelore.map/1"):
        assert "format corelore.export/1" in refusal([whole[0].replace(b"corelore.export/1", wrong)]).message
    assert refusal([whole[0].replace(b'"schema":2', b'"schema":3')]).where == "line 1"


def test_entries_out_of_order_and_anything_after_the_end_are_refused():
    whole = lines(*EVERY)
    assert refusal([whole[0], whole[2], whole[1], *whole[3:]]).where == "line 3"
    assert refusal([*whole, b"\n"]).where == "line 10"


@pytest.mark.parametrize(
    "line",
    [
        b"",
        b"not json",
        b"[]",
        b"null",
        b"{}",
        b'{"kind":[]}',
        b'{"kind":"end"}',
        b'{"kind":"person","name":"mira"}',
        b'{"kind":"cable","id":' + b"[" * 100_000,
        b'{"kind":"confirmation","meter":' + b'{"a":' * 900 + b"1" + b"}" * 901,
        b"\xff\xfe",
        b'{"kind":"cable"}\r',
        compact(CABLE).encode().replace(b"Orrin", b"\\ud800"),
        compact(CABLE).encode().replace(b"Orrin", b"Or\\u0000rin"),
        compact(CABLE).encode().replace(b"Orrin", "Or\u202erin".encode()),
        compact(CABLE).encode().replace(b"plotter-lead", b"../plotter"),
        compact(CABLE).encode().replace(b'"slug"', b'"slug":"a","slug"'),
        compact(CABLE).encode().replace(b'"Orrin"', b'"' + b"O" * 121 + b'"'),
        compact(CABLE | {"email": "mira@example.invalid"}).encode(),
        compact(CABLE).encode() + b" ",
        compact(FAILURE).encode().replace(b"1.0", b"NaN"),
        compact(FAILURE).encode().replace(b"1.0", b"1e999"),
        compact(FAILURE).encode().replace(b"1.0", b"1"),
        compact(FAILURE).encode().replace(b"1.0", b"-1.0"),
        compact(FAILURE).encode().replace(b"12.50", b"12.505"),
        compact(FAILURE).encode().replace(b"core-open", b"core-opened"),
        compact(FAILURE | {"told": TOLD | {"place": "HOST"}}).encode(),
        compact(FAILURE | {"earlier": [{"until": AT, "map": None, "told": TOLD | {"at_m": 1}}]}).encode(),
        compact(FAILURE | {"earlier": [{"until": "then", "map": None, "told": TOLD}]}).encode(),
        compact(CONFIRMATION | {"readings": [READING | {"mode": "guess"}]}).encode(),
        compact(CONFIRMATION | {"readings": []}).encode(),
        compact(CONFIRMATION | {"readings": [READING, READING]}).encode(),
        compact(CONFIRMATION | {"meter": {"lead_ohms": "low"}}).encode(),
        compact(EARLIER | {"readings": []}).encode(),
        compact(EARLIER | {"author": "petra"}).encode(),
        compact(REVIEW | {"reason": ""}).encode(),
        compact(REVIEW | {"decision": "burnt"}).encode(),
        compact(WANTED | {"askers": 0}).encode(),
        compact(MAP | {"number": 0, "document": {}}).encode(),
        compact(MAP | {"document": {}}).encode(),
        compact(MAP | {"document": usb_map()}).encode(),
    ],
    ids=range(41),
)
def test_a_line_that_no_export_has_is_named_and_refused(line):
    found = refusal([lines()[0], line + b"\n"])
    assert (found.where, bool(found.message), bool(found.remedy)) == ("line 2", True, True)


class Endless(io.BytesIO):
    """A line of 100 MiB, of which is counted how much was asked for."""

    asked = 0

    def readline(self, size=-1):
        line = super().readline(size)
        self.asked += len(line)
        return line


def test_of_an_endless_line_no_more_is_read_than_any_entry_has():
    file = Endless(lines()[0] + b" " * (100 * 1024 * 1024))
    with pytest.raises(BadDocument, match="line 2: longer than"):
        list(read_entries(file))
    assert file.asked < LONGEST_LINE + 1000
