"""A dead cable is diagnosed on a phone by keyboard alone, from the first reading to the place to open."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from catalogue.usecases import maps
from tests.browser.conftest import barriers, overflow
from tests.factories import UserFactory
from tests.samples import as_json, usb_map

LEAST_TARGET_PX = 24
MOST_TABS = 150


@pytest.fixture
def address(transactional_db):
    return reverse("diagnose", args=[maps.submit_map(UserFactory(), as_json(usb_map())).map.cable.slug])


def tab_to(page, target):
    """Press Tab until `target` has the focus. Whatever is passed shows its focus, and is large enough to hit."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        focused = page.locator(":focus")
        told = focused.evaluate(
            "e => ({outline: getComputedStyle(e).outlineStyle, inline: getComputedStyle(e).display === 'inline'})"
        )
        box = focused.bounding_box()
        assert told["outline"] != "none", focused.evaluate("e => e.outerHTML")
        assert told["inline"] or box["height"] >= LEAST_TARGET_PX, focused.evaluate("e => e.outerHTML")
        if target.evaluate("e => e === document.activeElement"):
            return
    raise AssertionError(f"{target} cannot be reached by Tab")


def row(page, probes):
    """The field for what the meter shows between two contacts."""
    fields = page.locator("input[name$='-probes']")
    at = [field.input_value() for field in fields.all()].index(probes)
    return page.locator(f"#id_rows-{at}-shows")


def read(page, readings):
    for probes, shows in readings.items():
        tab_to(page, row(page, probes))
        page.keyboard.type(shows)
    work_out(page)


def work_out(page):
    """Send the form from any field of it. What came of it has the focus then, so that it is heard and Tab goes on."""
    with page.expect_navigation():
        page.keyboard.press("Enter")
    expect(page.locator("#result")).to_be_focused()


def test_a_chart_wider_than_the_phone_opens_where_the_break_is_likeliest_under_its_title(device, address):
    page = device(360).visit(address)
    row(page, "HOST:2 PLOTTER:2").fill("OL")
    page.get_by_text("Did you measure where the break is?").click()
    page.get_by_label("Broken core, from the first place (pF)").fill("161")
    page.get_by_label("The same core, from the other place (pF)").fill("19")
    work_out(page)
    chart = page.get_by_role("region", name="Fault chart")
    assert chart.evaluate("chart => chart.scrollWidth > chart.clientWidth")
    frame, *parts = (
        part.bounding_box() for part in (chart, chart.locator(".likeliest").first, chart.locator(".chart-title"))
    )
    for part in parts:
        assert frame["x"] <= part["x"] <= part["x"] + part["width"] <= frame["x"] + frame["width"]
    assert page.locator("#fault-hint .swipe").is_visible()


def test_a_broken_core_is_found_from_the_keyboard_and_opened_only_when_nothing_else_tells(device, address):
    page = device(360).visit(address)
    read(page, {
        "HOST:1 PLOTTER:1": "0.6", "HOST:2 PLOTTER:2": "OL", "HOST:3 PLOTTER:3": "0.8", "HOST:4 PLOTTER:4": "0.6",
    })  # fmt: skip
    stand = page.get_by_role("region", name="Where you stand")
    expect(stand).to_be_in_viewport()
    expect(stand).to_contain_text("Open it? Not yet.")
    expect(stand).to_contain_text("Power it? Not yet.")
    assert barriers(page) == []
    assert overflow(page) == 0

    tab_to(page, stand.get_by_role("link", name="How"))
    page.keyboard.press("Enter")
    expect(page.locator("#tests")).to_be_in_viewport()
    tab_to(page, page.get_by_role("group", name="Is a contact worn").get_by_label("not looked"))
    page.keyboard.press("ArrowLeft")  # round to “no”
    for box in page.get_by_role("checkbox", name="I have no means for this").all()[1:]:
        tab_to(page, box)
        page.keyboard.press("Space")
    work_out(page)
    expect(stand).to_contain_text(re.compile(r"Open it\? Yes, at [0-9.]+.m only\."))
    tab_to(page, stand.get_by_role("link", name="How"))
    page.keyboard.press("Enter")
    expect(page.get_by_text("Before you open the jacket")).to_be_visible()
    assert barriers(page) == []


def test_a_slip_leads_to_its_row(device, address):
    phone = device(360)
    phone.forgive("status of 422")
    page = phone.visit(address)
    read(page, {"HOST:1 PLOTTER:1": "lots"})
    tab_to(page, page.get_by_role("link", name="Row 1"))
    page.keyboard.press("Enter")
    expect(page.locator("#id_rows-0-shows")).to_be_in_viewport()
    expect(page.locator("#id_rows-0-shows")).to_have_value("lots")
