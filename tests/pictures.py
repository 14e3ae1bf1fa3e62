"""Takes the pictures that README.md shows, anew: `python -m tests.pictures` (`make screenshots`).

Each is what a real browser shows of a site of its own, with the invented cables of the demo, at one fixed moment. The
same pages give the same pictures, byte by byte on one machine.
"""

from __future__ import annotations

import os
import sys
from base64 import b64decode
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path
from typing import Any
from unittest.mock import patch

import django
from django.core.management import call_command
from playwright.sync_api import Page, expect

from tests.bench.__main__ import own_database
from tests.browser.conftest import Device, new_device, opened_chromium

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "fixtures" / "pictures"
MOMENT = datetime(2026, 3, 5, 21, 40, tzinfo=UTC)
CHART = "[aria-label='{} chart']"
HANDSET = "/cables/brackwater-stagecraft-invented-winch-handset-lead-hl-12/"
PLOTTER = "/cables/orrin-vale-invented-plotter-lead-pl-2/"
QUALITY = 80
WIDE = 1280
MARGIN = 8
"""Pixels left around what a picture is cut to."""


@dataclass(frozen=True)
class Picture:
    """One picture: what a device of this width and scheme shows once somebody came this far.

    Cut from the page between the elements `first` and `last`, or what fits the screen where none is named.
    """

    name: str
    arrive: Callable[[Device], object]
    first: str = ""
    last: str = ""
    width: int = WIDE
    scheme: str = "light"

    @property
    def sharpness(self) -> int:
        """Points of the picture for each pixel of the page: a phone has more of them."""
        return 2 if self.width < WIDE else 1

    @property
    def path(self) -> Path:
        return FOLDER / f"{self.name}.webp"


def see(path: str) -> Callable[[Device], Page]:
    return lambda device: device.visit(path)


def see_one_net_lit(device: Device) -> None:
    page = device.visit(HANDSET)
    page.get_by_label("Face chart").get_by_role("button", name="HANDSET:C", exact=True).click()
    expect(page.locator("#lit-line")).to_contain_text("UP")


def diagnose_a_dead_lead(device: Device) -> None:
    """One of five conductors reads open, and its capacitance was measured from both ends."""
    page = device.visit(f"{PLOTTER}diagnose/")
    for number, shown in enumerate(("0.6", "OL", "0.9", "0.6", "0.4")):
        page.fill(f"[name=rows-{number}-shows]", shown)
    page.get_by_text("Did you measure where the break is?").click()
    page.get_by_label("Broken core, from the first place (pF)").fill("161")
    page.get_by_label("The same core, from the other place (pF)").fill("19")
    page.keyboard.press("Enter")
    expect(page.locator(".state-open")).to_have_count(1)


def map_half_a_cable(device: Device) -> Page:
    """A session at the bench with a few contacts joined, waiting for what the meter does at the next proposal."""
    page = device.visit("/bench/")
    page.get_by_label("Maker").first.fill("Brackwater Stagecraft (invented)")
    page.get_by_label("Model or part number").first.fill("Prompt box lead PB-8")
    for number, name in enumerate(("DESK", "BOX"), start=1):
        page.fill(f"#end-{number}-name", name)
        page.fill(f"#end-{number}-rows", "4 4")
    page.get_by_role("button", name="Begin").click()
    for line in ("DESK:1 BOX:8 0.4", "DESK:2 BOX:7 0.5", "BOX:7 BOX:6 0.3", "DESK:3 BOX:5 b", "DESK:1 DESK:2..4 n"):
        read(page, line)
    expect(page.locator("#counts")).to_contain_text("of 120")
    expect(page.locator("#computed")).to_be_hidden()
    return page


def take_the_proposal(device: Device) -> None:
    page = map_half_a_cable(device)
    page.get_by_role("button", name="Take it").click()
    scroll_to(page, "#proposal")


def slip(device: Device) -> None:
    """One reading that cannot be true beside the others."""
    page = map_half_a_cable(device)
    read(page, "DESK:2 BOX:6 n")
    expect(page.locator("#conflicts-first")).to_contain_text("Measure")
    page.get_by_text("Why it cannot be").click()
    scroll_to(page, "#conflicts")


def read(page: Page, line: str) -> None:
    page.get_by_label("Or type both contacts").fill(line)
    page.keyboard.press("Enter")


def scroll_to(page: Page, element: str) -> None:
    page.locator(element).evaluate("element => element.scrollIntoView()")


PICTURES = (
    Picture("start", see("/")),
    Picture("search", see("/cables/?q=works+when+bent")),
    Picture("charts", see_one_net_lit, "#charts", CHART.format("Face")),
    Picture("bench-proposal", take_the_proposal, width=360),
    Picture("bench-conflict", slip, width=360),
    Picture("why", diagnose_a_dead_lead, "[aria-labelledby='why']", ".tests"),
    Picture("where", diagnose_a_dead_lead, "[aria-labelledby='where'] > p", CHART.format("Fault"), scheme="dark"),
    Picture("bench-sheet", see(f"{HANDSET}maps/2/bench-sheet/"), ".paper", ".paper"),
)


def take(picture: Picture, device: Device) -> bytes:
    """The picture as WebP, seen on a device that was made for it."""
    picture.arrive(device)
    page = device.page
    page.wait_for_load_state("networkidle")
    page.evaluate("document.activeElement.blur()")
    page.mouse.move(0, 0)
    options: dict[str, Any] = {"format": "webp", "quality": QUALITY}
    if picture.first:
        options["clip"] = between(page, picture.first, picture.last)
    taken = device.context.new_cdp_session(page).send("Page.captureScreenshot", options)
    return b64decode(taken["data"])


def between(page: Page, first: str, last: str) -> dict[str, float]:
    """The part of the page from the top of one element to the bottom of another, as wide as both."""
    # Drawn anew in one go, with nothing left of where the page was scrolled to before.
    page.set_viewport_size({"width": WIDE, "height": page.evaluate("document.documentElement.scrollHeight")})
    page.evaluate("scrollTo(0, 0)")
    page.evaluate("new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)))")
    boxes = [page.locator(one).first.bounding_box() for one in (first, last)]
    assert boxes[0]
    assert boxes[1]
    left, top = min(box["x"] for box in boxes if box) - MARGIN, boxes[0]["y"] - MARGIN
    right = max(box["x"] + box["width"] for box in boxes if box) + MARGIN
    bottom = boxes[1]["y"] + boxes[1]["height"] + MARGIN
    return {"x": left, "y": top, "width": right - left, "height": bottom - top, "scale": 1}


@contextmanager
def demo_site() -> Iterator[str]:
    """The address of a site with the invented cables, on a store that goes at the end."""
    from pytest_django.live_server_helper import LiveServer  # it asks for the settings when it is imported

    with own_database():
        call_command("demo", stdout=StringIO())
        server = LiveServer("127.0.0.1")
        try:
            yield server.url
        finally:
            server.stop()


def main() -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()
    FOLDER.mkdir(exist_ok=True)
    with patch("django.utils.timezone.now", return_value=MOMENT), demo_site() as site, opened_chromium() as browser:
        for picture in PICTURES:
            device = new_device(browser, site, picture.width, picture.scheme, device_scale_factor=picture.sharpness)
            picture.path.write_bytes(take(picture, device))
            print(f"{picture.path.relative_to(ROOT)}: {picture.path.stat().st_size // 1024} KiB")
            if troubles := device.unforgiven():
                print(f"The browser complains: {troubles}")
                return 1
            device.context.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
