"""Readings as CSV: what people type in a spreadsheet is read row by row; errors name their line."""

import csv
import io
import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import Mode, Reading, Result
from catalogue.exchange.readings_csv import READINGS_AT_MOST, ReadingsFile, parse_readings_csv, readings_csv
from catalogue.exchange.shapes import read_reading
from tests.exchange.strategies import readings

HEADER = "red,black,mode,value,unit,range,flexed,note"


def read(*rows: str, header: str = HEADER) -> ReadingsFile:
    return parse_readings_csv("\n".join((header, *rows)))


def good(*rows: str, header: str = HEADER) -> tuple[Reading, ...]:
    file = read(*rows, header=header)
    assert file.defects == ()
    return file.readings


def only_defect(row: str, header: str = HEADER) -> str:
    """The one thing wrong with a row, which stands on line 2 and gives no reading."""
    file = read(row, header=header)
    assert file.readings == ()
    (defect,) = file.defects
    assert defect.where == "line 2"
    return f"{defect.message} | {defect.remedy}"


def sheet(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


# What people type


def test_a_reading_of_every_kind_is_read():
    found = good(
        "USB:1,TOOL:1,ohms,0.6,ohm,200,,",
        "USB:1,USB:4,ohms,OL,,2M,,",
        "USB:4,TOOL:6,beep,beep,,,,",
        "USB:2,TOOL:1 TOOL:2 TOOL:3,sweep,silent,,,,",
        "TOOL:6,TOOL:3,diode,0.55,V,,,",
        "TOOL:3,TOOL:6,farads,120,pF,,,",
        'k1@3.10,TOOL:1,beep,yes,,,yes,"comes, and goes"',
    )
    assert found == (
        Reading("r1", Mode.OHMS, "USB:1", ("TOOL:1",), Result.VALUE, 0.6, range_ohms=200.0),
        Reading("r2", Mode.OHMS, "USB:1", ("USB:4",), Result.OVER, range_ohms=2e6),
        Reading("r3", Mode.BEEP, "USB:4", ("TOOL:6",), Result.BEEPS),
        Reading("r4", Mode.SWEEP, "USB:2", ("TOOL:1", "TOOL:2", "TOOL:3"), Result.SILENT),
        Reading("r5", Mode.DIODE, "TOOL:6", ("TOOL:3",), Result.VALUE, 0.55),
        Reading("r6", Mode.FARADS, "TOOL:3", ("TOOL:6",), Result.VALUE, 1.2e-10),
        Reading("r7", Mode.BEEP, "k1@3.1", ("TOOL:1",), Result.BEEPS, flexed=True, note="comes, and goes"),
    )


@pytest.mark.parametrize("word", ["beep", "Beep", "beeps", "yes", "1"])
def test_a_beep_is_written_in_several_ways(word):
    assert good(f"A:1,B:1,beep,{word},,,,")[0].result is Result.BEEPS


@pytest.mark.parametrize("word", ["silent", "no", "0", "OL", "NO"])
def test_silence_is_written_in_several_ways(word):
    assert good(f"A:1,B:1,beep,{word},,,,")[0].result is Result.SILENT


@pytest.mark.parametrize("word", ["OL", "ol", "O.L", "0L", "0.L", ".OL"])
@pytest.mark.parametrize("mode", ["ohms", "diode", "farads"])
def test_over_limit_is_written_as_meters_show_it(word, mode):
    assert good(f"A:1,B:1,{mode},{word},,,,")[0].result is Result.OVER


@pytest.mark.parametrize(
    ("unit", "factor"),
    [
        *((unit, 1) for unit in ("", "ohm", "Ohm", "OHM", "ohms", "Ω", "\u2126")),
        *((unit, 10**3) for unit in ("k", "kohm", "Kohm", "KOHM", "kΩ", "KΩ", "k\u2126")),
        *((unit, 10**6) for unit in ("M", "Mohm", "MOHM", "Mohms", "MΩ")),
    ],
)
def test_units_of_resistance_are_taken_in_any_case_but_that_of_mega(unit, factor):
    assert good(f"A:1,B:1,ohms,5.1,{unit},,,")[0].value == float(Fraction("5.1") * factor)
    bare = unit.replace(" ", "")
    assert good(f"A:1,B:1,ohms,OL,,2{bare},,")[0].range_ohms == 2 * factor
    assert good(f"A:1,B:1,ohms,OL,,2 {bare},,")[0].range_ohms == 2 * factor


@pytest.mark.parametrize(
    ("mode", "unit", "factor"),
    [("diode", "V", "1"), ("diode", "v", "1"), ("diode", "", "1")]
    + [("farads", unit, "1/1000000000000") for unit in ("pF", "pf", "PF")]
    + [("farads", unit, "1/1000000000") for unit in ("nF", "nf")],
)
def test_units_of_other_modes(mode, unit, factor):
    assert good(f"A:1,B:1,{mode},4.7,{unit},,,")[0].value == float(Fraction("4.7") * Fraction(factor))


@pytest.mark.parametrize("number", ["0.6", ".6", "0.60", "+0.6", "6e-1", "6E-01"])
def test_a_number_is_written_in_several_ways(number):
    assert good(f"A:1,B:1,ohms,{number},,,,")[0].value == 0.6


@pytest.mark.parametrize("delimiter", [";", "\t"])
@pytest.mark.parametrize("number", ["0,6", "0.6"])
def test_a_decimal_comma_is_understood_where_columns_are_parted_otherwise(delimiter, number):
    row = delimiter.join(["A:1", "B:1", "ohms", number, "", "2,5k", "", "a, b"])
    (reading,) = good(row, header=HEADER.replace(",", delimiter))
    assert (reading.value, reading.range_ohms, reading.note) == (0.6, 2500.0, "a, b")


@pytest.mark.parametrize(("word", "flexed"), [("yes", True), ("x", True), ("1", True), ("", False), ("no", False)])
def test_flexing_is_ticked(word, flexed):
    assert good(f"A:1,B:1,beep,1,,,{word},")[0].flexed is flexed


def test_columns_may_stand_in_any_order_and_most_may_be_missing():
    (reading,) = good("beep, 1 ,B:1,A:1", header=" Mode,VALUE,black,red")
    assert (reading.red, reading.black) == ("A:1", ("B:1",))


def test_the_weight_of_the_last_digit_may_be_given():
    assert good("A:1,B:1,ohms,0.6,0.1", header="red,black,mode,value,digit")[0].digit_ohms == 0.1


def test_short_rows_and_empty_columns_do_no_harm():
    assert len(good("A:1,B:1,beep,1", "A:2,B:2,beep,1,,,,,,,", header=HEADER + ",,")) == 2


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_lines_end_as_on_any_system_and_blank_ones_are_passed_over(ending):
    rows = [HEADER, "", "A:1,B:1,beep,1,,,,", ",,,,,,,", "   ", "A:2,B:2,beep,1,,,,", ""]
    file = parse_readings_csv(ending.join(rows))
    assert file.defects == ()
    assert [(reading.id, reading.red) for reading in file.readings] == [("r1", "A:1"), ("r2", "A:2")]
    assert file.lines == (3, 6)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_files_are_read_as_spreadsheets_save_them(encoding):
    file = parse_readings_csv(f"{HEADER}\r\nA:1,B:1,ohms,5,kΩ,,,naïve 😀\r\n".encode(encoding))
    assert file.defects == ()
    assert (file.readings[0].value, file.readings[0].note) == (5000.0, "naïve 😀")


def test_a_note_of_several_lines_counts_them_all():
    file = read('A:1,B:1,beep,1,,,,"one\r\ntwo"', "A:2,B:2,beep,perhaps,,,,", "A:3,B:3,beep,1,,,,")
    assert [reading.note for reading in file.readings] == ["one\ntwo", ""]
    assert [defect.where for defect in file.defects] == ["line 4"]
    assert file.lines == (2, 5)


# What cannot be read


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("A:1,B:1,ohms,abc,,,,", 'value: "abc" is not a number | Write a number such as 0.6.'),
        ("A:1,B:1,ohms,1_000,,,,", 'value: "1_000" is not a number'),
        ("A:1,B:1,ohms,nan,,,,", 'value: "nan" is not a number'),
        ("A:1,B:1,ohms,٣,,,,", "is not a number"),
        ("A:1,B:1,ohms,1e999,,,,", "is not a number"),
        ("A:1,B:1,ohms,,,,,", 'value: "" is not a number'),
        ("A:1,B:1,ohms,-5,,,,", "value: -5 is too small | Ohms, 0 to 1e12."),
        (
            "A:1,B:1,ohms,5,mohm,,,",
            'unit: "mohm" is not a unit of ohms | Write ohm, kohm or Mohm (capital M)',
        ),
        ("A:1,B:1,ohms,5,V,,,", 'unit: "V" is not a unit of ohms'),
        ("A:1,B:1,ohms,OL,,2m,,", 'range: "m" is not a unit of ohms'),
        ("A:1,B:1,ohms,OL,,high,,", 'range: "" is not a number'),
        ("A:1,B:1,ohms,OL,,0,,", "range: 0 is too small"),
        ("A:1,B:1,diode,0.5,mV,,,", 'unit: "mV" is not the unit of a diode reading | Write V.'),
        ("A:1,B:1,farads,120,,,,", "unit: the unit is missing | Write pF or nF."),
        ("A:1,B:1,farads,120,F,,,", "Write pF or nF."),
        ("A:1,B:1,farads,OL,,2n,,", "range: only an ohms reading has a range | Leave the cell empty."),
        (
            "A:1,B:1,beep,perhaps,,,,",
            "Write beep, yes or 1 when it beeped; silent, no, 0 or OL when it did not.",
        ),
        ("A:1,B:1,beep,1,,,often,", 'flexed: "often" is not yes or no'),
        ("A:1,B:1,beeb,1,,,,", 'mode: "beeb" is not a mode | Did you mean "beep"?'),
        ("A:1,B:1,,1,,,,", "Write one of ohms, beep, sweep, diode, farads."),
        (",B:1,beep,1,,,,", "red: the cell is empty | Write END:contact, such as USB:1."),
        ("A:1,,beep,1,,,,", "black: the cell is empty"),
        ("A1,B:1,beep,1,,,,", 'red: "A1" is not written as expected'),
        (
            "A:1,B:1 B:2,beep,1,,,,",
            "black: several points, but only a sweep has several | Set the mode to sweep",
        ),
        ("A:1,B:1 B:1,sweep,1,,,,", 'black: the same entry twice: "B:1"'),
        ("A:1,B:1,beep,1,,,,a\u202eb", "note:"),
        ("A:1,B:1,ohms,0,6,,,,", 'unit: "6" is not a unit of ohms | Write ohm, kohm or Mohm'),
        ("A:1,B:1,ohms,OL,,2,5k,,", 'flexed: "5k" is not yes or no'),
        ('A:1,B:1,beep,1,,,,"not closed', "the whole row: this is not CSV: unexpected end of data"),
        ('A:1,"B:1"x,beep,1,,,,', "the whole row: this is not CSV"),
    ],
)
def test_a_row_that_cannot_be_read_is_told_by_its_line_with_what_was_expected(row, told):
    assert told in only_defect(row)


def test_a_decimal_comma_between_commas_is_told():
    told = only_defect("A:1,B:1,ohms,0,6", header="red,black,mode,value")
    assert "the whole row: 5 cells, but the header has 4 | Write decimals with a point" in told


def test_a_digit_is_told_where_it_has_no_meaning():
    header = "red,black,mode,value,digit"
    assert "digit: only an ohms reading has a digit" in only_defect("A:1,B:1,beep,1,0.1", header=header)


def test_good_rows_are_kept_and_keep_their_ids_when_bad_ones_are_mended():
    file = read("A:1,B:1,beep,1,,,,", "A:2,B:2,beep,?,,,,", "A:3,B:3,beep,1,,,,")
    mended = good("A:1,B:1,beep,1,,,,", "A:2,B:2,beep,1,,,,", "A:3,B:3,beep,1,,,,")
    assert file.readings == (mended[0], mended[2])
    assert [defect.where for defect in file.defects] == ["line 3"]


def test_everything_wrong_with_a_row_is_told_at_once():
    file = read("A:1,,ohms,x,,y,z,")
    assert [defect.message.partition(":")[0] for defect in file.defects] == [
        "black",
        "value",
        "range",
        "flexed",
    ]


def test_bytes_that_are_no_text_spoil_their_row_only():
    file = parse_readings_csv(f"{HEADER}\nA:1,B:1,beep,1,,,,caf\xe9\nA:2,B:2,beep,1,,,,\n".encode("latin-1"))
    assert [reading.id for reading in file.readings] == ["r2"]
    assert "Save the file as CSV in UTF-8." in file.defects[0].remedy


@pytest.mark.parametrize("encode", [str, str.encode, lambda text: text.encode("utf-16")])
def test_the_sign_of_what_was_no_text_is_read_where_somebody_wrote_it(encode):
    file = parse_readings_csv(encode(f"{HEADER}\nA:1,B:1,beep,1,,,,caf\ufffd\n"))
    assert file.defects == ()
    assert file.readings[0].note == "caf\ufffd"


@pytest.mark.parametrize("text", ["", "\n\n", "A:1,B:1,beep,1", '"', "colour,length"])
def test_a_file_without_the_header_is_told_what_to_begin_with(text):
    file = parse_readings_csv(text)
    assert (file.readings, file.lines) == ((), ())
    (defect,) = file.defects
    assert defect.where.startswith("line ")
    assert defect.message == "the first line lacks the columns red, black, mode, value"
    assert HEADER in defect.remedy


def test_columns_that_are_missing_unknown_or_doubled_are_told():
    missing = read("A:1,B:1,beep", header="red,black,mode,valeu")
    assert [defect.message for defect in missing.defects] == [
        "the first line lacks the columns value",
        'the column "valeu" is not known and was not read',
    ]
    assert missing.defects[1].remedy == 'Did you mean "value"?'
    more = read("A:1,B:1,beep,1,1,7", header="red,black,mode,value,value,temperature")
    assert [defect.message for defect in more.defects] == [
        'the column "value" is there twice; the last one was read',
        'the column "temperature" is not known and was not read',
    ]
    assert len(more.readings) == 1


def test_a_file_that_is_wrong_throughout_is_cut_short():
    file = read(*["A:1,B:1,beep,?,,,,"] * 300)
    assert len(file.defects) == 101
    assert file.defects[-1].message == "and 200 more"


def test_no_more_readings_are_read_than_a_document_may_hold():
    file = parse_readings_csv("red,black,mode,value\n" + "A:1,B:1,beep,1\n" * (READINGS_AT_MOST + 2))
    assert len(file.readings) == READINGS_AT_MOST
    assert [defect.where for defect in file.defects] == [f"line {READINGS_AT_MOST + 2}"]


# What is written


@given(st.lists(readings(), max_size=5))
def test_readings_survive_being_written_and_read(plain):
    sent = [replace(read_reading(each), id=f"r{place}") for place, each in enumerate(plain, start=1)]
    file = parse_readings_csv(readings_csv(sent))
    assert file.defects == ()
    assert list(file.readings) == sent


def test_written_readings_have_the_header_and_units_that_people_know():
    readings = [
        Reading("r1", Mode.OHMS, "A:1", ("B:1",), Result.VALUE, 5100.0, range_ohms=20e3),
        Reading("r2", Mode.FARADS, "A:1", ("B:1",), Result.VALUE, 1.2e-10),
        Reading("r3", Mode.SWEEP, "A:1", ("B:1", "B:2"), Result.SILENT, flexed=True),
        Reading("r4", Mode.DIODE, "A:1", ("B:1",), Result.OVER),
    ]
    assert readings_csv(readings) == (
        "red,black,mode,value,unit,range,flexed,note\r\n"
        "A:1,B:1,ohms,5100,ohm,20000,,\r\n"
        "A:1,B:1,farads,120,pF,,,\r\n"
        "A:1,B:1 B:2,sweep,silent,,,yes,\r\n"
        "A:1,B:1,diode,OL,,,,\r\n"
    )


@pytest.mark.parametrize("sign", list("=+-@\t\r＝＋－＠"))
@pytest.mark.parametrize("quotes", ["", "'", "''"])
def test_a_note_that_a_spreadsheet_would_run_is_kept_from_running(sign, quotes):
    """The signs are those of OWASP's page on CSV injection."""
    note = f"{quotes}{sign}1+1"
    sent = Reading("r1", Mode.BEEP, "A:1", ("B:1",), Result.BEEPS, note=note)
    (row,) = sheet(readings_csv([sent]))
    assert row["note"] == "'" + note
    if sign not in "\t\r":
        assert parse_readings_csv(readings_csv([sent])).readings == (sent,)


def test_an_end_that_looks_like_a_formula_is_kept_from_running():
    sent = Reading("r1", Mode.BEEP, "=A1:1", ("-5V:1",), Result.BEEPS)
    (row,) = sheet(readings_csv([sent]))
    assert (row["red"], row["black"]) == ("'=A1:1", "'-5V:1")
    assert parse_readings_csv(readings_csv([sent])).readings == (sent,)


@given(st.lists(readings(), max_size=5))
def test_no_written_cell_starts_a_formula_but_plain_numbers(plain):
    for row in sheet(readings_csv([read_reading(each) for each in plain])):
        for cell in row.values():
            assert cell[:1] not in ("=", "+", "-", "@", "\t", "\r") or re.fullmatch(r"-[0-9.]+(E-[0-9]+)?", cell)


# Whatever else may come


@given(st.text() | st.binary())
def test_any_text_or_bytes_are_read_without_harm(source):
    parse_readings_csv(source)


@given(st.lists(st.lists(st.text(max_size=6) | st.sampled_from(["A:1", "ohms", "sweep", "OL", "k", "'", '"']))))
def test_any_cells_under_the_header_give_readings_or_defects_by_line(rows):
    text = HEADER + "\n" + "\n".join(",".join(row) for row in rows)
    file = parse_readings_csv(text)
    assert all(defect.where.startswith("line ") and defect.remedy for defect in file.defects[:100])
    assert len(file.lines) == len(file.readings)
    assert parse_readings_csv(readings_csv(file.readings)).defects == ()
