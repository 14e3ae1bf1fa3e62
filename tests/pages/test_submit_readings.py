"""Submitting readings with a few facts: the page makes the document, and every row and field has its say."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from catalogue.models import Draft, MapRevision
from tests.factories import PASSWORD
from tests.pages.page import Page

pytestmark = pytest.mark.django_db

SUBMIT = "/submit/"
READINGS = """red,black,mode,value,unit,range,flexed,note
HOST:1,TOOL:1,ohms,0.6,ohm,,,
HOST:4,TOOL:6,beep,yes,,,,

HOST:1,HOST:4,ohms,OL,,20 Mohm,,
HOST:2,TOOL:3 TOOL:4,sweep,no,,,,
"""
CONTRADICTION = READINGS + "HOST:1,TOOL:1,ohms,OL,,20 Mohm,,\n"


def filled(**changes):
    """The form as somebody filled it in for a lead of two ends."""
    fields = {
        "way": "readings",
        "act": "check",
        "maker": "Tarn & Fell (invented)",
        "model": "tool lead T4",
        "revision": "",
        "devices": "T4 bench tool (invented)\r\n\r\nT5 bench tool (invented)",
        "summary": "Found in a drawer.",
        "lead_ohms": "",
        "readings": READINGS,
        "form-TOTAL_FORMS": "2",
        "form-INITIAL_FORMS": "0",
        "form-0-name": "HOST",
        "form-0-connector": "usb2-a",
        "form-0-form": "plug",
        "form-0-rows": "",
        "form-1-name": "TOOL",
        "form-1-connector": "custom",
        "form-1-form": "unknown",
        "form-1-rows": "1 2 3 / 4 _ 6",
    }
    return fields | changes


def errors(page, field):
    return page.one("div", id=f"id_{field}_error").text


def test_readings_and_a_few_facts_become_a_map(signed_in):
    answer = signed_in.post(SUBMIT, filled(act="submit"))
    assert answer.status_code == 302
    document = json.loads(MapRevision.objects.get().document)
    assert document["cable"] == {
        "maker": "Tarn & Fell (invented)",
        "model": "tool lead T4",
        "devices": ["T4 bench tool (invented)", "T5 bench tool (invented)"],
        "summary": "Found in a drawer.",
    }
    assert document["ends"] == [
        {"name": "HOST", "connector": "usb2-a", "form": "plug"},
        {"name": "TOOL", "connector": "custom", "rows": [["1", "2", "3"], ["4", "", "6"]]},
    ]
    assert [reading["mode"] for reading in document["readings"]] == ["ohms", "beep", "ohms", "sweep"]
    assert document["readings"][0]["ohms"] == 0.6


def test_anybody_can_check_readings_and_nothing_is_stored(visitor, django_assert_num_queries):
    with django_assert_num_queries(0):
        answer = visitor.post(SUBMIT, filled())
    assert "This map can be submitted" in Page(answer).text


def test_a_contradiction_is_shown_on_the_lines_of_the_readings(visitor):
    page = Page(visitor.post(SUBMIT, filled(readings=CONTRADICTION)))
    assert "This map would be refused" in page.text
    marked = page.marked_lines()
    assert "HOST:1,TOOL:1,ohms,OL" in marked[7]
    assert "HOST:1,TOOL:1,ohms,0.6" in marked[2]
    assert {"#line-7", "#line-2"} <= set(page.links)


def test_a_bad_row_is_named_by_its_line_and_the_good_rows_are_checked(visitor):
    page = Page(visitor.post(SUBMIT, filled(readings=CONTRADICTION + "HOST:2,TOOL:2,ohms,about two,,,,\n")))
    assert "1 line could not be read" in page.text
    assert not page.all("button", value="submit-good-rows")
    assert "about two" in page.marked_lines()[8]
    assert "#line-8" in page.links
    assert "r5 shows" in page.text


def test_bad_rows_are_not_dropped_in_silence_but_the_others_can_be_submitted(signed_in):
    readings = READINGS + "HOST:2,TOOL:2,ohms,about two,,,,\n"
    answer = signed_in.post(SUBMIT, filled(readings=readings, act="submit"))
    page = Page(answer)
    assert answer.status_code == 422
    assert page.one("button", value="submit-good-rows").text == "Submit without the 1 unread line"
    assert not MapRevision.objects.exists()
    assert not Draft.objects.exists()

    assert signed_in.post(SUBMIT, filled(readings=readings, act="submit-good-rows")).status_code == 302
    assert MapRevision.objects.get().reading_count == 4


def test_a_refused_map_comes_back_filled_in_and_is_kept_as_a_draft(signed_in):
    answer = signed_in.post(SUBMIT, filled(readings=CONTRADICTION, act="submit"))
    page, draft = Page(answer), Draft.objects.get()
    assert answer.status_code == 422
    assert page.link("your draft") == reverse("draft", args=[draft.pk])
    assert page.value("readings") == CONTRADICTION
    assert page.value("form-1-rows") == "1 2 3 / 4 _ 6"
    assert page.value("maker") == "Tarn & Fell (invented)"
    assert json.loads(draft.text)["readings"][4]["over"] is True


def test_a_field_that_is_missing_is_told_there_and_nothing_is_lost(visitor):
    page = Page(visitor.post(SUBMIT, filled(maker="", **{"form-1-rows": "", "form-0-connector": ""})))
    assert "required" in errors(page, "maker")
    assert "Write the rows" in errors(page, "form-1-rows")
    assert "Choose the connector" in errors(page, "form-0-connector")
    assert page.link("Maker") == "#id_maker"
    assert page.link("End 1: Connector") == "#id_form-0-connector"
    assert page.value("readings") == READINGS
    assert page.one("section", id="result")


def test_what_the_format_does_not_take_is_told_at_its_field(visitor):
    fields = filled(model="lead \u202eTL-4", **{"form-1-rows": "1 2 / 3 \u202e4"})
    page = Page(visitor.post(SUBMIT, fields))
    assert errors(page, "model")
    assert errors(page, "form-1-rows")
    assert "This map would be refused" in page.text
    assert page.link("Model or part number") == "#id_model"


def test_rows_may_be_counted_as_at_the_bench(signed_in):
    signed_in.post(SUBMIT, filled(act="submit", **{"form-1-rows": "4 2"}))
    end = json.loads(MapRevision.objects.get().document)["ends"][1]
    assert end["rows"] == [["1", "2", "3", "4"], ["5", "6"]]


@pytest.mark.parametrize("address", [SUBMIT, "/which-cable/", "/bench/"])
def test_wherever_rows_are_written_the_same_is_told_of_them(visitor, address):
    told = "How many in each row: 12 12. Or their names: A1 A2 / B1 _ B3, where _ is a free seat."
    assert told in Page(visitor.get(address)).text


def test_a_cable_without_ends_is_told_to_have_one(visitor):
    ends = {f"form-{number}-{name}": "" for number in (0, 1) for name in ("name", "connector", "rows")}
    forms = {"form-0-form": "unknown", "form-1-form": "unknown"}
    page = Page(visitor.post(SUBMIT, filled(**ends, **forms)))
    assert "Describe at least one end of the cable." in page.text
    assert page.link("Its ends") == "#its-ends"


def test_one_more_end_keeps_everything_and_judges_nothing(visitor):
    page = Page(visitor.post(SUBMIT, filled(act="more-ends", maker="")))
    assert page.value("form-TOTAL_FORMS") == "3"
    assert page.value("form-2-name") == ""
    assert page.value("form-1-rows") == "1 2 3 / 4 _ 6"
    assert page.value("readings") == READINGS
    assert page.one("option", value="custom", selected="").above[-1].attributes["name"] == "form-1-connector"
    assert not page.all("div", class_="errors")


def test_a_third_end_is_read_when_it_is_filled_in_and_skipped_when_it_is_not(signed_in):
    third = {"form-TOTAL_FORMS": "4", "form-2-form": "unknown", "form-3-form": "unknown"}
    third |= {"form-2-name": "AUX", "form-2-connector": "usb2-b"}
    assert signed_in.post(SUBMIT, filled(act="submit", **third)).status_code == 302
    assert [end.name for end in MapRevision.objects.get().ends.order_by("pk")] == ["HOST", "TOOL", "AUX"]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_spreadsheet_file_takes_the_place_of_the_text(visitor, encoding):
    file = SimpleUploadedFile("readings.csv", READINGS.encode(encoding), "text/csv")
    page = Page(visitor.post(SUBMIT, filled(readings="", readings_file=file)))
    assert page.value("readings") == READINGS
    assert "This map can be submitted" in page.text


def test_a_file_that_is_not_all_text_is_refused_by_its_line_and_stands_there_to_correct(signed_in):
    text = READINGS.rstrip() + "\nHOST:1,TOOL:1,beep,1,,,,caf\xe9\n"
    file = SimpleUploadedFile("readings.csv", text.encode("latin-1"), "text/csv")
    answer = signed_in.post(SUBMIT, filled(act="submit", readings="", readings_file=file))
    page = Page(answer)
    assert answer.status_code == 422
    assert f"From line {text.count(chr(10))} on, the file holds characters that are not UTF-8 text" in page.text
    assert page.value("readings") == text.replace("\xe9", "\ufffd")
    assert not MapRevision.objects.exists()


def test_the_leads_own_resistance_goes_into_the_document(signed_in):
    signed_in.post(SUBMIT, filled(act="submit", lead_ohms="0.45"))
    assert json.loads(MapRevision.objects.get().document)["meter"] == {"lead_ohms": 0.45}


def test_everything_filled_in_before_signing_in_is_there_afterwards(visitor, mira):
    visitor.post(SUBMIT, filled(act="submit"))
    who = {"login": "mira", "password": PASSWORD, "next": SUBMIT}
    page = Page(visitor.post(reverse("sign-in"), who, follow=True))
    assert page.value("readings") == READINGS
    assert page.value("devices") == filled()["devices"].replace("\r\n", "\n")
    assert page.value("form-0-name") == "HOST"
    assert page.value("form-1-rows") == "1 2 3 / 4 _ 6"
    assert page.one("option", value="custom", selected="").above[-1].attributes["name"] == "form-1-connector"


def test_more_ends_than_a_cable_can_have_are_told_and_not_shown(visitor):
    answer = visitor.post(SUBMIT, filled(**{"form-TOTAL_FORMS": "5000"}))
    assert answer.status_code == 422
    page = Page(answer)
    assert len(page.all("fieldset", class_="end")) == 24
    assert "At most 24 ends of a cable can be described." in page.text


def test_a_form_whose_count_of_ends_was_lost_is_an_answer_and_no_crash(visitor):
    fields = {name: value for name, value in filled().items() if "FORMS" not in name}
    answer = visitor.post(SUBMIT, fields)
    page = Page(answer)
    assert answer.status_code == 422
    assert "The form came in incomplete." in page.text
    assert page.value("readings") == READINGS
