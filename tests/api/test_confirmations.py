"""Confirming a map with readings of one's own, and what all readings of a cable come to."""

import pytest

from catalogue.models import Confirmation, User
from catalogue.usecases import confirmations
from catalogue.usecases.people import new_token
from tests.api.conftest import ApiClient
from tests.api.test_maps import problem
from tests.samples import usb_map

pytestmark = pytest.mark.django_db

SAME = usb_map()["readings"]


@pytest.fixture
def someone_else(db):
    token, _ = new_token("pavel")
    return ApiClient(headers={"Authorization": f"Token {token}"})


@pytest.fixture
def address(stored):
    return f"maps/{stored['id']}/confirmations/"


def beep(number, red, black, sounds=True):
    return {"id": f"b{number}", "mode": "beep", "red": red, "black": black, "beeps": sounds}


def test_another_person_confirms_a_map(someone_else, visitor, address, stored):
    response = someone_else.send(address, {"readings": SAME, "note": "Bought new.\nOne specimen."})
    assert response.status_code == 201, response.content
    body = response.json()
    assert (body["map"], body["author"], body["outcome"]) == (stored["id"], "pavel", "agrees")
    assert body["verdict"] == {"nets_tested": 4, "nets_total": 4, "adds": [], "findings": []}
    assert body["note"] == "Bought new.\nOne specimen."
    assert visitor.fetch(address).json()["results"] == [body]


def test_few_readings_are_kept_and_said_to_agree_in_part(someone_else, address):
    body = someone_else.send(address, {"readings": SAME[:1]}).json()
    assert (body["outcome"], body["verdict"]["nets_tested"]) == ("agrees-in-part", 1)


def test_readings_that_differ_are_kept_with_the_proof(someone_else, address):
    crossed = [beep(1, "HOST:2", "PLOTTER:3"), beep(2, "HOST:3", "PLOTTER:2")]
    body = someone_else.send(address, {"readings": crossed}).json()
    assert body["outcome"] == "differs"
    assert {finding["code"] for finding in body["verdict"]["findings"]} == {"nets-joined"}
    assert {reading for finding in body["verdict"]["findings"] for reading in finding["readings"]} <= {"b1", "b2"}
    assert all(finding["at"] for finding in body["verdict"]["findings"])
    assert Confirmation.objects.get().readings == crossed


def test_a_joint_that_the_map_leaves_out_is_told(someone_else, address):
    body = someone_else.send(address, {"readings": [*SAME, beep(1, "HOST:4", "HOST:Shell")]}).json()
    assert body["verdict"]["adds"] == [{"net": "GND", "contacts": ["HOST:Shell"]}]
    assert body["outcome"] == "agrees"


def test_ones_own_meter_counts(someone_else, address):
    high = [{"id": "r1", "mode": "ohms", "red": "HOST:1", "black": "PLOTTER:1", "ohms": 14}]
    assert someone_else.send(address, {"readings": high}).json()["outcome"] == "differs"
    body = someone_else.send(address, {"readings": high, "meter": {"join_ohms": 20}}).json()
    assert (body["outcome"], body["meter"]) == ("agrees-in-part", {"join_ohms": 20})


def test_sending_again_puts_the_new_readings_in_place_of_the_old(someone_else, address):
    first = someone_else.send(address, {"readings": SAME[:1]}).json()
    response = someone_else.send(address, {"readings": SAME})
    assert response.status_code == 200
    assert (response.json()["id"], response.json()["outcome"]) == (first["id"], "agrees")
    assert Confirmation.objects.count() == 1


def test_the_author_may_not_confirm_their_own_map(contributor, address):
    body = problem(contributor.send(address, {"readings": SAME}), 409, "conflict")
    assert "another person" in body["detail"]
    assert not Confirmation.objects.exists()


def test_a_visitor_may_not_confirm(visitor, address):
    problem(visitor.send(address, {"readings": SAME}), 401, "not-authenticated")
    assert not Confirmation.objects.exists()


@pytest.mark.parametrize(
    ("sent", "where"),
    [
        ({}, ""),
        ({"readings": []}, ""),
        ({"readings": [beep(1, "HOST:9", "PLOTTER:1")]}, "/readings/0/red"),
        ({"readings": [beep(1, "HOST:1", "k1@0.5")]}, "/readings/0/black"),
        ({"readings": [beep(1, "HOST:1", "PLOTTER:1")] * 2}, "/readings/1/id"),
        ({"readings": SAME, "ends": []}, "/ends"),
        ({"readings": SAME, "note": 7}, "/note"),
        ({"readings": SAME, "note": "a" * 2001}, "/note"),
        ({"readings": SAME, "note": "a\0b"}, "/note"),
        ({"readings": SAME, "note": "\ud800"}, "/note"),
        ({"readings": SAME, "meter": {"lead_ohms": -1}}, "/meter/lead_ohms"),
        (b"not json", "line 1"),
    ],
)
def test_what_cannot_be_kept_is_told_by_its_place_and_nothing_is_stored(someone_else, address, sent, where):
    body = problem(someone_else.send(address, sent), 422, "bad-request")
    assert body["defects"][0]["where"].startswith(where)
    assert not Confirmation.objects.exists()


def test_confirmations_of_a_map_that_is_not_there(someone_else, visitor):
    problem(someone_else.send("maps/999/confirmations/", {"readings": SAME}), 404, "not-found")
    problem(visitor.fetch("maps/999/confirmations/"), 404, "not-found")


def test_the_list_takes_few_statements(visitor, address, stored, django_assert_max_num_queries):
    for number in range(5):
        token, _ = new_token(f"person-{number}")
        ApiClient(headers={"Authorization": f"Token {token}"}).send(address, {"readings": SAME})
    with django_assert_max_num_queries(2):
        assert len(visitor.fetch(address).json()["results"]) == 5


def test_what_somebody_contributed_stays_when_they_leave(someone_else, visitor, address):
    someone_else.send(address, {"readings": SAME})
    User.objects.get(username="pavel").delete()
    (row,) = visitor.fetch(address).json()["results"]
    assert (row["author"], row["outcome"]) == (None, "agrees")


def test_readings_of_all_people_are_taken_together(someone_else, visitor, address, stored):
    someone_else.send(address, {"readings": SAME})
    body = visitor.fetch(f"cables/{stored['cable']}/variants/").json()
    (variant,) = body["variants"]
    assert sorted(name.rpartition(" ")[2] for name in variant["members"]) == ["mira", "pavel"]
    assert ["HOST:1", "PLOTTER:1"] in variant["nets"]
    assert (body["fewest"], body["differences"], body["left_out"], body["at_odds"]) == (True, [], [], [])


def test_readings_that_differ_are_another_variant_shown_side_by_side(someone_else, visitor, address, stored):
    split = {"id": "x", "mode": "ohms", "red": "HOST:2", "black": "PLOTTER:2", "over": True}
    someone_else.send(address, {"readings": [SAME[0], split]})
    body = visitor.fetch(f"cables/{stored['cable']}/variants/").json()
    assert [variant["may_be_broken"] for variant in body["variants"]] == [False, True]
    (difference,) = body["differences"]
    assert (difference["contact"], difference["against"]) == ("HOST:2", ["PLOTTER:2"])
    assert difference["says"] == ["joined", "apart"]
    assert {reading.rpartition("/")[2] for reading in difference["readings"]} == {"r2", "x"}


def test_readings_on_contacts_called_otherwise_are_left_out_with_the_reason(contributor, someone_else, visitor, stored):
    other = usb_map(ends=[{"name": "P", "connector": "usb2-a"}, {"name": "Q", "connector": "usb2-b"}])
    del other["sections"], other["cores"], other["nets"]
    other["readings"] = [beep(1, "P:1", "Q:1")]
    assert someone_else.send("maps/", other).status_code == 201
    body = visitor.fetch(f"cables/{stored['cable']}/variants/").json()
    assert [variant["members"] for variant in body["variants"]] == [["map revision 2 by pavel"]]
    assert [left["name"] for left in body["left_out"]] == ["map revision 1 by mira"]


def test_older_readings_are_left_out_when_there_are_too_many(someone_else, visitor, address, stored, monkeypatch):
    someone_else.send(address, {"readings": SAME})
    monkeypatch.setattr(confirmations, "MOST_POOLED_PAIRS", len(SAME))
    body = visitor.fetch(f"cables/{stored['cable']}/variants/").json()
    assert [variant["members"] for variant in body["variants"]] == [["map revision 1 by mira"]]
    assert [left["name"].rpartition(" ")[2] for left in body["left_out"]] == ["pavel"]


def test_a_sweep_counts_as_many_pairs_as_it_has_members(someone_else, visitor, address, stored, monkeypatch):
    members = ["PLOTTER:1", "PLOTTER:2", "PLOTTER:3", "PLOTTER:4"]
    sweep = {"id": "s", "mode": "sweep", "red": "HOST:1", "black": members, "beeps": True}
    someone_else.send(address, {"readings": [sweep]})
    variants = f"cables/{stored['cable']}/variants/"
    own = sum(len(black) if isinstance(black, list) else 1 for black in (r["black"] for r in usb_map()["readings"]))
    monkeypatch.setattr(confirmations, "MOST_POOLED_PAIRS", own + 3)
    assert len(visitor.fetch(variants).json()["left_out"]) == 1
    monkeypatch.setattr(confirmations, "MOST_POOLED_PAIRS", own + 4)
    assert visitor.fetch(variants).json()["left_out"] == []


def test_a_correction_by_the_same_author_takes_the_place_of_their_map(contributor, visitor, stored):
    contributor.send("maps/", usb_map(readings=SAME[:4]))
    body = visitor.fetch(f"cables/{stored['cable']}/variants/").json()
    assert [variant["members"] for variant in body["variants"]] == [["map revision 2 by mira"]]


def test_a_cable_that_is_not_there(visitor, db):
    problem(visitor.fetch("cables/none/variants/"), 404, "not-found")
