"""Which reading to take next, asked for without an account."""

from __future__ import annotations

import pytest

from tests.samples import contradicted_usb_map, usb_map

ENDS = [
    {"name": "A", "connector": "custom", "rows": [["1", "2", "3"]]},
    {"name": "B", "connector": "custom", "rows": [["1", "2", "3"]]},
]
NETS = ({"A:1", "B:3"}, {"A:2", "B:2"}, {"A:3"}, {"B:1"})


def answer(visitor, body):
    response = visitor.send("probe-plans/", body)
    assert response.status_code == 200, response.content
    return response.json()


def refused(visitor, body, status=422):
    response = visitor.send("probe-plans/", body)
    assert response.status_code == status, response.content
    assert response["Content-Type"] == "application/problem+json"
    return response.json()


def test_a_visitor_without_a_reading_is_told_where_to_begin(visitor):
    found = answer(visitor, {"ends": ENDS, "readings": []})
    assert found == answer(visitor, {"ends": ENDS})
    assert found["decided"] is False
    assert found["pairs"] == {"joined": 0, "apart": 0, "undecided": 15, "total": 15}
    first = found["next"][0]
    assert first["mode"] in ("beep", "sweep")
    assert 0 < first["tells_bits"] <= 1
    assert first["red"] in first["if_no"]["text"]


def test_following_the_plan_maps_the_cable_and_ends(visitor):
    readings = []
    while (found := answer(visitor, {"ends": ENDS, "readings": readings}))["next"]:
        act = found["next"][0]
        net = next(net for net in NETS if act["red"] in net)
        black = act["black"] if act["mode"] == "sweep" else act["black"][0]
        beeps = bool(net & set(act["black"]))
        readings.append({"id": f"r{len(readings)}", "mode": act["mode"], "red": act["red"], "black": black})
        readings[-1]["beeps"] = beeps
        assert len(readings) <= 15
    assert found["decided"] is True
    assert found["acts_left"] == 0
    assert found["pairs"] == {"joined": 2, "apart": 13, "undecided": 0, "total": 15}


def test_without_sweeps_only_pairs_are_proposed(visitor):
    found = answer(visitor, {"ends": ENDS, "sweeps": False})
    assert all(len(act["black"]) == 1 for act in found["next"])


def test_a_similar_map_is_tried_first(visitor, stored):
    document = usb_map()
    ends = [dict(end, connector="custom", rows=[["1", "2", "3", "4"]]) for end in document["ends"]]
    found = answer(visitor, {"ends": ends, "similar_map": stored["id"]})
    assert found["next"][0]["chance_of_beep"] > 0.5
    act = found["next"][0]
    assert [act["red"].partition(":")[2]] == [point.partition(":")[2] for point in act["black"]]


def test_readings_at_odds_are_to_be_measured_again_first(visitor):
    document = contradicted_usb_map()
    found = answer(visitor, {key: document[key] for key in ("ends", "readings")})
    assert found["measure_again"] == ["r6"]


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"sweeps": "no"}, "/sweeps"),
        ({"similar_map": "7"}, "/similar_map"),
        ({"similar_map": True}, "/similar_map"),
        ({"similar_map": -1}, "/similar_map"),
        ({"colour": "RD"}, "/colour"),
        ({"ends": []}, "/ends"),
        ({"readings": {}}, "/readings"),
        ({"readings": [{"id": "r1", "mode": "beep", "red": "A:1", "black": "Z:9", "beeps": True}]}, "/readings/0"),
    ],
)
def test_what_cannot_be_planned_is_refused_with_its_place_and_remedy(visitor, change, where):
    problem = refused(visitor, {"ends": ENDS, **change})
    assert any(defect["where"].startswith(where) and defect["remedy"] for defect in problem["defects"]), problem


@pytest.mark.django_db
def test_a_similar_map_that_is_not_there_is_not_found(visitor):
    refused(visitor, {"ends": ENDS, "similar_map": 4711}, 404)


def test_contacts_at_the_limit_are_planned_for(visitor):
    """In rows of 200 only some of the runs are weighed."""
    rows = [[str(200 * row + seat) for seat in range(200 if row else 199)] for row in range(5)]
    found = answer(visitor, {"ends": [{"name": "A", "connector": "custom", "rows": rows}]})
    assert found["pairs"]["undecided"] == 999 * 998 // 2
    assert len(found["next"][0]["black"]) > 100


@pytest.mark.django_db
def test_nothing_is_stored_and_nobody_needs_an_account(visitor, django_assert_num_queries):
    with django_assert_num_queries(0):
        answer(visitor, {"ends": ENDS})
