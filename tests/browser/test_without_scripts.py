"""A phone whose browser runs no scripts: people read, find, submit, correct and report with it all the same."""

import json
import re

import pytest
from django.core.management import call_command
from playwright.sync_api import expect

from catalogue.models import Draft, FailureReport, MapRevision
from tests.browser.conftest import overflow
from tests.browser.hands import Finger
from tests.factories import UserFactory
from tests.samples import contradicted_usb_map, usb_map

READINGS = "red,black,mode,value,unit\nHOST:1,TOOL:1,ohms,0.6,ohm\nHOST:4,TOOL:6,beep,yes,\n"
OVER_LIMIT = "HOST:1,TOOL:1,ohms,OL,\n"
TRUNK = "Halcyon & Rook (invented) Scan head trunk ST-4"


@pytest.fixture
def plain(device):
    """Makes the finger of somebody at a phone without scripts: `plain(user)`."""

    def make(user=None):
        one = device(360, user=user, has_touch=True, is_mobile=True, java_script_enabled=False)
        # Where a form is not taken, the answer says so in its status too.
        one.forgive("status of 4(09|22)")
        return Finger(one.visit("/"))

    return make


@pytest.fixture
def mira(transactional_db):
    return UserFactory(username="mira")


def follow(finger, name, within="main"):
    finger.press(finger.page.locator(within).get_by_role("link", name=name, exact=True).first)


def press(finger, name):
    finger.press(finger.page.get_by_role("button", name=name, exact=True))


def assert_it_fits(page):
    page.wait_for_load_state()  # before its style sheet is there, no page fits
    assert overflow(page) == 0


def told(finger):
    return finger.page.locator("#result-title")


def test_a_cable_is_found_by_its_facets_and_its_page_tells_everything(plain, transactional_db):
    call_command("demo", verbosity=0)
    finger = plain()
    page = finger.page
    follow(finger, "Find it")
    finger.press(page.get_by_text("Search by connector, contacts, symptom, outcome"))
    page.get_by_label("Symptom", exact=True).select_option(label="no picture")
    finger.press(page.locator("details.facets").get_by_role("button", name="Find"))
    expect(page.get_by_role("list", name="Narrowed down by")).to_contain_text("no picture")
    expect(page.locator(".results > li")).to_have_count(2)
    follow(finger, "Narrow it down")
    finger.press(page.locator("#narrow").get_by_role("link", name=re.compile("fibre")).first)
    expect(page.locator(".results > li")).to_have_count(1)
    assert_it_fits(page)
    follow(finger, TRUNK)
    expect(page.get_by_role("heading", level=1)).to_have_text(TRUNK)
    expect(page.get_by_role("region", name="Failure points", exact=True)).to_contain_text("HEADBLOCK")
    expect(page.locator("#charts")).to_be_visible()
    assert page.get_by_role("img").count() >= 2
    expect(page.get_by_role("row", name=re.compile("^PIXELS"))).to_be_visible()
    assert_it_fits(page)


def test_readings_are_pasted_checked_corrected_and_submitted(plain, mira):
    finger = plain(mira)
    page = finger.page
    follow(finger, "paste the readings")
    finger.write(page.locator("#id_maker"), "Tarn & Fell (invented)")
    finger.write(page.locator("#id_model"), "tool lead T4")
    for number, (name, connector) in enumerate((("HOST", "usb2-a"), ("TOOL", "custom"))):
        finger.write(page.locator(f"#id_form-{number}-name"), name)
        page.locator(f"#id_form-{number}-connector").select_option(connector)
    finger.write(page.locator("#id_form-1-rows"), "1 2 3 / 4 _ 6")
    finger.write(page.locator("#id_readings"), READINGS + OVER_LIMIT)
    finger.press(page.locator("details[open]").get_by_role("button", name="Check").last)
    expect(told(finger)).to_have_text("This map would be refused")
    expect(told(finger)).to_be_in_viewport()
    expect(page.locator(".lines .marked").first).to_contain_text("HOST:1,TOOL:1,ohms,0.6")
    assert_it_fits(page)
    finger.write(page.locator("#id_readings"), READINGS)
    finger.press(page.locator("details[open]").get_by_role("button", name="Submit"))
    expect(page).to_have_url(re.compile("/maps/1/"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Tarn & Fell (invented) tool lead T4")
    assert MapRevision.objects.get().reading_count == 2


def test_a_document_is_uploaded_refused_and_corrected_from_the_draft(plain, mira, tmp_path):
    refused = tmp_path / "map.json"
    refused.write_text(json.dumps(contradicted_usb_map(), indent=1))
    finger = plain(mira)
    page = finger.page
    follow(finger, "Submit a map", within=".menu")
    finger.press(page.get_by_role("heading", name="From a map document"))
    page.locator("#id_file").set_input_files(refused)
    finger.press(page.locator("form", has=page.locator("#id_file")).get_by_role("button", name="Submit"))
    expect(told(finger)).to_have_text("Not taken")
    expect(page.locator("#result")).to_contain_text("r6")
    assert_it_fits(page)
    follow(finger, "Corelore", within="header")  # gone away, and back another day
    follow(finger, "Account", within="header")
    follow(finger, "1 draft")
    follow(finger, Draft.objects.get().title)
    finger.write(page.locator("#id_text"), json.dumps(usb_map()))
    finger.press(page.locator("form", has=page.locator("#id_text")).get_by_role("button", name="Submit"))
    expect(page).to_have_url(re.compile("/maps/1/"))
    assert MapRevision.objects.get().reading_count == 5
    assert not Draft.objects.exists()


def test_a_failure_is_reported_and_told_at_once_on_the_page_of_the_cable(plain, mira):
    call_command("demo", verbosity=0)
    before = FailureReport.objects.count()
    finger = plain(mira)
    page = finger.page
    follow(finger, TRUNK)
    follow(finger, "Report a failure")
    press(finger, "Send the report")
    expect(told(finger)).to_have_text("Some fields need another look")
    finger.press(page.get_by_label("a core is broken (open)"))
    finger.press(page.get_by_label("mended, and works"))
    finger.press(page.get_by_label("no power"))
    page.locator("#id_where").select_option("section:trunk")
    finger.write(page.locator("#id_at_m"), "3.2")
    finger.write(page.locator("#id_words"), "Dark after the ladder fell.")
    press(finger, "Send the report")
    expect(page.get_by_role("status").first).to_contain_text("Your report is stored")
    expect(page.locator(".reports").first).to_contain_text("Dark after the ladder fell.")
    expect(page.get_by_role("region", name="Failure points", exact=True)).to_contain_text("3.2")
    assert_it_fits(page)
    assert FailureReport.objects.count() == before + 1
