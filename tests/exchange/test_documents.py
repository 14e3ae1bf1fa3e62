"""Map documents in and out: what a person sends comes back as values, one canonical text, or every error."""

import copy
import hashlib
import json
import re
import unicodedata
from collections.abc import Callable
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.document import Fault, FaultKind, MapDocument, Meter, Mode, PartKind, Result, Role
from catalogue.core.problems import BadDocument, Defect, TooLarge
from catalogue.exchange.documents import (
    POINTS_AT_MOST,
    canonical_json,
    content_hash,
    document_from,
    parse_map,
    pretty_json,
    read_canonical,
    schema_text,
)
from catalogue.exchange.violations import pointer
from tests.exchange.strategies import documents, json_values, spoilt

FULL = json.loads(schema_text())["examples"][0]
SMALL = json.loads(schema_text())["examples"][1]


def raw(value: Any) -> bytes:
    return json.dumps(value).encode()


def changed(**parts: Any) -> dict[str, Any]:
    """The full example, with whole parts of it replaced."""
    return copy.deepcopy(FULL) | parts


def with_reading(**fields: Any) -> dict[str, Any]:
    """The small example with one ohms reading, some of whose fields are given; None leaves a field out."""
    reading = {"id": "r1", "mode": "ohms", "red": "A:1", "black": "B:1", "ohms": 1} | fields
    return SMALL | {"readings": [{key: value for key, value in reading.items() if value is not None}]}


def defects_of(sent: Any) -> tuple[Defect, ...]:
    with pytest.raises(BadDocument) as caught:
        parse_map(sent if isinstance(sent, bytes) else raw(sent))
    return caught.value.defects


def only_defect(sent: Any) -> Defect:
    (defect,) = defects_of(sent)
    return defect


def resolved(document: Any, where: str) -> Any:
    """The value a JSON pointer leads to, after RFC 6901 section 4."""
    for token in where.split("/")[1:]:
        key = token.replace("~1", "/").replace("~0", "~")
        document = document[int(key)] if isinstance(document, list) else document[key]
    return document


# What is read


def test_a_full_document_becomes_values():
    document = parse_map(raw(FULL))

    assert (document.cable.model, document.cable.devices) == ("QX-7 tool lead", ("QX-7 bench tool",))
    assert document.ends[0].rows == (("1", "2", "3"), ("4", "", "6"))
    assert (document.sections[0].start, document.sections[0].finish) == ("USB", "POD")
    assert [core.carries for core in document.cores] == ["VBUS", "D-", "SYNC"]
    assert document.cores[1].colours == ("WH", "BU")
    assert (document.nets[2].role, document.nets[2].pair) == (Role.PAIR_NEGATIVE, "D")
    assert (document.parts[0].kind, document.parts[0].value) == (PartKind.RESISTOR, 5100.0)
    assert document.faults == (Fault(FaultKind.OPEN, ("D-",), "main", 3.1),)
    assert document.meter == Meter()


def test_each_kind_of_result_is_read_by_its_mode():
    readings = parse_map(raw(FULL)).readings

    assert [(each.mode, each.result, each.value) for each in readings] == [
        (Mode.OHMS, Result.VALUE, 0.6),
        (Mode.OHMS, Result.OVER, None),
        (Mode.BEEP, Result.BEEPS, None),
        (Mode.SWEEP, Result.SILENT, None),
        (Mode.DIODE, Result.VALUE, 0.55),
        (Mode.FARADS, Result.VALUE, 1.2e-10),
        (Mode.BEEP, Result.BEEPS, None),
    ]
    assert readings[3].black == ("TOOL:1", "TOOL:2", "TOOL:3")
    assert readings[6].flexed
    assert readings[1].range_ohms == 2000


def test_what_is_left_out_is_at_its_default():
    document = parse_map(raw(SMALL))
    assert (document.sections, document.readings, document.meter) == ((), (), Meter())


def test_a_meter_of_ones_own_keeps_the_other_defaults():
    document = parse_map(raw(SMALL | {"meter": {"beep_ohms": [30, 50]}}))
    assert document.meter == Meter(beep_ohms=(30.0, 50.0))


def test_a_short_names_all_its_nets():
    document = parse_map(raw(SMALL | {"faults": [{"kind": "short", "nets": ["GND", "DTR", "CTS"]}]}))
    assert document.faults == (Fault(FaultKind.SHORT, ("GND", "DTR", "CTS")),)


@pytest.mark.parametrize("written", ["k1@3.10", "k1@3.1000", "k1@03.1"])
def test_a_point_in_an_opening_is_written_one_way(written):
    document = parse_map(raw(with_reading(red=written, black=written)))
    assert (document.readings[0].red, document.readings[0].black) == ("k1@3.1", ("k1@3.1",))


def test_names_are_compared_after_normalising():
    decomposed = unicodedata.normalize("NFD", "É")
    document = parse_map(raw(SMALL | {"nets": [{"name": decomposed, "contacts": [f"{decomposed}:1"]}]}))
    assert (document.nets[0].name, document.nets[0].contacts) == ("É", ("É:1",))


def test_line_ends_of_a_note_become_plain_new_lines():
    assert parse_map(raw(with_reading(note="one\r\ntwo"))).readings[0].note == "one\ntwo"


def test_a_byte_order_mark_does_no_harm():
    assert parse_map(b"\xef\xbb\xbf" + raw(SMALL)) == parse_map(raw(SMALL))


def test_names_that_refer_to_nothing_are_left_to_the_rules():
    stray = with_reading(red="NOWHERE:1", black="k9@2")
    stray |= {"sections": [{"name": "s", "from": "X", "to": "Y"}]}
    assert parse_map(raw(stray)).sections[0].start == "X"


# What is written


@given(documents())
def test_a_document_survives_being_written_and_read(value):
    document = document_from(value)
    text = canonical_json(document)

    assert parse_map(text) == document
    assert read_canonical(text) == document
    assert canonical_json(parse_map(text)) == text
    assert parse_map(pretty_json(document).encode()) == document


@settings(max_examples=50)
@given(documents(), st.randoms(use_true_random=False))
def test_the_order_of_fields_and_explicit_defaults_do_not_change_the_canonical_text(value, random):
    shuffled = {key: value[key] for key in random.sample(list(value), len(value))}
    shuffled.setdefault("modules", [])
    for end in shuffled["ends"]:
        end.setdefault("form", "unknown")
    for reading in shuffled["readings"]:
        reading.setdefault("flexed", False)
        reading.setdefault("note", "")
    assert canonical_json(document_from(shuffled)) == canonical_json(document_from(value))


def test_the_canonical_text_has_keys_in_the_order_of_the_schema():
    schema = json.loads(schema_text())
    text = json.loads(canonical_json(parse_map(raw(FULL))))
    assert list(text) == [key for key in schema["properties"] if key in text]
    kinds = {"ends": "end", "sections": "section", "cores": "core", "nets": "net", "paths": "path"}
    kinds |= {"parts": "part", "marks": "mark", "faults": "fault", "readings": "reading"}
    for part, kind in kinds.items():
        for entry in text[part]:
            order = list(schema["$defs"][kind]["properties"])
            assert list(entry) == [key for key in order if key in entry]


def test_the_canonical_text_is_compact_utf8_without_defaults():
    document = document_from(SMALL | {"modules": [], "nets": [{"name": "Ω", "contacts": ["A:1"], "volts": 5.0}]})
    assert canonical_json(document).decode() == (
        '{"format":"corelore.map/1","cable":{"maker":"Tarn & Fell (invented)","model":"serial 9"},'
        '"ends":[{"name":"A","connector":"de9-rs232-dte"},{"name":"B","connector":"de9-rs232-dte"}],'
        '"nets":[{"name":"Ω","volts":5,"contacts":["A:1"]}]}'
    )


def test_whole_numbers_are_written_alike_however_they_were_given():
    """As ECMAScript, and so RFC 8785, writes them: 5 and 40000000 without a point or an exponent."""
    whole, same = (
        replace(document_from(SMALL), meter=Meter(lead_ohms=number(0), range_ohms=number(50_000_000)))
        for number in (int, float)
    )
    assert canonical_json(whole) == canonical_json(same)
    assert b'"meter":{"lead_ohms":0,"range_ohms":50000000}' in canonical_json(whole)


def test_the_text_for_people_has_one_line_for_each_reading():
    lines = pretty_json(parse_map(raw(FULL))).splitlines()
    assert sum('"mode"' in line for line in lines) == 7
    assert max(map(len, lines)) < 250


def test_the_content_hash_is_sha_256():
    """The digest of "abc" is the example of FIPS 180-4, appendix B.1."""
    assert content_hash(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert content_hash(b"map") == hashlib.sha256(b"map").hexdigest()


# What is refused, and how it is told


@pytest.mark.parametrize(
    ("sent", "where", "message", "remedy"),
    [
        (with_reading(ohm=1), "/readings/0/ohm", 'unknown field "ohm"', 'Did you mean "ohms"?'),
        (SMALL | {"Nets": []}, "/Nets", 'unknown field "Nets"', 'Did you mean "nets"?'),
        (SMALL | {"zzz": 1}, "/zzz", 'unknown field "zzz"', "Leave it out; known here: format, cable"),
        (SMALL | {"format": "corelore.map/2"}, "/format", 'found "corelore.map/2"', "corelore.map/1"),
        (with_reading(ohms="0.6"), "/readings/0/ohms", 'found "0.6", expected a number', "Mode ohms"),
        (with_reading(ohms=-1), "/readings/0/ohms", "-1 is too small", "Ohms, 0 to 1e12."),
        (with_reading(ohms=1e13), "/readings/0/ohms", "10000000000000 is too large", "Ohms, 0 to 1e12."),
        (with_reading(range_ohms=0), "/readings/0/range_ohms", "0 is too small", "above 0"),
        (with_reading(ohms=None), "/readings/0", 'the field "ohms" is missing', 'or "over": true'),
        (with_reading(over=True), "/readings/0/ohms", "does not belong here", "leave out one of the two"),
        (with_reading(over=False, ohms=None), "/readings/0/over", "found false, expected true", "OL"),
        (with_reading(volts=1), "/readings/0/volts", "does not belong here", "The mode says which field"),
        (with_reading(mode="ohm"), "/readings/0/mode", '"ohm" is not one of', 'Did you mean "ohms"?'),
        (with_reading(mode="tone"), "/readings/0/mode", "not one of ohms, beep, sweep", "set to"),
        (with_reading(black=["B:1"]), "/readings/0/black", "a list of 1, expected text", "END:contact"),
        (with_reading(red="A1"), "/readings/0/red", '"A1" is not written as expected', "END:contact"),
        (with_reading(red="A B:1"), "/readings/0/red", "is not written as expected", "no white space"),
        (with_reading(red="k1@-1"), "/readings/0/red", "is not written as expected", "core@metres"),
        (with_reading(red="k1@1.00001"), "/readings/0/red", "not written as expected", "four decimals"),
        (with_reading(note="a" * 501), "/readings/0/note", "501 characters, but at most 500", "500"),
        (with_reading(note="a\tb"), "/readings/0/note", "U+0009 (a control character)", "new lines are fine"),
        (with_reading(note="a\u202eb"), "/readings/0/note", "U+202E (right-to-left override)", "direction"),
        (with_reading(mode="sweep", ohms=None, beeps=True), "/readings/0/black", "expected a list", "sweep"),
        (
            with_reading(mode="sweep", ohms=None, beeps=True, black=["B:1", "B:1"]),
            "/readings/0/black",
            'the same entry twice: "B:1"',
            "sweep",
        ),
        (
            with_reading(mode="sweep", ohms=None, beeps=True, black=[]),
            "/readings/0/black",
            "a list of 0, but at least 1",
            "sweep",
        ),
        (
            changed(ends=[{"name": "TOOL", "connector": "custom"}]),
            "/ends/0",
            'the field "rows" is missing',
            "looking into the mating face",
        ),
        (
            changed(ends=[{"name": "USB", "connector": "usb2-a", "rows": [["1"]]}]),
            "/ends/0/rows",
            "does not belong here",
            'A face of your own goes with "connector": "custom"',
        ),
        (changed(ends=[]), "/ends", "a list of 0, but at least 1", "connectors"),
        (
            changed(cores=[{"name": "k", "section": "main", "net": "GND", "path": "SYNC"}]),
            "/cores/0/path",
            "does not belong here",
            "one net or one path",
        ),
        (
            changed(cores=[{"name": "k", "section": "main", "colour": ["WHBU"]}]),
            "/cores/0/colour/0",
            '"WHBU" is not one of BK, BN',
            "two colours has two entries",
        ),
        (
            changed(parts=[{"kind": "diode", "between": ["a", "b"], "ohms": 1}]),
            "/parts/0/ohms",
            "not",
            "a diode",
        ),
        (changed(parts=[{"kind": "diode", "between": ["a"]}]), "/parts/0/between", "a list of 1", "two nets"),
        (
            changed(faults=[{"kind": "short", "net": "GND", "nets": ["a", "b"]}]),
            "/faults/0/net",
            "not",
            "nets",
        ),
        (changed(faults=[{"kind": "open"}]), "/faults/0", 'the field "net" is missing', "open and high"),
        (
            changed(faults=[{"kind": "open", "net": "a", "at_m": 1}]),
            "/faults/0",
            'the field "section" is missing',
            "where known",
        ),
        (
            changed(nets=[{"name": " GND", "contacts": ["USB:4"]}]),
            "/nets/0/name",
            "not written as expected",
            "without white space at its start or end",
        ),
        (
            changed(nets=[{"name": "G", "contacts": ["USB:4"], "volts": 230}]),
            "/nets/0/volts",
            "230",
            "extra-low",
        ),
        (SMALL | {"meter": {"beep_ohms": [60, 20]}}, "/meter/beep_ohms", "60 is more than 20", "smaller"),
        (
            {key: value for key, value in SMALL.items() if key != "nets"},
            "",
            'the field "readings" is missing',
            "nets, or readings, or both",
        ),
        (
            SMALL | {"nets": [], "readings": []},
            "/readings",
            "a list of 0, but at least 1",
            "nets, or readings",
        ),
    ],
)
def test_an_error_names_its_place_what_was_found_and_the_remedy(sent, where, message, remedy):
    defect = only_defect(sent)
    assert defect.where == where
    assert message in defect.message
    assert remedy in defect.remedy


@pytest.mark.parametrize(
    ("parts", "where", "first"),
    [
        ({"modules": [{"name": "TOOL"}]}, "/modules/0/name", "/ends/0/name"),
        ({"splits": [{"name": "Y"}, {"name": "Y"}]}, "/splits/1/name", "/splits/0/name"),
        ({"paths": [FULL["paths"][0] | {"name": "GND"}]}, "/paths/0/name", "/nets/1/name"),
        ({"cores": [FULL["cores"][0], FULL["cores"][0]]}, "/cores/1/name", "/cores/0/name"),
        ({"readings": [FULL["readings"][0], FULL["readings"][0]]}, "/readings/1/id", "/readings/0/id"),
        (
            {"ends": [FULL["ends"][0] | {"rows": [["1", ""], ["", "1"]]}]},
            "/ends/0/rows/1/1",
            "/ends/0/rows/0/0",
        ),
    ],
)
def test_a_name_used_twice_is_told_with_where_it_was_used_first(parts, where, first):
    defect = only_defect(changed(**parts))
    assert defect.where == where
    assert first in defect.message
    assert "of its own" in defect.remedy or "once" in defect.remedy


def test_all_errors_are_told_at_once():
    sent = changed(
        meter={"lead_ohms": -1, "beep_ohms": [60, 20]},
        nets=[{"name": "GND", "contacts": []}, {"name": "GND", "contacts": ["USB:4"], "colour": "BK"}],
        readings=[FULL["readings"][0] | {"red": "USB"}, {"id": "r1", "mode": "beep", "red": "USB:1"}],
    )
    del sent["cable"]["model"]
    sent["ends"][1]["name"] = "a b"
    assert {defect.where for defect in defects_of(sent)} == {
        "/cable",
        "/ends/1/name",
        "/meter/lead_ohms",
        "/meter/beep_ohms",
        "/nets/0/contacts",
        "/nets/1/name",
        "/nets/1/colour",
        "/readings/0/red",
        "/readings/1",
        "/readings/1/id",
    }


def test_a_great_many_errors_are_cut_short_with_their_number():
    defects = defects_of(SMALL | {"readings": [1] * 350})
    assert len(defects) == 101
    assert defects[-1].message == "and 250 more"


def test_errors_beyond_counting_are_told_as_such():
    defects = defects_of(SMALL | {"readings": [1] * 5000})
    assert (len(defects), defects[-1].message) == (101, "and at least 900 more")


def test_too_many_contacts_to_work_with_are_refused():
    rows = [[str(row * 100 + seat) for seat in range(100)] for row in range(11)]
    defect = only_defect(changed(ends=[{"name": "TOOL", "connector": "custom", "rows": rows}]))
    assert f"at most {POINTS_AT_MOST} are worked with" in defect.message


def test_a_document_over_the_limit_is_refused_before_it_is_read():
    with pytest.raises(TooLarge, match="at most 10 are read"):
        parse_map(b"not even JSON", limit_bytes=10)


# What is not even JSON


@pytest.mark.parametrize(
    ("sent", "where", "message"),
    [
        (b"", "", "nothing in it"),
        (b" \n", "", "nothing in it"),
        (b"{", "line 1, column 2", "the text ends there"),
        (b'{"a": 1,\n "b" 2}', "line 2, column 6", 'found "2}"'),
        (b'{"a": "one\ntwo"}', "line 1, column 11", "invalid control character"),
        (b'{"a":1}\n{}', "line 2, column 1", "extra data"),
        (b'{"a": "\n\xff"}', "line 2", "byte 8 is not UTF-8"),
        ("{}".encode("utf-16"), "line 1", "not UTF-8"),
        (b"[" * 100_000, "", "nested too deeply"),
        (b'{"a":' * 100_000, "", "nested too deeply"),
    ],
)
def test_text_that_is_no_json_is_told_by_line_and_column(sent, where, message):
    defect = only_defect(sent)
    assert defect.where == where
    assert message in defect.message
    assert defect.remedy


@pytest.mark.parametrize("sent", [[], [FULL], "text", 5, None, True])
def test_a_top_level_that_is_no_object_is_told(sent):
    assert "expected an object" in only_defect(raw(sent)).message


def test_a_field_written_twice_is_told():
    sent = raw(with_reading()).replace(b'"red": "A:1"', b'"red": "A:1", "red": "A:2"')
    defect = only_defect(sent)
    assert (defect.where, defect.message) == ("/readings/0/red", 'the field "red" is written twice here')


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999", "9" * 5000, "-" + "9" * 400])
def test_a_number_that_cannot_be_worked_with_is_told(number):
    sent = raw(with_reading(ohms="here")).replace(b'"here"', number.encode())
    defect = only_defect(sent)
    assert defect.where == "/readings/0/ohms"
    assert "Write a finite number." in defect.remedy


def test_half_of_a_surrogate_pair_is_told():
    defect = only_defect(raw(with_reading(note="here")).replace(b"here", rb"\ud83d"))
    assert defect.where == "/readings/0/note"
    assert "surrogate" in defect.message


def test_a_pair_of_surrogates_is_the_character_it_means():
    sent = raw(with_reading(note="here")).replace(b"here", rb"\ud83d\ude00")
    assert parse_map(sent).readings[0].note == "😀"


def test_a_value_nested_too_deeply_is_told_at_its_place():
    nested: Any = 1
    for _ in range(50):
        nested = [nested]
    assert "/cable/model/0/0/0/0/0/0" in [
        defect.where for defect in defects_of(SMALL | {"cable": {"maker": "m", "model": nested}})
    ]


def test_values_that_are_no_json_at_all_are_told():
    with pytest.raises(BadDocument) as caught:
        document_from(SMALL | {"cable": {"maker": "m", "model": {1, 2}, 3: "three"}})
    assert [defect.where for defect in caught.value.defects] == ["/cable/model", "/cable"]


# Which characters may stand in a text


# Bidi_Control in PropList.txt of the Unicode Character Database (UAX 9 and UAX 44).
BIDI_CONTROLS = {
    "\u061c",
    "\u200e",
    "\u200f",
    *map(chr, range(0x202A, 0x202F)),
    *map(chr, range(0x2066, 0x206A)),
}
PLANE_0 = [chr(code) for code in range(0x10000) if not 0xD800 <= code < 0xE000]


def refused_in(field: str) -> set[str]:
    """The characters of the basic plane that a schema's text does not take between two letters."""
    pattern = re.compile(json.loads(schema_text())["$defs"][field]["pattern"])
    taken = {character for character in PLANE_0 if pattern.fullmatch(f"a{character}b")}
    return set(PLANE_0) - taken


@pytest.mark.parametrize(("field", "also_taken"), [("note", {"\n"}), ("summary", {"\n"}), ("title", set())])
def test_texts_take_all_characters_but_controls_and_those_that_hide_or_reorder(field, also_taken):
    by_category = {each for each in PLANE_0 if unicodedata.category(each) in ("Cc", "Zl", "Zp")}
    breaking = {"\ufeff", "\ufff9", "\ufffa", "\ufffb", "\ufffe", "\uffff"}
    assert refused_in(field) == (by_category | BIDI_CONTROLS | breaking) - also_taken


@pytest.mark.parametrize("field", ["name", "revision"])
def test_names_take_the_same_characters_as_titles_inside(field):
    assert refused_in(field) == refused_in("title")


def test_words_take_no_white_space_and_none_of_the_signs_between_parts():
    """White space as Unicode's White_Space property has it, which Python's `isspace` follows (with Cc)."""
    spaces = {each for each in PLANE_0 if each.isspace()}
    unseen = {"\u200b", "\u200c", "\u200d", "\u2060"}
    assert refused_in("word") == refused_in("title") | spaces | unseen | {":", "@"}


def test_every_character_taken_may_stand_in_an_xml_drawing():
    """Checked by expat, which follows the Char production of XML 1.0."""
    taken = "".join(each for each in PLANE_0 if each not in refused_in_note and each not in "<&")
    assert ElementTree.fromstring(f"<text>{taken}</text>").text == taken


refused_in_note = refused_in("note")


def test_the_refusal_by_pattern_is_the_refusal_of_a_document():
    """The patterns above ran in Python's engine; the validator's must agree on each refused character."""
    for character in refused_in_note - set(map(chr, range(32))):
        assert only_defect(with_reading(note=f"a{character}b")).where == "/readings/0/note"


# Pointers, and whatever else may come


def test_pointers_are_escaped_as_in_rfc_6901():
    """The examples of RFC 6901 section 5."""
    keys = ["", "a/b", "c%d", "e^f", "g|h", "i\\j", 'k"l', " ", "m~n"]
    pointers = ["/", "/a~1b", "/c%d", "/e^f", "/g|h", "/i\\j", '/k"l', "/ ", "/m~0n"]
    assert [pointer((key,)) for key in keys] == pointers
    assert pointer(("foo", 0)) == "/foo/0"
    assert pointer(()) == ""


def test_a_field_that_nobody_could_read_is_told_at_its_object():
    for key in ("x" * 10_000, "a\u202eb", "a\nb"):
        defect = only_defect(SMALL | {"cable": SMALL["cable"] | {key: 1}})
        assert defect.where == "/cable"
        assert len(defect.message) < 80
        assert defect.message.isprintable()


def read_or_refused(read: Callable[[], MapDocument]) -> MapDocument | tuple[Defect, ...]:
    try:
        return read()
    except BadDocument as problem:
        return problem.defects


@given(spoilt())
def test_a_spoilt_document_is_read_or_refused_with_places_that_exist(value):
    outcome = read_or_refused(lambda: document_from(value))
    if isinstance(outcome, MapDocument):
        assert parse_map(canonical_json(outcome)) == outcome
    else:
        assert outcome
        for defect in outcome:
            resolved(value, defect.where)
            assert defect.message
            assert defect.remedy


@given(json_values)
def test_any_value_at_all_is_refused_and_nothing_else(value):
    with pytest.raises(BadDocument):
        document_from(value)


@given(st.dictionaries(st.sampled_from(list(FULL)), json_values))
def test_any_values_in_the_fields_of_a_document_are_refused_and_nothing_else(value):
    with pytest.raises(BadDocument):
        document_from(value)


@given(st.binary() | st.text(alphabet='{}[]",:0e-n\\u').map(str.encode))
def test_any_bytes_at_all_are_refused_and_nothing_else(sent):
    with pytest.raises(BadDocument):
        parse_map(sent)


@settings(max_examples=50)
@given(documents(), st.integers(0, 10**6), st.binary(max_size=3))
def test_a_damaged_file_is_read_or_refused(value, place, damage):
    sent = raw(value)
    place %= len(sent)
    damaged = sent[:place] + damage + sent[place + len(damage) :]
    outcome = read_or_refused(lambda: parse_map(damaged))
    assert outcome
    if isinstance(outcome, MapDocument):
        assert parse_map(canonical_json(outcome)) == outcome
