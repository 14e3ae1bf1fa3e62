"""Readings as they are typed in at the bench."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import Mode, Result
from catalogue.usecases.specimens import TypedReading, typed_readings
from tests.drawing.documents import nasty_texts

HEADER = "red,black,mode,value,unit,range,flexed,note"


def one(probes, mode, shows, flexed=False):
    typed = typed_readings({1: TypedReading(probes, mode, shows, flexed)}, "")
    assert not typed.defects
    return typed.readings[0]


@pytest.mark.parametrize(
    ("mode", "shows", "result", "value"),
    [
        (Mode.OHMS, "0.6", Result.VALUE, 0.6),
        (Mode.OHMS, "0,6", Result.VALUE, 0.6),
        (Mode.OHMS, "5.1k", Result.VALUE, 5100.0),
        (Mode.OHMS, "5.1 kohm", Result.VALUE, 5100.0),
        (Mode.OHMS, "2 MΩ", Result.VALUE, 2e6),
        (Mode.OHMS, "OL", Result.OVER, None),
        (Mode.OHMS, "O.L", Result.OVER, None),
        (Mode.DIODE, "0.55 V", Result.VALUE, 0.55),
        (Mode.DIODE, ".55", Result.VALUE, 0.55),
        (Mode.FARADS, "47 pF", Result.VALUE, 47e-12),
        (Mode.FARADS, "1.2nF", Result.VALUE, 1.2e-9),
        (Mode.BEEP, "beep", Result.BEEPS, None),
        (Mode.BEEP, "no", Result.SILENT, None),
        (Mode.BEEP, "OL", Result.SILENT, None),
    ],
)
def test_what_a_meter_shows_is_understood(mode, shows, result, value):
    reading = one("HEAD:3 USB:1", mode, shows)
    assert (reading.mode, reading.result, reading.value) == (mode, result, pytest.approx(value) if value else None)
    assert (reading.red, reading.black, reading.id) == ("HEAD:3", ("USB:1",), "row 1")


@pytest.mark.parametrize("shows", ["beep", "Beep", "silent", "no beep"])
def test_a_beep_is_a_beep_whatever_the_row_says_the_meter_was_on(shows):
    reading = one("HEAD:3, USB:1", Mode.OHMS, shows)
    assert reading.mode is Mode.BEEP
    assert reading.result is (Result.BEEPS if shows.casefold() == "beep" else Result.SILENT)


def test_the_buzzer_on_several_points_is_a_sweep():
    reading = one("HEAD:3 USB:1 USB:2", Mode.BEEP, "silent", flexed=True)
    assert (reading.mode, reading.black, reading.flexed) == (Mode.SWEEP, ("USB:1", "USB:2"), True)


def test_good_rows_are_kept_beside_bad_ones_and_each_is_named_by_its_place():
    rows = {
        2: TypedReading("A:1 B:1", Mode.OHMS, "0.6"),
        5: TypedReading("A:1", Mode.OHMS, "0.6"),
        6: TypedReading("", Mode.OHMS, "7"),
        9: TypedReading("A:1 B:2", Mode.OHMS, "much"),
    }
    typed = typed_readings(rows, f"{HEADER}\nA:3,B:3,ohms,0.7,,,,\n\nA:4,B:4,ohm,0.7,,,,")
    assert [reading.id for reading in typed.readings] == ["row 2", "line 2"]
    assert set(typed.defects) == {"row 5", "row 6", "row 9", "line 4"}
    assert "Mohm" not in typed.defects["row 9"][0].message


@given(st.lists(st.tuples(nasty_texts(), st.sampled_from(Mode), nasty_texts()), max_size=4), nasty_texts())
def test_whatever_is_typed_becomes_readings_or_is_told_at_its_place(rows, table):
    numbered = {number: TypedReading(*row) for number, row in enumerate(rows, start=1)}
    typed = typed_readings(numbered, table)
    places = {reading.id for reading in typed.readings} | set(typed.defects)
    assert {place for place in places if place.startswith("row ")} <= {f"row {number}" for number in numbered}
