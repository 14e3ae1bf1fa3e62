"""`manage.py plan FILE`."""

import json

import pytest
from django.core.management import CommandError, call_command

from catalogue.management.commands.demo import DEMO
from tests.samples import as_json, contradicted_usb_map, usb_map


@pytest.fixture
def file(tmp_path):
    def written(name, document):
        path = tmp_path / name
        path.write_bytes(as_json(document))
        return str(path)

    return written


def printed(capsys, *arguments):
    call_command("plan", *arguments)
    return capsys.readouterr().out


def test_a_map_in_the_making_gives_the_next_readings_with_what_they_prove(capsys, file):
    said = printed(capsys, file("map.json", usb_map()))
    assert "Silence proves" in said
    assert "undecided" in said


def test_a_map_read_completely_needs_nothing_more(capsys):
    said = printed(capsys, str(DEMO / "sixty-six.json"))
    assert said.strip() == "All 2,145 pairs of contacts are decided. Nothing is left to read."


def test_readings_at_odds_are_told_first(capsys, file):
    assert "measure r6 again first" in printed(capsys, file("map.json", contradicted_usb_map()))


def test_json_is_the_answer_of_the_api(capsys, file, client):
    document = usb_map()
    shown = json.loads(printed(capsys, file("map.json", document), "--json"))
    parts = as_json({key: document[key] for key in ("ends", "readings")})
    assert shown == client.post("/api/v1/probe-plans/", parts, content_type="application/json").json()


def test_a_similar_map_and_pairs_only_change_what_comes_next(capsys, file):
    document = usb_map()
    document["readings"] = document["readings"][:1]
    begun = file("begun.json", document)
    shown = json.loads(printed(capsys, begun, "--pairs-only", "--similar", file("whole.json", usb_map()), "--json"))
    assert all(len(act["black"]) == 1 for act in shown["next"])


@pytest.mark.parametrize("content", [b"", b"{}", b"\xff"])
def test_a_file_that_is_no_map_is_refused_in_words(tmp_path, content):
    path = tmp_path / "map.json"
    path.write_bytes(content)
    with pytest.raises(CommandError, match=r"cannot be read|not a JSON document"):
        call_command("plan", str(path))


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(CommandError, match=r"none\.json cannot be read"):
        call_command("plan", str(tmp_path / "none.json"))
