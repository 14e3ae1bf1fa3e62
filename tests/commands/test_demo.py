"""`manage.py demo`."""

import json

import pytest
from django.core.management import call_command

from catalogue.management.commands.demo import DEMO
from catalogue.models import Cable, Draft, FailureReport, MapRevision, Review, User

pytestmark = pytest.mark.django_db

REPORTS = len(json.loads((DEMO / "failures.json").read_text(encoding="utf-8")))


def stored() -> dict[str, int]:
    return {model.__name__: model.objects.count() for model in (Cable, MapRevision, FailureReport, Draft, Review, User)}


def sign_ins(output: str) -> list[tuple[str, str]]:
    lines = [line.split() for line in output.splitlines() if line.startswith("Sign in as")]
    return [(words[3], words[-1]) for words in lines]


def test_the_demo_loads_every_cable_report_and_refused_draft(capsys):
    call_command("demo")
    assert stored() == {"Cable": 9, "MapRevision": 10, "FailureReport": REPORTS, "Draft": 3, "Review": 3, "User": 3}
    assert "Winch handset lead HL-12, map revision 2: stored" in capsys.readouterr().out


def test_a_second_run_adds_nothing(capsys):
    call_command("demo")
    before = stored()
    capsys.readouterr()
    call_command("demo")
    assert stored() == before
    said = capsys.readouterr().out
    assert ": stored" not in said
    assert f"0 stored, {REPORTS} there already" in said


def test_the_passwords_it_prints_open_the_door(client, capsys):
    call_command("demo")
    people = sign_ins(capsys.readouterr().out)
    assert len(people) == 3
    for name, password in people:
        answer = client.post("/account/sign-in/", {"login": name, "password": password})
        assert (answer.status_code, answer["Location"]) == (302, "/")
        client.logout()


def test_refused_drafts_say_why(capsys):
    call_command("demo")
    codes = {draft.title: {finding["code"] for finding in draft.findings} for draft in Draft.objects.all()}
    assert "readings-contradict" in codes["Saltmere Hydrographic (invented) Buoy lead BL-4"]
    assert "rail-short" in codes["Orrin & Vale (invented) Digitiser lead DT-1"]
    assert "fibre-conducts" in codes["Halcyon & Rook (invented) Scan head trunk ST-6"]
    assert "is refused: " in capsys.readouterr().out
