"""Which cable is this: readings on an unknown plug lead to the cable, without an account."""

import pytest
from django.urls import reverse

from catalogue.usecases import maps
from tests.pages.page import Page
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db

ADDRESS = "/which-cable/"


@pytest.fixture
def keyed_lead(mira):
    """A plug of two rows of three; contact 1 and 5 are joined, as are 2 and 3."""
    document = {
        "format": "corelore.map/1",
        "cable": {"maker": "Tarn & Fell (invented)", "model": "Keyed lead KL-6"},
        "ends": [
            {"name": "TOOL", "connector": "custom", "rows": [["1", "2", "3"], ["4", "5", "6"]]},
            {"name": "BOX", "connector": "custom", "rows": [["1", "2"]]},
        ],
        "nets": [
            {"name": "A", "role": "single", "contacts": ["TOOL:1", "TOOL:5", "BOX:1"]},
            {"name": "B", "role": "single", "contacts": ["TOOL:2", "TOOL:3", "BOX:2"]},
        ],
    }
    return maps.submit_map(mira, as_json(document)).map


def ask(**fields):
    names = ("connector", "rows", "name")
    blank = {f"{plug}-{name}": "" for plug in ("plug", "other") for name in names}
    return blank | {"plug-name": "PLUG", "plug-connector": "custom", "plug-rows": "3 3"} | fields


def result(page):
    return page.one("section", id="result").text


def test_readings_lead_to_the_cable_that_is_wired_so(visitor, keyed_lead):
    page = Page(visitor.post(ADDRESS, ask(readings="1 5 beeps\n2 3 beeps\n1 2 silent\n4 5 6 silent")))
    assert page.link("Tarn & Fell (invented) Keyed lead KL-6") == reverse("map", args=[keyed_lead.cable.slug, 1])
    assert "All 4 readings agree" in result(page)
    assert "PLUG is its end TOOL: your rows count as they do on the map" in result(page)


def test_a_plug_counted_the_other_way_round_is_known_and_said(visitor, keyed_lead):
    """Seen from the right, contact 3 is the map's 1, and 5 stays in the middle."""
    page = Page(visitor.post(ADDRESS, ask(readings="3 5 beeps\n1 2 beeps\n4 5 6 silent")))
    assert "All 3 readings agree" in result(page)
    assert "your rows count from the right" in result(page)
    assert "Your PLUG:1 is its TOOL:3" in result(page)


def test_a_plug_held_upside_down_is_known_and_said(visitor, keyed_lead):
    page = Page(visitor.post(ADDRESS, ask(readings="6 2 beeps\n5 4 beeps\n1 2 3 silent")))
    assert "your rows count from the right" in result(page)
    assert "your first row is the map's last" in result(page)
    assert "Your PLUG:1 is its TOOL:6" in result(page)


def test_a_plug_whose_contacts_have_names_is_compared_by_them(visitor, keyed_lead):
    named = ask(**{"plug-rows": "A1 A2 A3 / B1 B2 B3"}, readings="A1 B2 beeps\nA2 A3 beeps\nA1 A2 silent")
    page = Page(visitor.post(ADDRESS, named))
    assert "All 3 readings agree" in result(page)
    assert "Your PLUG:A1 is its TOOL:1" in result(page)


def test_both_ends_in_hand_are_compared_together(visitor, keyed_lead):
    both = ask(**{"other-connector": "custom", "other-rows": "2", "other-name": "OTHER"})
    page = Page(visitor.post(ADDRESS, both | {"readings": "PLUG:1 OTHER:1 beeps\nPLUG:2 OTHER:2 beeps"}))
    assert "OTHER is its end BOX" in result(page)


def test_a_standard_connector_is_compared_by_its_contacts(visitor, mira):
    maps.submit_map(mira, as_json(usb_map()))
    page = Page(visitor.post(ADDRESS, ask(**{"plug-connector": "usb2-a", "plug-rows": ""}, readings="1 4 silent")))
    assert "The one reading agrees" in result(page)
    assert "PLUG is its end HOST" in result(page)


def test_a_few_readings_suggest_and_many_settle(visitor, keyed_lead):
    few = Page(visitor.post(ADDRESS, ask(readings="1 5 beeps")))
    assert "It may be this one" in result(few)
    assert "not proof yet" in result(few)
    apart = [f"1 {other} silent" for other in (2, 3, 4, 6)] + [f"4 {other} silent" for other in (2, 3, 5, 6)]
    many = Page(visitor.post(ADDRESS, ask(readings="\n".join(["1 5 beeps", "2 3 beeps", *apart]))))
    assert "It is wired like this cable" in result(many)


def test_ten_readings_that_mostly_disagree_settle_nothing(visitor, keyed_lead):
    page = Page(visitor.post(ADDRESS, ask(readings="\n".join(["1 4 beeps"] * 12))))
    assert "It may be this one" in result(page)
    assert "0 of 12 readings agree" in result(page)


def test_csv_is_taken_too(visitor, keyed_lead):
    page = Page(visitor.post(ADDRESS, ask(readings="red,black,mode,value\nPLUG:1,PLUG:5,beep,yes")))
    assert "The one reading agrees" in result(page)


def test_a_reading_that_disagrees_is_named(visitor, keyed_lead):
    page = Page(visitor.post(ADDRESS, ask(readings="1 5 beeps\n2 3 beeps\n1 2 silent\n4 6 beeps")))
    assert "3 of 4 readings agree" in result(page)
    assert "PLUG:4 to PLUG:6" in result(page)


def test_lines_that_cannot_be_read_are_named_and_the_others_used(visitor, keyed_lead):
    page = Page(visitor.post(ADDRESS, ask(readings="1 5 beeps\nwhat is this")))
    assert "line 2" in result(page)
    assert "The one reading agrees" in result(page)
    assert page.value("readings") == "1 5 beeps\nwhat is this"


def test_a_plug_that_no_cable_has_says_what_to_do_next(visitor, keyed_lead):
    page = Page(visitor.post(ADDRESS, ask(**{"plug-rows": "7 7"}, readings="1 5 beeps")))
    assert "No cable here has such plugs" in result(page)
    assert page.link("ask for the cable") == reverse("wanted")


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"readings": ""}, "Write some readings"),
        ({"plug-rows": ""}, "or write the rows, such as 12 12"),
        ({"plug-rows": "/"}, "Write the rows, such as 12 12"),
        ({"plug-rows": "99999999999999999999"}, "At most 12 characters"),
        ({"plug-rows": "9999"}, "At most 64 rows of 200"),
        ({"plug-rows": "2 " * 40}, "At most 20 rows"),
        ({"plug-name": "a b"}, "no spaces"),
        ({"plug-name": ""}, "short name"),
        ({"plug-connector": "no-such"}, "not one of the available choices"),
        ({"other-rows": "2", "other-name": "PLUG"}, "another name"),
        ({"readings": "hello"}, "None of the readings could be read"),
        ({"readings": "1 9 beeps"}, "PLUG:9 is no contact of the ends"),
        ({"readings": "1 2 10.1"}, "nothing to match"),
        ({"readings": "a\0b"}, "Null characters"),
        ({"readings": "1 2 beeps\n" * 2500}, "at most 20000"),
    ],
)
def test_what_cannot_be_compared_is_told_and_stays_written(visitor, keyed_lead, fields, told):
    answer = visitor.post(ADDRESS, ask(**({"readings": "1 5 beeps"} | fields)))
    assert answer.status_code == 422
    assert told in Page(answer).text
    assert Page(answer).value("plug-rows") == fields.get("plug-rows", "3 3")


def test_an_empty_request_is_told_what_is_missing(visitor):
    answer = visitor.post(ADDRESS, {})
    assert answer.status_code == 422
    assert "Some fields need another look" in Page(answer).text


def test_the_page_is_there_before_anything_is_typed(visitor):
    page = Page(visitor.get(ADDRESS))
    assert page.value("plug-name") == "PLUG"
    assert "Unplug both ends" in page.text
