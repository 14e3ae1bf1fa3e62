"""An invented cable that is mapped at the bench: two ends of 13 contacts.

HEAD:1 and HEAD:2 are one ground with TAIL:1, TAIL:2 is joined to nothing, and each further contact of HEAD meets one
of TAIL in reverse order.
"""

import json
from collections.abc import Sequence

from playwright.sync_api import Locator, Page, expect

from catalogue.models import Draft, MapRevision
from catalogue.usecases import maps
from tests.browser.conftest import Device
from tests.browser.hands import Hands, Pointer

MAKER, MODEL = "Quillon (invented)", "Thirteen-way lead"
PARTNERS = {f"HEAD:{number}": f"TAIL:{16 - number}" for number in range(3, 14)}
GROUND = ("HEAD:1", "HEAD:2", "TAIL:1")
RUNS_APART = (("HEAD:1", "HEAD:7"), ("HEAD:8", "HEAD:13"), ("TAIL:3", "TAIL:7"), ("TAIL:8", "TAIL:13"))
"""Runs of contacts of one row, none of which meets TAIL:2."""
ROWS = ("7 6", "7 6")
PLANS = "**/api/v1/probe-plans/"


def no_plans(page: Page) -> None:
    """Nobody proposes anything."""
    page.context.route(PLANS, lambda route: route.fulfill(json={"next": [], "acts_left": 0, "decided": False}))


def begin(device: Device, rows: Sequence[str] = ROWS, maker: str = "", model: str = "") -> Page:
    """A new session for the cable; no proposals."""
    no_plans(device.page)
    page = device.visit("/bench/")
    fill_in(Pointer(page), rows, maker, model)
    return page


def fill_in(hands: Hands, rows: Sequence[str] = ROWS, maker: str = "", model: str = "") -> None:
    """Begin a session on the page of the bench."""
    page = hands.page
    for name, text in (("Maker", maker), ("Model or part number", model)):
        if text:
            hands.write(page.locator("#new").get_by_label(name), text)
    for number, (name, row) in enumerate(zip(("HEAD", "TAIL"), rows, strict=True), start=1):
        hands.write(page.locator(f"#end-{number}-name"), name)
        hands.write(page.locator(f"#end-{number}-rows"), row)
    hands.press(page.get_by_role("button", name="Begin"))
    expect(page.locator("#counts")).to_contain_text("0 of")


def type_in(page: Page, line: str) -> None:
    page.get_by_label("Or type both contacts").fill(line)
    page.keyboard.press("Enter")


def contact(page: Page, name: str) -> Locator:
    return page.locator(f'[data-point="{name}"]')


def tap(page: Page, *contacts: str) -> None:
    for name in contacts:
        contact(page, name).click()


def readings(page: Page) -> list[str]:
    """The readings that are shown, newest first."""
    return page.locator("#readings .reading").all_inner_texts()


def all_sent(page: Page) -> None:
    expect(page.locator("#kept")).to_contain_text("kept in your account")


def draft_readings() -> list[str]:
    return [reading["id"] for reading in json.loads(Draft.objects.get().text)["readings"]]


def is_mapped() -> None:
    """The one map that is stored is of this cable, deduced from the readings alone but for the ground's name."""
    row = MapRevision.objects.get()
    document = maps.document_of(row)
    assert len(document.readings) == 18
    assert [(net.name, net.contacts) for net in document.nets] == [("GND", GROUND)]
    nets = {frozenset(net.contacts) for net in maps.wiring_of(row).nets}
    assert nets == {frozenset(pair) for pair in PARTNERS.items()} | {frozenset(GROUND)}
    assert not Draft.objects.exists()
