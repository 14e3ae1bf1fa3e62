"""`manage.py locate FILE`."""

import json

import pytest
from django.core.management import CommandError, call_command

from tests.api.conftest import ApiClient
from tests.api.test_fault_locations import BOTH_ENDS, ECHO, FLEXING, MARKS, OPENING, PATH, question


@pytest.fixture
def ask(tmp_path, capsys):
    """Prints the answer to a question."""

    def asking(asked, *options):
        file = tmp_path / "question.json"
        file.write_text(asked if isinstance(asked, str) else json.dumps(asked), encoding="utf-8")
        call_command("locate", str(file), *options)
        return capsys.readouterr().out

    return asking


def test_a_repairer_sees_where_the_break_is_and_where_to_open(ask):
    told = ask(question(BOTH_ENDS, ECHO, FLEXING, marks=MARKS))
    assert "With a chance of 90 % the break is in 3.0" in told
    assert "1 capacitance-both-ends" in told
    assert "strain-relief" in told
    assert "If it must be opened, open at 3.0" in told


def test_the_picture_is_highest_where_the_break_is_and_shows_the_marks(ask):
    lines = ask(
        question(FLEXING | {"at_m": 1.0, "within_m": 0.5}, marks=[{"kind": "abrasion", "at_m": 3.0}])
    ).splitlines()
    bars = next(line for line in lines if "█" in line)
    below = lines[lines.index(bars) + 1]
    assert 60 * 0.5 / 4 - 1 <= bars.index("█") <= 60 * 1.5 / 4
    assert below.index("^") == 60 * 3 // 4


def test_a_long_cable_is_pictured_whole_and_again_near_the_break(ask):
    told = ask(question(ECHO | {"seconds": 10e-6, "seconds_u": 1e-9}, length_m=10_000))
    assert told.count("█") >= 2
    assert "10000.000 m" in told


def test_what_does_not_fit_is_told_before_anything_else_is_advised(ask):
    told = ask(question(BOTH_ENDS, ECHO | {"seconds": 30e-9, "velocity_factor_u": 0.01}))
    assert "do not tell of one break" in " ".join(told.split())
    assert "Open nothing now." in told


def test_machines_get_what_the_api_gives(ask):
    asked = question(BOTH_ENDS, OPENING, marks=MARKS)
    assert json.loads(ask(asked, "--json")) == ApiClient().send(PATH, asked).json()


def test_a_question_with_mistakes_is_told_place_by_place(ask):
    with pytest.raises(CommandError, match=r"/observations/0/near_pf: Found -1\. Give a number from 0"):
        ask(question(BOTH_ENDS | {"near_pf": -1}))
    with pytest.raises(CommandError, match="not a JSON document"):
        ask("{")


def test_a_file_that_is_not_there_is_told():
    with pytest.raises(CommandError, match=r"none\.json cannot be read"):
        call_command("locate", "none.json")


def test_an_empty_file_and_a_folder_are_told(tmp_path):
    empty = tmp_path / "empty.json"
    empty.write_bytes(b"")
    with pytest.raises(CommandError, match="nothing in it"):
        call_command("locate", str(empty))
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("locate", str(tmp_path))
