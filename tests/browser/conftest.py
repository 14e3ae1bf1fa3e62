"""A real browser on a live site: what visitors see, on a phone and on a laptop, light and dark, by keyboard alone.

No request leaves this machine, and whatever the browser complains of fails the test: errors of scripts, requests that
fail, and breaches of the content security policy alike. A test that provokes one says so beforehand.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Route, expect, sync_playwright

CHROMIUM = "/usr/bin/chromium"
# Nothing but what a page asks for, and no sandbox, which containers lack.
ARGUMENTS = (
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
HEIGHTS = {360: 740, 1280: 800}

expect.set_options(timeout=10_000)


@contextmanager
def opened_chromium() -> Iterator[Browser]:
    """A browser, closed at the end. Whoever opens one in a test takes the fixture `chromium`."""
    # Playwright keeps an event loop in this thread, which Django takes for a reason to refuse its store.
    before = os.environ.get("DJANGO_ALLOW_ASYNC_UNSAFE")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()
    if before is None:
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    with opened_chromium() as browser:
        yield browser


@dataclass
class Device:
    """One person's phone or laptop, with a store and cookies of its own. `page` is its first tab."""

    context: BrowserContext
    site: str
    troubles: list[str] = field(default_factory=list)
    forgiven: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.context.route("**/*", self._stay_here)
        self.context.on("console", self._hear)
        self.context.on("weberror", lambda error: self.troubles.append(str(error.error)))
        self.page = self.new_tab()

    def new_tab(self) -> Page:
        page = self.context.new_page()
        page.set_default_timeout(10_000)
        return page

    def visit(self, path: str) -> Page:
        """Go to an address of the site in the first tab."""
        self.page.goto(self.site + path)
        return self.page

    def forgive(self, pattern: str) -> None:
        """What the browser complains of in these words is what the test is about."""
        self.forgiven.append(pattern)

    def sign_in(self, user: Any) -> None:
        client = Client()
        client.force_login(user)
        name = settings.SESSION_COOKIE_NAME
        self.context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": self.site}])

    def unforgiven(self) -> list[str]:
        return [trouble for trouble in self.troubles if not any(re.search(one, trouble) for one in self.forgiven)]

    def _stay_here(self, route: Route) -> None:
        if route.request.url.startswith(self.site):
            route.fallback()
        else:
            self.troubles.append(f"a request to {route.request.url}")
            route.abort()

    def _hear(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.troubles.append(f"{message.text} ({message.location.get('url')})")


def new_device(browser: Browser, site: str, width: int = 1280, scheme: Any = "light", **options: Any) -> Device:
    size: Any = {"width": width, "height": HEIGHTS[width]}
    context = browser.new_context(viewport=size, color_scheme=scheme, reduced_motion="reduce", **options)
    return Device(context, site)


Devices = Callable[..., Device]


@pytest.fixture
def device(chromium: Browser, live_server: Any) -> Iterator[Devices]:
    """Makes devices: `device(360, "dark", user)`."""
    made = []

    def make(width: int = 1280, scheme: Any = "light", user: Any = None, **options: Any) -> Device:
        made.append(new_device(chromium, live_server.url, width, scheme, **options))
        if user:
            made[-1].sign_in(user)
        return made[-1]

    yield make
    troubles = [trouble for one in made for trouble in one.unforgiven()]
    for one in made:
        one.context.close()
    assert not troubles, troubles


def barriers(page: Page) -> list[str]:
    """What keeps people with other senses or hands from the page, as far as a machine can tell: serious things only."""
    page.wait_for_load_state()  # what is seen first may come before the style sheet
    found = Axe().run(page).response["violations"]
    return [
        f"{one['id']}: {node['html'][:200]} {node['failureSummary'][:300]}"
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]


def overflow(page: Page) -> int:
    """Pixels by which the page is wider than the screen."""
    page.wait_for_load_state()
    return int(page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))
