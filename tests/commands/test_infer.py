"""`manage.py infer FILE`."""

import json

import pytest
from django.core.management import CommandError, call_command

from catalogue.management.commands.demo import DEMO
from tests.samples import as_json, contradicted_usb_map, usb_map

CSV = """red,black,mode,value,unit,range,flexed,note
A:1,B:1,ohms,0.6,ohm,,,
A:2,B:2,beep,beep,,,,
A:2,B:1,ohms,5.1,kohm,,,
A:1,B:2,sweep,silent,,,,
"""


@pytest.fixture
def file(tmp_path):
    def written(name, content):
        path = tmp_path / name
        path.write_bytes(content)
        return str(path)

    return written


def printed(capsys, *arguments):
    call_command("infer", *arguments)
    return capsys.readouterr().out


def test_a_map_document_gives_tables_of_nets_and_coverage(capsys, file):
    said = printed(capsys, file("map.json", as_json(usb_map())))
    assert "HOST:1 PLOTTER:1" in said
    assert "undecided" in said
    assert "cannot be true" not in said


def test_readings_at_odds_say_what_to_measure_again_first(capsys, file):
    said = printed(capsys, file("map.json", as_json(contradicted_usb_map())))
    assert "Measure r6 again first." in said


def test_readings_as_csv_need_no_map(capsys, file):
    said = printed(capsys, file("readings.csv", CSV.encode()))
    assert "A:1 B:1" in said
    assert "5.1 kΩ" in said
    assert "usb-c-rd" in said


def test_json_is_the_answer_of_the_api(capsys, file, client):
    document = usb_map()
    shown = json.loads(printed(capsys, file("map.json", as_json(document)), "--json"))
    parts = as_json({key: document[key] for key in ("ends", "readings")})
    sent = client.post("/api/v1/inferences/", parts, content_type="application/json")
    assert shown == sent.json()


def test_the_contradicted_demo_cable_is_told_apart(capsys):
    said = printed(capsys, str(DEMO / "sixty-six-contradicted.json"))
    assert "again first" in said


def test_a_bad_line_of_csv_is_named(file):
    with pytest.raises(CommandError, match="line 2"):
        call_command("infer", file("readings.csv", CSV.replace("0.6", "low").encode()))


def test_a_file_that_is_not_there_is_named():
    with pytest.raises(CommandError, match="nowhere"):
        call_command("infer", "nowhere.json")


def test_a_document_that_cannot_be_read_names_the_place(file):
    with pytest.raises(CommandError, match="/ends"):
        call_command("infer", file("map.json", as_json(usb_map(ends=[]))))


def test_a_byte_order_mark_is_no_hindrance(capsys, file):
    assert "A:1 B:1" in printed(capsys, file("readings.csv", b"\xef\xbb\xbf" + CSV.encode()))
    assert "HOST:1 PLOTTER:1" in printed(capsys, file("map.json", b"\xef\xbb\xbf" + as_json(usb_map())))


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("map.json", b"", "there is nothing in it"),
        ("map.json", b" \n", "there is nothing in it"),
        ("map.json", as_json(usb_map(readings=[])), "There are no readings"),
        ("readings.csv", b"", "The first line lacks the columns"),
        ("readings.csv", CSV.splitlines()[0].encode(), "There are no readings"),
    ],
)
def test_a_file_without_readings_says_so(file, name, content, said):
    with pytest.raises(CommandError, match=said):
        call_command("infer", file(name, content))


def test_a_folder_is_no_file(tmp_path):
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("infer", str(tmp_path))


def test_more_probe_points_or_bytes_than_are_worked_with_are_refused(file):
    rows = "".join(f"A:{n},B:{n},beep,beep,,,,\n" for n in range(501))
    with pytest.raises(CommandError, match="1,002 probe points"):
        call_command("infer", file("readings.csv", CSV.splitlines()[0].encode() + b"\n" + rows.encode()))
    with pytest.raises(CommandError, match="at most 2,097,152"):
        call_command("infer", file("readings.csv", CSV.encode() + b"\n" * 2**21))
