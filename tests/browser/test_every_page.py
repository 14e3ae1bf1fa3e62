"""Every page of the site in a real browser: fit for all senses, light and dark; small over the wire; never too wide."""

import json
from http import HTTPStatus
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from catalogue.models import User
from tests.addresses import NO_PAGE, addresses, demo_samples
from tests.browser.conftest import Device, barriers, overflow
from tests.samples import contradicted_usb_map

pytestmark = pytest.mark.any_store
LIGHTEST_BYTES = 200 * 1024


@pytest.fixture
def demo(transactional_db: Any) -> tuple[User, dict[str, Any]]:
    return demo_samples()


def unfit(page: Page, name: str) -> list[str]:
    """What keeps people from a page, and by how much it is too wide."""
    over = overflow(page)
    too_wide = [f"{name} is {over} px wider than the screen"] if over else []
    return [f"{name}: {barrier}" for barrier in barriers(page)] + too_wide


SIZES = pytest.mark.parametrize(("width", "scheme"), [(360, "light"), (1280, "dark")])


@pytest.mark.parametrize("is_signed_in", [True, False], ids=["signed-in", "visitor"])
@SIZES
def test_every_page_is_fit_for_all_senses_small_and_never_too_wide(device, demo, width, scheme, is_signed_in):
    author, samples = demo
    one = device(width, scheme, author if is_signed_in else None)
    one.forgive("status of 404")  # NO_PAGE
    weights: dict[str, int] = {}

    def weigh(request: Any) -> None:
        if "/drawings/" not in request.url:
            sizes = request.sizes()
            weights[page_address] = weights.get(page_address, 0) + sizes["responseBodySize"]

    one.page.on("requestfinished", weigh)
    wrong = []
    visited = 0
    for page_address in addresses(samples):
        answer = one.context.request.get(one.site + page_address)
        if answer.status == HTTPStatus.METHOD_NOT_ALLOWED or "text/html" not in answer.headers["content-type"]:
            continue
        assert (answer.status == HTTPStatus.NOT_FOUND) == (page_address == NO_PAGE), page_address
        page = one.visit(page_address)
        visited += 1
        wrong += unfit(page, page_address)
        if weights[page_address] > LIGHTEST_BYTES:
            wrong.append(f"{page_address} weighs {weights[page_address]:,} bytes over the wire")
    assert wrong == []
    assert visited >= 30


@pytest.mark.parametrize(("width", "scheme"), [(360, "dark"), (1280, "light")])
def test_a_word_is_told_beside_it_by_keyboard_and_the_page_stays_where_it_is(device, demo, width, scheme):
    page = device(width, scheme).visit(f"/cables/{demo[1]['slug']}/")
    ask = page.get_by_role("button", name="What “net” means")
    told = page.locator("#means-net")
    expect(told).to_be_hidden()
    ask.focus()
    before = page.evaluate("scrollY")
    page.keyboard.press("Enter")
    expect(told).to_be_in_viewport(ratio=1)
    expect(told).to_contain_text("one conductor")
    assert page.evaluate("scrollY") == before
    assert barriers(page) == []
    page.keyboard.press("Escape")
    expect(told).to_be_hidden()
    expect(ask).to_be_focused()
    for each in page.locator(".meaning").all():
        box = each.bounding_box()
        assert min(box["width"], box["height"]) >= 24


def diagnosed(one: Device, samples: dict[str, Any]) -> None:
    page = one.visit(f"/cables/{samples['slug']}/diagnose/?readings=1")
    page.locator("#measure ~ .inputs").get_by_role("button", name="Work it out").click()
    expect(page.locator("#why ~ .verdict").first).to_be_visible()


def cable_recognised(one: Device, samples: dict[str, Any]) -> None:
    page = one.visit("/which-cable/")
    page.locator("#id_plug-connector").select_option("usb2-a")
    page.locator("#id_readings").fill("1 4 OL\n1 2 silent")
    page.get_by_role("button", name="Find the cable").click()
    expect(page.locator("#result .results > li").first).to_be_visible()


def map_refused(one: Device, samples: dict[str, Any]) -> None:
    page = one.visit("/submit/")
    page.get_by_role("heading", name="From a map document").click()
    page.locator("#id_text").fill(json.dumps(contradicted_usb_map(), indent=1))
    page.locator("details[open] button[value=submit]").last.click()
    expect(page.locator("#result-title")).to_have_text("Not taken")


def event_told_already(one: Device, samples: dict[str, Any]) -> None:
    page = one.visit(f"/cables/{samples['slug']}/report/")
    page.get_by_label("a core is broken (open)").check()
    page.get_by_label("mended, and works").check()
    page.locator("#id_where").select_option("section:coil")
    page.locator("#id_at_m").fill("3.15")
    page.get_by_role("button", name="Send the report").click()
    expect(page.locator("#result-title")).to_have_text("Is this event told already?")


@SIZES
def test_what_people_get_for_their_work_is_fit_for_all_senses(device, demo, width, scheme):
    author, samples = demo
    one = device(width, scheme, author)
    one.forgive("status of 4(09|22)")
    wrong = []
    for get_there in (diagnosed, cable_recognised, map_refused, event_told_already):
        get_there(one, samples)
        wrong += unfit(one.page, get_there.__name__)
    assert wrong == []
