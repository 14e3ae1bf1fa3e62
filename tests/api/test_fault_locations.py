"""Asking where the break is: the answer, what the catalogue adds to it, and questions that cannot be answered."""

import json

import numpy as np
import pytest

from tests.api.test_cables import SLUG, report

PATH = "fault-locations/"

BOTH_ENDS = {"method": "capacitance-both-ends", "near_pf": 182, "far_pf": 61, "pct": 3, "digits_pf": 2}
TWIN = {"method": "capacitance-twin", "near_pf": 182, "twin_pf": 243, "pct": 3, "digits_pf": 2}
ECHO = {
    "method": "reflection",
    "from": "far",
    "seconds": 9.6e-9,
    "seconds_u": 3e-10,
    "velocity_factor": 0.66,
    "velocity_factor_u": 0.03,
}
BRIDGE = {"method": "loop-bridge", "arm_known": 5, "arm_other": 3, "loop_m": 8, "pct": 1}
OPENING = {"method": "opening", "at_m": 2.5, "sound_towards": "near"}
FLEXING = {"method": "flexing", "at_m": 3.1, "within_m": 0.15}
EVERY = [BOTH_ENDS, TWIN, ECHO, BRIDGE, OPENING, FLEXING]
MARKS = [{"kind": "kink", "at_m": 3.1}, {"kind": "strain-relief", "at_m": 4}]


def question(*observations, **more):
    return {"length_m": 4, "observations": list(observations)} | more


def defects(response):
    return {defect["where"]: defect["remedy"] for defect in response.json()["defects"]}


def test_a_visitor_learns_where_the_break_is_and_where_to_open(visitor):
    response = visitor.send(PATH, question(*EVERY, marks=MARKS))
    assert response.status_code == 200, response.content
    answer = response.json()
    start_m, end_m = answer["interval90_m"]
    assert 2.9 < start_m < answer["median_m"] < end_m < 3.2
    assert start_m < answer["mean_m"] < end_m
    assert start_m < answer["open_next"]["at_m"] < end_m
    assert 1 <= answer["open_next"]["expected_openings"] < answer["open_next"]["halving_openings"]
    assert [mark["kind"] for mark in answer["marks"]] == ["kink", "strain-relief"]
    assert answer["marks"][0]["share"] > 0.5 > answer["marks"][1]["share"]
    assert answer["disagreements"] == []
    assert [each["method"] for each in answer["observations"]] == [each["method"] for each in EVERY]
    assert answer["observations"][0]["at_m"] == pytest.approx(3.0, abs=0.02)
    assert answer["observations"][4]["at_m"] is None


@pytest.mark.parametrize("observation", EVERY, ids=lambda each: each["method"])
def test_each_method_is_taken_alone_and_its_density_sums_to_one(visitor, observation):
    answer = visitor.send(PATH, question(observation)).json()
    at_m, per_m = answer["density"]["at_m"], answer["density"]["per_m"]
    assert len(at_m) == len(per_m) <= 800
    assert np.trapezoid(per_m, at_m) == pytest.approx(1, abs=1e-3)
    first, last = answer["stretches90_m"][0][0], answer["stretches90_m"][-1][1]
    assert first <= answer["median_m"] <= last


def test_without_observations_the_answer_is_the_prior(visitor):
    answer = visitor.send(PATH, {"length_m": 4}).json()
    assert answer["interval90_m"] == [0.2, 3.8]
    assert answer["open_next"]["at_m"] == pytest.approx(2, abs=0.02)


def test_reports_of_the_catalogue_draw_the_break_in_their_section(contributor, visitor, stored):
    for at_m in (1.2, 1.22):
        assert contributor.send("failures/", report(at_m=at_m, event="another")).status_code == 201
    contributor.send("failures/", report(kind="electronics-dead", at_m=0.4, event="another"))
    known = visitor.send(PATH, {"length_m": 1.8, "cable": SLUG, "section": "main"}).json()
    assert known["open_next"]["at_m"] == pytest.approx(1.21, abs=0.05)
    alone = visitor.send(PATH, {"length_m": 1.8}).json()
    assert known["open_next"]["expected_openings"] < alone["open_next"]["expected_openings"]
    at_dead_electronics = np.interp(0.4, known["density"]["at_m"], known["density"]["per_m"])
    assert at_dead_electronics == pytest.approx(0.5 / 1.8, rel=0.01)


def test_a_section_that_the_cable_does_not_have_is_named(visitor, stored):
    response = visitor.send(PATH, {"length_m": 1.8, "cable": SLUG, "section": "spine"})
    assert response.status_code == 422
    assert defects(response) == {"/section": "It has: main."}


@pytest.mark.django_db
def test_an_unknown_cable_is_not_found(visitor):
    assert visitor.send(PATH, {"length_m": 1.8, "cable": "none", "section": "main"}).status_code == 404


def test_observations_of_two_places_are_told_and_nothing_is_to_be_opened(visitor):
    answer = visitor.send(PATH, question(BOTH_ENDS, ECHO | {"seconds": 30e-9, "velocity_factor_u": 0.01})).json()
    (told,) = answer["disagreements"]
    assert told["at"] == ["/observations/0", "/observations/1"]
    assert "Observations 1 and 2 do not tell of one break" in told["message"]
    assert answer["open_next"] is None


def test_an_exchanged_bridge_is_told(visitor):
    answer = visitor.send(PATH, question(BRIDGE | {"arm_known": 3, "arm_other": 5})).json()
    assert "arms exchanged it would be 3 m" in answer["observations"][0]["impossible"]
    assert answer["open_next"] is None


def test_openings_that_contradict_each_other_are_refused_by_name(visitor):
    other = {"method": "opening", "at_m": 1.0, "sound_towards": "far"}
    response = visitor.send(PATH, question(OPENING, BOTH_ENDS, other))
    assert response.status_code == 422
    assert set(defects(response)) == {"/observations/0", "/observations/2"}


@pytest.mark.parametrize(
    ("asked", "where"),
    [
        ({}, "/length_m"),
        ([], ""),
        (3, ""),
        ({"length_m": 0}, "/length_m"),
        ({"length_m": -4}, "/length_m"),
        ({"length_m": 10_001}, "/length_m"),
        ({"length_m": True}, "/length_m"),
        ({"length_m": "4"}, "/length_m"),
        ({"length_m": 4, "lenght": 4}, "/lenght"),
        (question(4), "/observations/0"),
        (question({}), "/observations/0/method"),
        (question({"method": ["opening"]}), "/observations/0/method"),
        (question({"method": "guess"}), "/observations/0/method"),
        (question(BOTH_ENDS | {"near_pf": -1}), "/observations/0/near_pf"),
        (question(BOTH_ENDS | {"digits_pf": 0}), "/observations/0/digits_pf"),
        (question(BOTH_ENDS | {"nearpf": 1}), "/observations/0/nearpf"),
        (question(TWIN, TWIN | {"pct": 51}), "/observations/1/pct"),
        (question(ECHO | {"from": "middle"}), "/observations/0/from"),
        (question(ECHO | {"seconds": None}), "/observations/0/seconds"),
        (question(ECHO | {"velocity_factor": 1.1}), "/observations/0/velocity_factor"),
        (question(BRIDGE | {"loop_m": 3.9}), "/observations/0/loop_m"),
        (question(OPENING | {"at_m": 4.1}), "/observations/0/at_m"),
        (question({"method": "opening", "at_m": 1}), "/observations/0/sound_towards"),
        (question(FLEXING | {"within_m": 0}), "/observations/0/within_m"),
        (question(*[OPENING] * 201), "/observations"),
        (question(marks=MARKS * 51), "/marks"),
        (question(marks={}), "/marks"),
        (question(marks=["kink"]), "/marks/0"),
        (question(marks=[{"kind": "bite", "at_m": 1}]), "/marks/0/kind"),
        (question(marks=[{"kind": "cut", "at_m": 5}]), "/marks/0/at_m"),
        (question(cable=3, section="main"), "/cable"),
        (question(cable="a\x00b", section="main"), "/cable"),
        (question(cable="a"), "/section"),
        (question(section="main"), "/cable"),
    ],
    ids=str,
)
def test_a_question_with_a_mistake_names_its_place(visitor, asked, where):
    response = visitor.send(PATH, asked)
    assert response.status_code == 422, response.content
    assert list(defects(response)) == [where]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e999", "-1e999", "1" * 5000])
def test_a_number_that_is_none_is_refused_by_its_place(visitor, number):
    body = json.dumps(question(BOTH_ENDS)).replace("182", number).encode()
    response = visitor.send(PATH, body)
    assert response.status_code == 422
    assert list(defects(response)) == ["/observations/0/near_pf"]


@pytest.mark.parametrize("body", [b"{", b"\xff", b"[" * 100_000, b'{"length_m": 4, "length_m": 5}'])
def test_what_is_no_json_is_refused(visitor, body):
    response = visitor.send(PATH, body)
    assert response.status_code == 422
    assert response["Content-Type"] == "application/problem+json"


def test_more_than_two_mebibytes_are_refused(visitor):
    body = json.dumps(question(*[OPENING] * 40_000)).encode()
    assert visitor.send(PATH, body).status_code == 413


def test_the_largest_and_oddest_question_gets_an_answer(visitor):
    """Two hundred observations at the limits of their fields, on ten kilometres with a hundred marks."""
    extremes = [
        BOTH_ENDS | {"near_pf": 0, "far_pf": 1e9, "pct": 0, "digits_pf": 1e-3},
        TWIN | {"near_pf": 1e9, "twin_pf": 1e-3, "pct": 50, "digits_pf": 1e6},
        ECHO | {"seconds": 1e-12, "seconds_u": 1e-13, "velocity_factor_u": 0},
        ECHO | {"seconds": 1.0, "seconds_u": 1.0, "velocity_factor": 0.05, "velocity_factor_u": 0.3},
        BRIDGE | {"arm_known": 1e-6, "arm_other": 1e12, "loop_m": 10_000, "pct": 1e-3},
        BRIDGE | {"arm_known": 1e12, "arm_other": 1e-6, "loop_m": 1e6, "pct": 50},
        OPENING | {"at_m": 0},
        OPENING | {"at_m": 10_000, "sound_towards": "far"},
        FLEXING | {"at_m": 0, "within_m": 1e-3},
        FLEXING | {"at_m": 10_000, "within_m": 10_000},
    ]
    several = [
        each | ({"seconds": 1e-6 + number * 1e-9} if "seconds" in each else {})
        for number in range(20)
        for each in extremes
    ]
    marks = [{"kind": "kink", "at_m": 100 * number} for number in range(100)]
    response = visitor.send(PATH, {"length_m": 10_000, "observations": several, "marks": marks})
    assert response.status_code == 200, response.content
    assert response.json()["disagreements"]
    assert response.json()["open_next"] is None


def test_nothing_but_json_is_taken(visitor):
    response = visitor.post("/api/v1/fault-locations/", b"length_m=4", content_type="text/plain")
    assert response.status_code == 415
