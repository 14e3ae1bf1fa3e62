"""Readings jotted down line by line."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import Mode, Result
from catalogue.exchange.reading_lines import parse_lines


def read(line, plug=""):
    (reading,) = parse_lines(line, plug).readings
    return reading


@pytest.mark.parametrize(
    ("line", "mode", "black", "result", "value"),
    [
        ("PLUG:3 PLUG:14 beeps", Mode.BEEP, ("PLUG:14",), Result.BEEPS, None),
        ("PLUG:3, PLUG:14; BEEP", Mode.BEEP, ("PLUG:14",), Result.BEEPS, None),
        ("PLUG:3 PLUG:14 no", Mode.BEEP, ("PLUG:14",), Result.SILENT, None),
        ("PLUG:3 PLUG:14 PLUG:15 silent", Mode.SWEEP, ("PLUG:14", "PLUG:15"), Result.SILENT, None),
        ("PLUG:3 PLUG:14 O.L", Mode.OHMS, ("PLUG:14",), Result.OVER, None),
        ("PLUG:3 PLUG:14 0.6", Mode.OHMS, ("PLUG:14",), Result.VALUE, 0.6),
        ("PLUG:3\tPLUG:14   5,1 kΩ", Mode.OHMS, ("PLUG:14",), Result.VALUE, 5100.0),
        ("PLUG:3 PLUG:14 5.1k", Mode.OHMS, ("PLUG:14",), Result.VALUE, 5100.0),
        ("PLUG:3 PLUG:14 2 Mohm", Mode.OHMS, ("PLUG:14",), Result.VALUE, 2e6),
    ],
)
def test_a_line_tells_contacts_and_what_the_meter_did(line, mode, black, result, value):
    reading = read(line)
    assert (reading.red, reading.mode, reading.black, reading.result) == ("PLUG:3", mode, black, result)
    assert reading.value == value


def test_bare_contacts_belong_to_the_one_plug():
    assert read("3 14 beeps", "PLUG").red == "PLUG:3"
    assert read("3 14 beeps", "PLUG").black == ("PLUG:14",)


def test_csv_is_read_as_csv():
    file = parse_lines("\nred;black;mode;value\nP:1;P:2;ohms;0,6\n", "PLUG")
    assert (file.readings[0].red, file.readings[0].value) == ("P:1", 0.6)


def test_lines_that_tell_nothing_are_named_and_the_good_ones_kept():
    file = parse_lines("1 2 beeps\n\nhello\n3 beeps\n1 2 3 4 ohm\n1 2 OL\n", "PLUG")
    assert file.lines == (1, 6)
    assert [defect.where for defect in file.defects] == ["line 3", "line 4", "line 5"]
    assert '"hello" is no reading' in file.defects[0].message


def test_what_the_reader_of_files_cannot_take_is_named_by_its_line():
    file = parse_lines("1 2 beeps\n1 " + "x" * 80 + " beeps", "PLUG")
    assert {defect.where for defect in file.defects} == {"line 2"}
    assert file.lines == (1,)


@given(st.text(max_size=300))
def test_whatever_is_typed_is_read_or_named(text):
    file = parse_lines(text, "PLUG")
    assert len(file.readings) == len(file.lines)
    if text.strip() and not file.readings:
        assert file.defects


def test_a_long_line_of_spaces_takes_no_time():
    assert parse_lines("1" + " " * 200_000 + "x").readings == ()
