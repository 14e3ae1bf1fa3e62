"""Asking the API which cable an unknown plug is of."""

import pytest

from catalogue.usecases import maps
from tests.api.test_maps import problem

pytestmark = pytest.mark.django_db

TOOL = {"name": "TOOL", "connector": "custom", "rows": [["1", "2", "3"], ["4", "5", "6"]]}
TAIL = {"name": "TAIL", "connector": "custom", "rows": [["1", "2", "3", "4"]]}


def tool_map(model, *nets, **changes):
    """A map of a tool cable whose nets are written as `TOOL:1 TAIL:2`."""
    return {
        "format": "corelore.map/1",
        "cable": {"maker": "Quillon (invented)", "model": model, **changes},
        "ends": [TOOL, TAIL],
        "nets": [{"name": f"N{number}", "contacts": net.split()} for number, net in enumerate(nets, 1)],
    }


def beeps(*pairs):
    """Beep readings of pairs written as `TOOL:1 TAIL:2`."""
    pairs = [pair.split() for pair in pairs]
    return [
        {"id": f"r{number}", "mode": "beep", "red": red, "black": black, "beeps": True}
        for number, (red, black) in enumerate(pairs, 1)
    ]


STRAIGHT = ("TOOL:1 TAIL:1", "TOOL:2 TAIL:2", "TOOL:3 TAIL:3", "TOOL:4 TAIL:4")
FOLDED = ("TOOL:1 TAIL:1", "TOOL:2 TAIL:2", "TOOL:6 TAIL:3", "TOOL:5 TAIL:4")


def ask(visitor, readings, ends=(TOOL, TAIL), **more):
    response = visitor.send("matches/", {"ends": list(ends), "readings": readings, **more})
    assert response.status_code == 200, response.content
    return response.json()


@pytest.fixture
def two_cables(contributor):
    """The ids of a straight and of a folded tool cable."""
    return [
        contributor.send("maps/", tool_map(model, *nets)).json()["id"]
        for model, nets in (("straight", STRAIGHT), ("folded", FOLDED))
    ]


def test_a_visitor_finds_the_cable_with_its_contacts_and_the_readings_that_disagree(visitor, two_cables):
    body = ask(
        visitor, [*beeps(*FOLDED), {"id": "w", "mode": "beep", "red": "TOOL:1", "black": "TOOL:2", "beeps": True}]
    )
    assert (body["maps_compared"], body["readings_used"], body["error_rate"]) == (2, 5, 0.05)
    first, second = body["matches"]
    assert first["map"]["id"] == two_cables[1]
    assert first["map"]["model"] == "folded"
    assert first["agreeing"] == 4
    assert first["disagreeing"] == [{"reading": "w", "red": "TOOL:1", "black": ["TOOL:2"]}]
    assert first["score"] > second["score"]
    assert first["share"] > second["share"]
    (tool,) = [end for end in first["ends"] if end["asked"] == "TOOL"]
    assert tool == {
        "asked": "TOOL",
        "end": "TOOL",
        "rows_from": "left",
        "first_row": "top",
        "contacts": {f"TOOL:{number}": f"TOOL:{number}" for number in range(1, 7)},
    }


def test_a_plug_held_upside_down_is_told_so(visitor, two_cables):
    turned = {"name": "P", "connector": "custom", "rows": [["a", "b", "c"], ["d", "e", "f"]]}
    tail = {"name": "Q", "connector": "custom", "rows": [["1", "2", "3", "4"]]}
    own = {"TOOL:1": "P:f", "TOOL:2": "P:e", "TOOL:3": "P:d", "TOOL:4": "P:c"}
    readings = beeps(*(f"{own[f'TOOL:{number}']} Q:{number}" for number in range(1, 5)))
    first = ask(visitor, readings, (turned, tail))["matches"][0]
    assert first["map"]["id"] == two_cables[0]
    (end,) = [end for end in first["ends"] if end["asked"] == "P"]
    assert (end["end"], end["rows_from"], end["first_row"]) == ("TOOL", "right", "bottom")
    assert end["contacts"]["P:f"] == "TOOL:1"


def test_a_standard_plug_is_matched_by_its_own_numbering_and_by_bare_rows(visitor, stored):
    readings = [
        {"id": "r1", "mode": "ohms", "red": "X:1", "black": "Y:1", "ohms": 0.5},
        {"id": "r2", "mode": "beep", "red": "X:2", "black": "Y:2", "beeps": True},
    ]
    for connector in ({"connector": "usb2-a"}, {"connector": "custom", "rows": [["4", "3", "2", "1"]]}):
        body = ask(visitor, readings, ({"name": "X", **connector}, {"name": "Y", "connector": "usb2-b"}))
        assert [match["map"]["id"] for match in body["matches"]] == [stored["id"]]
        assert body["matches"][0]["disagreeing"] == []
    other = ({"name": "X", "connector": "usb2-mini-b"}, {"name": "Y", "connector": "usb2-b"})
    assert ask(visitor, readings, other)["matches"] == []


def test_a_catalogue_without_such_a_plug_gives_no_match(visitor, db):
    body = ask(visitor, beeps("TOOL:1 TAIL:1"))
    assert (body["matches"], body["maps_compared"]) == ([], 0)


def test_only_the_newest_map_of_each_hardware_revision_is_compared(visitor, contributor, two_cables):
    corrected = contributor.send("maps/", tool_map("straight", *FOLDED)).json()["id"]
    other_hardware = contributor.send("maps/", tool_map("straight", *STRAIGHT, revision="C")).json()["id"]
    found = {match["map"]["id"] for match in ask(visitor, beeps(*STRAIGHT))["matches"]}
    assert found == {corrected, other_hardware, two_cables[1]}


def test_a_map_submitted_after_an_answer_is_in_the_next(visitor, contributor, two_cables):
    assert ask(visitor, beeps(*STRAIGHT))["maps_compared"] == 2
    contributor.send("maps/", tool_map("third", *STRAIGHT))
    assert ask(visitor, beeps(*STRAIGHT))["maps_compared"] == 3


def test_a_map_whose_rows_were_derived_anew_is_found_as_before(visitor, two_cables):
    before = ask(visitor, beeps(*STRAIGHT))
    maps.rebuild_derived(maps.map_by_id(two_cables[0]))
    assert ask(visitor, beeps(*STRAIGHT)) == before


def test_the_meter_decides_what_is_joined(visitor, two_cables):
    through_part = {"id": "p", "mode": "ohms", "red": "TOOL:1", "black": "TAIL:1", "ohms": 30}
    readings = [through_part, *beeps(*STRAIGHT)]
    for meter, disagreeing in (({}, ["p"]), ({"join_ohms": 50}, [])):
        first = ask(visitor, readings, meter=meter)["matches"][0]
        assert [one["reading"] for one in first["disagreeing"]] == disagreeing


def test_readings_that_tell_nothing_are_named_and_alone_refused(visitor, two_cables):
    diode = {"id": "d", "mode": "diode", "red": "TOOL:1", "black": "TAIL:1", "volts": 0.5}
    assert ask(visitor, [diode, *beeps("TOOL:1 TAIL:1")])["readings_left_out"] == ["d"]
    problem(visitor.send("matches/", {"ends": [TOOL], "readings": [diode | {"black": "TOOL:2"}]}), 422, "bad-request")


@pytest.mark.parametrize(
    ("sent", "where"),
    [
        ({"ends": [TOOL]}, ""),
        ({"ends": [TOOL], "readings": []}, ""),
        ({"readings": beeps("TOOL:1 TOOL:2")}, ""),
        ({"ends": [], "readings": beeps("TOOL:1 TOOL:2")}, "/ends"),
        ({"ends": [TOOL], "readings": beeps("TOOL:1 TOOL:9")}, "/readings/0/black"),
        ({"ends": [TOOL], "readings": beeps("k1@0.5 TOOL:1")}, "/readings/0/red"),
        ({"ends": [TOOL], "readings": [{"id": "r1", "mode": "beep"}]}, "/readings/0"),
        ({"ends": [{"name": "A", "connector": "no-such"}], "readings": beeps("A:1 A:2")}, "/ends/0/connector"),
        ({"ends": [TOOL], "readings": beeps("TOOL:1 TOOL:2"), "extra": 1}, "/extra"),
        ({"ends": [TOOL], "readings": beeps("TOOL:1 TOOL:2"), "meter": {"join_ohms": "x"}}, "/meter/join_ohms"),
        (b"[1]", ""),
        (b"{", "line 1, column 2"),
    ],
)
def test_what_cannot_be_worked_with_is_told_by_its_place(visitor, db, sent, where):
    body = problem(visitor.send("matches/", sent), 422, "bad-request")
    wheres = [defect["where"] for defect in body["defects"]]
    assert any(place.startswith(where) for place in wheres), body
    assert all(defect["message"] and defect["remedy"] for defect in body["defects"])


def test_too_much_is_refused(visitor, db):
    problem(visitor.send("matches/", b'{"ends": [' + b" " * (2 * 1024 * 1024)), 413, "too-large")
    rows = [[f"{row}-{seat}" for seat in range(200)] for row in range(6)]
    many = {"ends": [{"name": "A", "connector": "custom", "rows": rows}], "readings": beeps("A:0-1 A:0-2")}
    body = problem(visitor.send("matches/", many), 422, "bad-request")
    assert "1000" in body["defects"][0]["message"]


def test_an_answer_takes_few_statements_however_many_maps_match(visitor, contributor, django_assert_max_num_queries):
    for number in range(12):
        contributor.send("maps/", tool_map(f"M{number}", *STRAIGHT))
    ask(visitor, beeps(*STRAIGHT))
    with django_assert_max_num_queries(2):
        assert len(ask(visitor, beeps(*STRAIGHT))["matches"]) == 10
