"""`manage.py diagnose FILE`."""

import json

import pytest
from django.core.management import CommandError, call_command

from catalogue.management.commands.demo import DEMO

pytestmark = pytest.mark.django_db

BROKEN = DEMO / "winch-handset-broken.json"


def test_a_dead_cable_on_file_is_told_in_tables(capsys):
    call_command("diagnose", str(BROKEN))
    said = capsys.readouterr().out
    assert "open, comes and goes" in said
    assert "Verdict: UP: A core is broken." in said
    assert "Safe to power: not yet proved." in said
    assert "Caution: Unplug both ends" in said


def test_machines_get_what_the_api_gives(capsys, client):
    call_command("diagnose", str(BROKEN), "--json")
    answer = json.loads(capsys.readouterr().out)
    response = client.post("/api/v1/diagnoses/", BROKEN.read_bytes(), content_type="application/json")
    assert answer == response.json()


def test_words_in_square_brackets_are_words(capsys, tmp_path):
    document = json.loads(BROKEN.read_text(encoding="utf-8"))
    for net in document["nets"]:
        net["name"] = net["name"].replace("UP", "[red]UP")
    for core in document["cores"]:
        if core.get("net") == "UP":
            core["net"] = "[red]UP"
    document["faults"] = []
    path = tmp_path / "bracketed.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    call_command("diagnose", str(path))
    assert "[red]UP" in capsys.readouterr().out


def test_a_file_that_is_not_there_is_told():
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("diagnose", "no-such-file.json")


def test_a_file_that_is_no_request_is_told_with_places(tmp_path):
    path = tmp_path / "wrong.json"
    path.write_text('{"ends": [], "readings": []}', encoding="utf-8")
    with pytest.raises(CommandError, match="/ends"):
        call_command("diagnose", str(path))


def test_an_empty_file_and_a_folder_are_told(tmp_path):
    empty = tmp_path / "empty.json"
    empty.write_bytes(b"")
    with pytest.raises(CommandError, match="nothing in it"):
        call_command("diagnose", str(empty))
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("diagnose", str(tmp_path))
