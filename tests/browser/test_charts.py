"""A net lights up on rail and face together, for pointer, finger and keyboard, and words tell what it is."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from catalogue.core.document import Meter
from catalogue.usecases import maps
from catalogue.usecases.confirmations import confirm_with_text
from tests.browser.conftest import barriers, overflow
from tests.factories import UserFactory
from tests.samples import as_json, usb_map

PAPER, PRINTABLE = 794, 688
"""An A4 sheet and what its margins leave of it, in pixels of style sheets across (210 mm, 182 mm)."""

DIFFERING = "red,black,mode,value\nHOST:1,PLOTTER:1,ohms,OL\n"

pytestmark = [pytest.mark.any_store, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def row():
    return maps.submit_map(UserFactory(), as_json(usb_map())).map


@pytest.fixture(params=[360, 1280])
def charts(device, row, request) -> Page:
    return device(request.param, has_touch=True).visit(reverse("cable", args=[row.cable.slug]))


def pad(page: Page, chart: str, contact: str):
    return page.get_by_label(f"{chart} chart").get_by_role("button", name=contact, exact=True).first


def lit_words(page: Page, chart: str) -> set[str]:
    """The numbers of the pads that are lit in a chart."""
    return set(page.locator(f"[aria-label='{chart} chart'] .contact.lit").all_text_contents())


@pytest.mark.parametrize("chart", ["Rail", "Face"])
def test_a_contact_pointed_at_lights_its_net_in_both_charts(charts, chart):
    pad(charts, chart, "HOST:1").hover()
    expect(charts.locator("#lit-line")).to_contain_text("HOST:1 – VBUS: supply, 5 V. HOST 1; PLOTTER 1.")
    for each in ("Rail", "Face"):
        assert {words.strip() for words in lit_words(charts, each)} == {"1"}
    assert charts.locator("tr.lit").count() == 1


def test_arrow_keys_walk_from_contact_to_contact_and_enter_keeps_one_lit(charts):
    pad(charts, "Rail", "HOST:1").focus()
    charts.keyboard.press("ArrowRight")
    expect(pad(charts, "Rail", "PLOTTER:1")).to_be_focused()
    charts.keyboard.press("Enter")
    charts.keyboard.press("Tab")
    expect(charts.locator("#lit-line")).to_contain_text("PLOTTER:1 – VBUS")
    charts.keyboard.press("Shift+Tab")
    expect(pad(charts, "Rail", "PLOTTER:1")).to_be_focused()
    charts.keyboard.press("Escape")
    charts.keyboard.press("Tab")
    expect(charts.locator("#lit-line")).to_contain_text("Point at a contact")
    assert charts.locator(".chart .lit").count() == 0


def test_a_tap_keeps_a_net_lit_and_a_second_lets_go(charts):
    pad(charts, "Face", "PLOTTER:4").tap()
    expect(charts.locator("#lit-line")).to_contain_text("PLOTTER:4 – GND")
    assert lit_words(charts, "Rail")
    pad(charts, "Face", "PLOTTER:4").tap()
    expect(charts.locator(".chart .lit")).to_have_count(0)


def test_a_contact_in_no_net_says_so(charts):
    pad(charts, "Face", "HOST:Shell").focus()
    expect(charts.locator("#lit-line")).to_contain_text("HOST:Shell – in no net: not connected, or not read.")
    expect(charts.locator("#lit-line")).to_have_attribute("aria-live", "polite")


def test_without_scripts_nothing_is_missing_but_the_light(device, row):
    page = device(java_script_enabled=False).visit(reverse("cable", args=[row.cable.slug]))
    expect(page.get_by_label("Rail chart").first).to_be_visible()
    expect(page.locator("#lit-line")).to_be_hidden()
    expect(page.locator(".nets")).to_contain_text("VBUS")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("name", ["cable", "difference", "confirm", "variants", "bench-sheet"])
def test_nobody_is_kept_out_of_the_pages_about_a_map(device, row, width, scheme, name):
    confirm_with_text(UserFactory(), row, DIFFERING, Meter(), "")
    maps.submit_map(row.author, as_json(usb_map(readings=[], marks=[{"kind": "kink", "section": "main", "at_m": 1.0}])))
    slug = row.cable.slug
    address = {
        "cable": reverse("map", args=[slug, 1]),
        "difference": reverse("map-difference", args=[slug, 1, 2]),
        "confirm": reverse("confirm", args=[slug, 1]),
        "variants": reverse("variants", args=[slug]),
        "bench-sheet": reverse("bench-sheet", args=[slug, 1]),
    }[name]
    page = device(width, scheme).visit(address)
    assert barriers(page) == []
    assert overflow(page) == 0


@pytest.mark.parametrize("name", ["start", "search", "cable", "rules", "report", "submit", "bench-sheet"])
def test_a_page_on_paper_fits_it_without_what_only_a_screen_can_do(device, row, name):
    of_map = {"cable": [row.cable.slug], "report": [row.cable.slug], "bench-sheet": [row.cable.slug, 1]}
    page = device().visit(reverse(name, args=of_map.get(name, [])))
    page.emulate_media(media="print")
    page.set_viewport_size({"width": PRINTABLE, "height": 1000})
    for gone in (".top", ".skip", "button", "input[type=file]"):
        assert not any(each.is_visible() for each in page.locator(gone).all()), gone
    assert overflow(page) == 0
    for drawn in page.locator(".chart svg").all():
        assert drawn.bounding_box()["width"] <= (PAPER if name == "bench-sheet" else PRINTABLE) + 1
    pages = len(re.findall(rb"/Type\s*/Page\b", page.pdf(prefer_css_page_size=True)))
    sheets = page.locator(".paper").count()
    assert pages == sheets if sheets else 1 <= pages <= 8


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_each_chart_has_a_sheet_of_its_own_lengthwise_on_whatever_paper_there_is(device, row, paper):
    page = device().visit(reverse("cable", args=[row.cable.slug]))
    printed = page.pdf(format=paper, prefer_css_page_size=True)
    sheets = [tuple(map(float, box)) for box in re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", printed)]
    across = {"A4": 595, "Letter": 612}[paper]
    assert [min(sheet) for sheet in sheets] == pytest.approx([across] * len(sheets), abs=2)
    assert sum(width > height for width, height in sheets) == page.locator(".chart").count() == 2


def test_what_is_folded_on_a_screen_is_unfolded_on_paper(device, row):
    page = device().visit(reverse("report", args=[row.cable.slug]))
    folded = page.get_by_label("VBUS")
    assert not folded.is_visible()
    page.emulate_media(media="print")
    assert folded.is_visible()
