"""What changed between two maps of a cable, in the words of the map document."""

import json

import pytest

from api.differences import IN_DOCUMENTS
from catalogue.core import difference
from catalogue.exchange.documents import parse_map, schema_text
from tests.samples import as_json, usb_map, usb_map_with_reading

pytestmark = pytest.mark.django_db

MORE = {"id": "r6", "mode": "beep", "red": "HOST:1", "black": "PLOTTER:1", "beeps": True}


@pytest.fixture
def changed(contributor, stored):
    document = usb_map_with_reading(**MORE)
    document["sections"][0]["length_m"] = 7.5
    document["cores"][0]["colour"] = ["VT"]
    document["marks"] = [{"kind": "kink", "section": "main", "at_m": 1.0}]
    return contributor.send("maps/", document).json()


def test_what_changed_is_told_of_each_thing_both_ways(visitor, stored, changed):
    told = visitor.fetch(f"maps/{stored['id']}/difference/{changed['id']}/").json()
    assert (told["before"]["id"], told["after"]["revision"]) == (stored["id"], 2)
    assert (told["readings_added"], told["readings_removed"]) == (1, 0)
    changes = {(change["thing"], change["sign"]): change for change in told["changes"]}
    assert changes["section", "changed"] == {
        "thing": "section",
        "sign": "changed",
        "name": "main",
        "facts": [{"field": "length_m", "before": 1.8, "after": 7.5}],
    }
    (colour,) = changes["core", "changed"]["facts"]
    assert (colour["field"], colour["after"]) == ("colour", ["VT"])
    assert {"field": "kind", "before": None, "after": "kink"} in changes["mark", "added"]["facts"]
    back = visitor.fetch(f"maps/{changed['id']}/difference/{stored['id']}/").json()
    assert (back["readings_added"], back["readings_removed"]) == (0, 1)
    assert "removed" in {change["sign"] for change in back["changes"]}


def test_a_renamed_net_and_a_contact_that_moved_are_told_as_such(contributor, visitor, stored):
    document = usb_map(readings=[])
    old, lost = document["nets"][0]["name"], document["nets"][1]["contacts"].pop()
    document["nets"][0]["name"] = "SUPPLY"
    for core in document["cores"]:
        core["net"] = "SUPPLY" if core["net"] == old else core["net"]
    other = contributor.send("maps/", document).json()
    told = visitor.fetch(f"maps/{stored['id']}/difference/{other['id']}/").json()
    assert told["renamed"] == [{"before": old, "after": "SUPPLY"}]
    assert {"contact": lost, "before": document["nets"][1]["name"], "after": ""} in told["moved"]


def test_a_map_against_itself_says_the_same(visitor, stored):
    told = visitor.fetch(f"maps/{stored['id']}/difference/{stored['id']}/").json()
    assert (told["renamed"], told["changes"], told["moved"]) == ([], [], [])


def test_maps_of_two_cables_are_not_held_against_each_other(contributor, visitor, stored):
    other = contributor.send("maps/", usb_map(cable={"maker": "Quillon (invented)", "model": "Q"})).json()
    answer = visitor.fetch(f"maps/{stored['id']}/difference/{other['id']}/")
    assert (answer.status_code, answer.json()["code"]) == (422, "bad-request")


def test_a_map_that_is_none_is_not_found(visitor, stored):
    assert visitor.fetch(f"maps/{stored['id']}/difference/999999/").status_code == 404


def test_facts_are_called_as_in_a_map_document():
    """By every field that the difference can tell of: those of all things of a document that has one of each."""
    document = json.loads(schema_text())["examples"][0]
    everything = difference.difference(parse_map(as_json(usb_map())), parse_map(as_json(document)))
    told = {change.field for each in everything.changes for change in each.fields}
    known = set()

    def look(value):
        if isinstance(value, dict):
            known.update(value.get("properties", {}))
            for inner in value.values():
                look(inner)
        elif isinstance(value, list):
            for inner in value:
                look(inner)

    look(json.loads(schema_text()))
    assert {IN_DOCUMENTS.get(field, field) for field in told} - {"carries", "value"} <= known
