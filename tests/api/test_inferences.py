"""What readings tell, asked for without an account."""

from __future__ import annotations

import pytest

from tests.samples import contradicted_usb_map, usb_map

ENDS = [
    {"name": "A", "connector": "custom", "rows": [["1", "2", "3"]]},
    {"name": "B", "connector": "custom", "rows": [["1", "2", "3"]]},
]


def asked(*readings, **more):
    return {"ends": ENDS, "readings": list(readings), **more}


def ohms(id, red, black, value, **more):
    return {"id": id, "mode": "ohms", "red": red, "black": black, "ohms": value, "digit_ohms": 0.1, **more}


def over(id, red, black):
    return {"id": id, "mode": "ohms", "red": red, "black": black, "over": True}


def silent(id, red, *black):
    return {"id": id, "mode": "sweep", "red": red, "black": list(black), "beeps": False}


def answer(visitor, body):
    response = visitor.send("inferences/", body)
    assert response.status_code == 200, response.content
    return response.json()


def refused(visitor, body):
    response = visitor.send("inferences/", body)
    assert response.status_code == 422, response.content
    assert response["Content-Type"] == "application/problem+json"
    return response.json()


def test_a_visitor_learns_the_nets_with_their_proof_and_the_counts(visitor):
    found = answer(visitor, asked(ohms("r1", "A:1", "B:2", 0.6), silent("r2", "A:2", "A:1", "B:1")))
    assert found["nets"][0] == {
        "contacts": ["A:1", "B:2"],
        "proof": ["r1"],
        "proof_is_whole": True,
        "proposed": {"name": "N1", "contacts": ["A:1", "B:2"]},
    }
    assert [net["contacts"] for net in found["nets"][1:]] == [["A:2"], ["A:3"], ["B:1"], ["B:3"]]
    assert found["pairs"] == {"joined": 1, "apart": 3, "undecided": 11, "total": 15}
    assert found["conflicts"] == []
    assert found["suspects"] == {"at_least": 0, "smallest": [], "in_every": []}
    assert found["parts"] == []
    assert "pair" not in found


def test_readings_at_odds_come_with_witness_and_what_to_measure_again_first(visitor):
    body = {key: contradicted_usb_map()[key] for key in ("ends", "readings")}
    found = answer(visitor, body)
    (conflict,) = found["conflicts"]
    assert (conflict["reading"], conflict["readings"]) == ("r6", ["r1", "r6"])
    assert [(step["reading"], step["limit"]) for step in conflict["witness"]] == [("r1", "at most"), ("r6", "at least")]
    assert found["suspects"] == {"at_least": 1, "smallest": ["r6"], "in_every": ["r6"]}


def test_what_beeps_along_a_chain_and_is_silent_across_is_told_as_well(visitor):
    beeps = [
        {"id": f"r{number}", "mode": "beep", "red": red, "black": black, "beeps": beeps}
        for number, (red, black, beeps) in enumerate(
            [("A:1", "B:1", True), ("B:1", "A:2", True), ("A:1", "A:2", False)]
        )
    ]
    found = answer(visitor, asked(*beeps))
    assert [conflict["readings"] for conflict in found["conflicts"]] == [["r0", "r1", "r2"]]
    assert found["suspects"]["smallest"] == ["r2"]


def test_the_proof_of_one_pair_is_told_on_demand(visitor):
    readings = ohms("r1", "A:1", "B:1", 0.6), over("r2", "B:1", "A:2")
    pair = answer(visitor, asked(*readings, pair=["A:2", "A:1"]))["pair"]
    assert (pair["points"], pair["state"]) == (["A:2", "A:1"], "apart")
    assert [(step["reading"], step["from"], step["to"]) for step in pair["proof"]] == [
        ("r2", "A:2", "B:1"),
        ("r1", "B:1", "A:1"),
    ]
    assert answer(visitor, asked(*readings, pair=["A:1", "B:1"]))["pair"]["state"] == "joined"
    undecided = answer(visitor, asked(*readings, pair=["A:1", "A:3"]))["pair"]
    assert (undecided["state"], undecided["proof"]) == ("undecided", [])


def test_a_resistor_in_a_usb_c_plug_comes_with_interval_preferred_value_and_name(visitor):
    body = {
        "ends": [{"name": "C", "connector": "usb-c-plug"}, {"name": "A", "connector": "usb2-a"}],
        "readings": [ohms("r1", "C:A5", "C:A4", 55_900.0, range_ohms=200_000)],
    }
    (part,) = answer(visitor, body)["parts"]
    assert set(part["between"]) == {"C:A4", "C:A5"}
    assert part["least_ohms"] < part["ohms"] < part["most_ohms"]
    assert part["e24_ohms"] == 56_000
    assert part["readings"] == ["r1"]
    assert (part["ohmic"], part["all_pairs_read"]) == (False, True)
    known = {each["key"]: each for each in part["known_as"]}
    assert "usb-c-rp-legacy-a-to-c" in known
    assert known["usb-c-rp-legacy-a-to-c"]["source"]


def test_the_meter_sent_counts(visitor):
    reading = ohms("r1", "A:1", "B:1", 12.0)
    assert answer(visitor, asked(reading))["pairs"]["joined"] == 0
    assert answer(visitor, asked(reading, meter={"join_ohms": 20}))["pairs"]["joined"] == 1


def test_more_slips_than_can_be_sorted_out_are_said_to_be_undecided(visitor):
    rows = [[str(number) for number in range(1, 151)]]
    ends = [{"name": name, "connector": "custom", "rows": rows} for name in "AB"]
    readings = [
        reading
        for n in range(1, 151)
        for reading in (ohms(f"a{n}", f"A:{n}", f"B:{n}", 0.6), over(f"b{n}", f"A:{n}", f"B:{n}"))
    ]
    suspects = answer(visitor, {"ends": ends, "readings": readings})["suspects"]
    assert (suspects["smallest"], suspects["in_every"]) == (None, None)
    assert suspects["at_least"] == 150


def test_a_request_without_readings_is_refused(visitor):
    (defect,) = refused(visitor, {"ends": ENDS})["defects"]
    assert defect["where"] == "/readings"


@pytest.mark.parametrize(
    ("body", "where"),
    [
        (asked(ohms("r1", "A:1", "B:9", 1.0)), "/readings/0"),
        (asked(ohms("r1", "A:1", "B:1", -1.0)), "/readings/0/ohms"),
        (asked(ohms("r1", "A:1", "B:1", 1.0), ohms("r1", "A:1", "B:1", 1.0)), "/readings/1/id"),
        (asked(over("r1", "A:1", "A:2"), meter={"lead_ohms": "short"}), "/meter/lead_ohms"),
        (asked(over("r1", "A:1", "A:2"), pair=["A:1"]), "/pair"),
        (asked(over("r1", "A:1", "A:2"), pair=["A:1", "Z:1"]), "/pair/1"),
        (asked(over("r1", "A:1", "A:2"), pair="A:1"), "/pair"),
        (asked(over("r1", "A:1", "A:2"), nets=[]), "/nets"),
        ({"readings": [over("r1", "A:1", "A:2")]}, ""),
        ([], ""),
    ],
)
def test_what_is_wrong_is_refused_with_its_place(visitor, body, where):
    problem = refused(visitor, body)
    assert problem["code"] == "bad-request"
    assert where in [defect["where"] for defect in problem["defects"]]


def test_a_body_beyond_the_limit_is_refused(visitor):
    response = visitor.send("inferences/", b'{"ends": [' + b" " * (2 * 1024 * 1024) + b"]}")
    assert (response.status_code, response.json()["code"]) == (413, "too-large")


def test_two_thousand_contacts_are_refused(visitor):
    rows = [[f"{row}-{seat}" for seat in range(500)] for row in range(4)]
    ends = [{"name": "A", "connector": "custom", "rows": rows}]
    problem = refused(visitor, {"ends": ends, "readings": []})
    assert problem["defects"]


def test_a_whole_map_is_not_taken_for_readings(visitor):
    assert refused(visitor, usb_map())["code"] == "bad-request"
