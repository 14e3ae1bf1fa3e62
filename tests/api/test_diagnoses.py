"""`diagnoses/`: what is dead in a specimen and why, held against a map, a cable or the standard."""

import math

import pytest

from catalogue.core.diagnosis.evidence import Explanation
from catalogue.core.document import Mode
from catalogue.exchange.diagnoses import CHECKS_SHOWN
from catalogue.models import Draft, MapRevision
from tests.factories import FailureReportFactory
from tests.samples import contradicted_usb_map, usb_map

pytestmark = pytest.mark.django_db

SOUND = usb_map()["readings"]
DEAD = [
    *(reading for reading in SOUND if reading["id"] != "r2"),
    {"id": "r2", "mode": "ohms", "red": "HOST:2", "black": "PLOTTER:2", "over": True},
]
ENDS = usb_map()["ends"]
BEEP = {"id": "r1", "mode": "beep", "red": "HOST:2", "black": "HOST:1", "beeps": True}


def row(answer, name):
    return next(row for row in answer["rows"] if row["name"] == name)


def defects(response):
    assert response.status_code == 422, response.content
    return [defect["where"] for defect in response.json()["defects"]]


def test_a_dead_cable_is_held_against_its_map(visitor, stored):
    response = visitor.send("diagnoses/", {"map": stored["id"], "readings": DEAD})
    assert response.status_code == 200
    answer = response.json()
    assert answer["against"] == {"map": stored["id"], "cable": stored["cable"], "standard": None}
    assert row(answer, "VBUS")["state"] == "sound"
    assert row(answer, "D-")["state"] == "open"
    assert [step["reading"] for step in row(answer, "D-")["proof"]] == ["r2"]
    (explained,) = answer["explanations"]
    assert (explained["about"], explained["rows"]) == ("signals", ["D-"])
    assert {one["explanation"] for one in explained["ranking"]} == set(Explanation)
    assert answer["next_tests"][0]["harm"] == "none"
    assert answer["next_tests"][0]["how"]
    assert answer["safe_to_power"]["verdict"] == "not yet proved"


@pytest.mark.parametrize(
    ("form", "media_type", "head"),
    [("svg", "image/svg+xml", b"<?xml"), ("png", "image/png", b"\x89PNG"), ("pdf", "application/pdf", b"%PDF")],
)
def test_the_fault_chart_of_a_specimen_comes_as_a_file(visitor, stored, form, media_type, head):
    answer = visitor.send(f"diagnoses/fault.{form}", {"map": stored["id"], "readings": DEAD})
    assert (answer.status_code, answer["Content-Type"]) == (200, media_type)
    assert answer.content.startswith(head)
    assert "sandbox" in answer["Content-Security-Policy"]


def test_the_fault_chart_shows_what_is_dead_in_this_specimen(visitor, stored):
    sound, dead = (
        visitor.send("diagnoses/fault.dot", {"cable": stored["cable"], "readings": readings}).content.decode()
        for readings in (SOUND, DEAD)
    )
    assert "Fault chart" in dead
    assert "open" in dead
    assert "open" not in sound


def test_without_a_map_there_is_no_fault_chart(visitor):
    assert defects(visitor.send("diagnoses/fault.svg", {"ends": ENDS, "readings": [BEEP]})) == [""]


def test_a_fault_chart_in_another_format_is_not_found(visitor, stored):
    answer = visitor.send("diagnoses/fault.gif", {"map": stored["id"], "readings": DEAD})
    assert (answer.status_code, answer.json()["code"]) == (404, "not-found")
    assert "svg, png, pdf, dot" in answer.json()["detail"]


def test_contributions_add_up_in_the_answer_too(visitor, stored):
    (explained,) = visitor.send("diagnoses/", {"map": stored["id"], "readings": DEAD}).json()["explanations"]
    for one in explained["ranking"]:
        assert one["decibans"] == math.fsum(each["decibans"] for each in one["contributions"])


def test_a_cable_named_by_its_address_is_held_against_its_newest_map(visitor, stored):
    answer = visitor.send("diagnoses/", {"cable": stored["cable"], "readings": DEAD}).json()
    assert answer["against"]["map"] == stored["id"]
    assert row(answer, "D-")["state"] == "open"


def test_without_a_map_the_standard_is_what_counts(visitor):
    answer = visitor.send("diagnoses/", {"ends": ENDS, "readings": DEAD}).json()
    assert answer["against"] == {"map": None, "cable": None, "standard": "usb2-a-b"}
    assert row(answer, "D-")["state"] == "open"
    assert row(answer, "VBUS")["state"] == "sound"


def test_a_whole_document_of_a_dead_specimen_is_taken(visitor):
    answer = visitor.send("diagnoses/", usb_map(readings=DEAD)).json()
    assert row(answer, "D-")["state"] == "open"


def test_failure_reports_of_the_cable_move_the_ranking(visitor, stored):
    def fibre():
        (explained,) = visitor.send("diagnoses/", {"map": stored["id"], "readings": DEAD}).json()["explanations"]
        return next(one for one in explained["ranking"] if one["explanation"] == "fibre")

    before = fibre()
    cable = MapRevision.objects.get(pk=stored["id"]).cable
    FailureReportFactory.create_batch(3, cable=cable, kind="fibre-broken")
    assert fibre()["decibans"] > before["decibans"]
    assert "reports" in [each["evidence"] for each in fibre()["contributions"]]


def test_looks_and_marks_count(visitor, stored):
    asked = {
        "map": stored["id"],
        "readings": DEAD,
        "marks": [{"kind": "kink", "section": "main", "at_m": 1.2}],
        "looks": {"contact-worn": True, "lamp-light": None},
    }
    (explained,) = visitor.send("diagnoses/", asked).json()["explanations"]
    evidence = {each["evidence"] for each in explained["ranking"][0]["contributions"]}
    assert {"contact-worn", "mark-on-the-way"} <= evidence
    assert "lamp-light" not in evidence


def test_a_mended_cable_is_proved_safe_to_power(visitor, stored):
    apart = [
        {"id": f"p{contact}", "mode": "ohms", "red": "HOST:1", "black": black, "over": True}
        for contact, black in enumerate(["HOST:2", "HOST:3", "HOST:Shell", "PLOTTER:Shell"])
    ]
    through = {"id": "g", "mode": "ohms", "red": "HOST:4", "black": "PLOTTER:4", "ohms": 0.5, "digit_ohms": 0.1}
    third = {"id": "d", "mode": "ohms", "red": "HOST:3", "black": "PLOTTER:3", "ohms": 0.5, "digit_ohms": 0.1}
    answer = visitor.send("diagnoses/", {"map": stored["id"], "readings": [*SOUND, *apart, through, third]}).json()
    power = answer["safe_to_power"]
    assert power["verdict"] == "proved", [each for each in power["checks"] if each["outcome"] != "proved"]
    assert power["counts"]["missing"] == power["counts"]["failed"] == 0
    without = visitor.send("diagnoses/", {"map": stored["id"], "readings": [*SOUND, *apart[1:], through, third]}).json()
    assert without["safe_to_power"]["verdict"] == "not yet proved"
    first = without["safe_to_power"]["checks"][0]
    assert (first["net"], first["other"], first["to_read"]) == ("VBUS", "D-", [["HOST:1", "HOST:2"]])


def test_readings_at_odds_are_named(visitor):
    answer = visitor.send("diagnoses/", contradicted_usb_map()).json()
    assert set(answer["disputed_readings"]) == {"r1", "r6"}


def test_nothing_is_stored(visitor, contributor):
    visitor.send("diagnoses/", {"ends": ENDS, "readings": DEAD})
    visitor.send("diagnoses/", usb_map(readings=DEAD))
    contributor.send("diagnoses/", b"{")
    assert not Draft.objects.exists()
    assert not MapRevision.objects.exists()


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"looks": {"lamp": True}}, "/looks/lamp"),
        ({"looks": {"lamp-light": "yes"}}, "/looks/lamp-light"),
        ({"looks": []}, "/looks"),
        ({"feeling": 1}, "/feeling"),
        (
            {"readings": [{"id": "r1", "mode": "beep", "red": "HOST:9", "black": "HOST:1", "beeps": True}]},
            "/readings/0",
        ),
        ({"readings": [{"id": "r1", "mode": "beep", "red": "k1@9", "black": "HOST:1", "beeps": True}]}, "/readings/0"),
        ({"readings": [{"id": "r1", "mode": "beep", "red": "HOST:1"}]}, "/readings/0"),
        ({"marks": [{"kind": "kink", "section": "tail", "at_m": 1}]}, "/marks/0"),
        ({"map": "1"}, "/map"),
        ({"map": True}, "/map"),
        ({"map": 2**70}, "/map"),
        ({"cable": "x"}, "/cable"),
        ({"map": None}, "/map"),
    ],
)
def test_a_wrong_request_is_told_by_its_place(visitor, stored, changes, where):
    assert defects(visitor.send("diagnoses/", {"map": stored["id"], "readings": DEAD} | changes))[0].startswith(where)


@pytest.mark.parametrize("contacts", [["HOST:1", "HOST:2"], ["HOST:99"]])
def test_a_document_with_contacts_that_cannot_be_is_told_by_its_place(visitor, contacts):
    nets = [*usb_map()["nets"], {"name": "X", "contacts": contacts}]
    assert set(defects(visitor.send("diagnoses/", usb_map(nets=nets)))) == {"/nets/4"}


def test_a_map_or_cable_that_is_not_there_is_404(visitor, stored):
    assert visitor.send("diagnoses/", {"map": stored["id"] + 1, "readings": DEAD}).status_code == 404
    assert visitor.send("diagnoses/", {"cable": "no-such", "readings": DEAD}).status_code == 404


@pytest.mark.parametrize("body", [b" ", b"[]", b"{}", b"{", b'"x"', b"[" * 100_000])
def test_an_empty_or_broken_request_is_refused(visitor, body):
    assert visitor.send("diagnoses/", body).status_code == 422


def test_two_thousand_contacts_are_refused_and_a_thousand_are_answered(visitor):
    def ends(count):
        rows = [[str(number) for number in range(first, first + 100)] for first in range(0, count, 100)]
        return [{"name": name, "connector": "custom", "rows": rows} for name in "LR"]

    readings = [
        {"id": f"r{number}", "mode": "beep", "red": f"L:{number}", "black": f"R:{number}", "beeps": number % 3 > 0}
        for number in range(500)
    ]
    assert visitor.send("diagnoses/", {"ends": ends(1000), "readings": readings}).status_code == 422
    nets = [
        {"name": f"N{number}", "role": "power" if number % 2 else "single", "contacts": [f"L:{number}", f"R:{number}"]}
        for number in range(500)
    ]
    response = visitor.send("diagnoses/", usb_map(ends=ends(500), nets=nets, cores=[], sections=[], readings=readings))
    assert response.status_code == 200
    assert len(response.json()["rows"]) == 500
    assert len(response.json()["safe_to_power"]["checks"]) == CHECKS_SHOWN


def test_every_mode_of_reading_is_taken(visitor, stored):
    pair = {"red": "HOST:4", "black": "HOST:2"}
    shown = {"ohms": {"over": True}, "beep": {"beeps": False}, "diode": {"volts": 0.6}, "farads": {"farads": 1e-10}}
    readings = [{"id": mode, "mode": mode, **pair, **result} for mode, result in shown.items()]
    readings.append({"id": "sweep", "mode": "sweep", "red": "HOST:4", "black": ["HOST:2", "HOST:3"], "beeps": False})
    assert {reading["mode"] for reading in readings} == set(Mode)
    assert visitor.send("diagnoses/", {"map": stored["id"], "readings": [*DEAD, *readings]}).status_code == 200


def test_a_drawing_comes_to_who_asks_for_pictures_only(visitor, stored):
    body = {
        "map": stored["id"],
        "readings": [{"id": "r1", "mode": "ohms", "red": "HOST:1", "black": "PLOTTER:1", "over": True}],
    }
    response = visitor.send("diagnoses/fault.svg", body, headers={"Accept": "image/svg+xml"})
    assert response["Content-Type"].startswith("image/svg+xml")
