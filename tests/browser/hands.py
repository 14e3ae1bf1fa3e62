"""Three ways to use a page: with a pointer, by keyboard alone, and by touch. A story is told once, for any of them."""

from __future__ import annotations

from dataclasses import dataclass

from playwright.sync_api import Locator, Page, expect

MOST_TABS = 10
"""As often as a patient person presses Tab on the way to the next thing."""


@dataclass
class Hands:
    page: Page

    def arrive(self, heading: str) -> None:
        """Wait for the page of this heading, and come to its content."""
        expect(self.page.get_by_role("heading", level=1)).to_have_text(heading)
        self.page.wait_for_load_state()

    def press(self, target: Locator) -> None:
        target.click()

    def write(self, target: Locator, text: str) -> None:
        self.press(target)
        target.fill(text)


class Pointer(Hands):
    """A mouse or its like."""


class Finger(Hands):
    def press(self, target: Locator) -> None:
        target.tap()


class Keys(Hands):
    """Nothing is focused or clicked: what is used is reached by Tab, and within a few presses."""

    def arrive(self, heading: str) -> None:
        super().arrive(heading)
        self.press(self.page.get_by_role("link", name="Skip to the content"))

    def press(self, target: Locator) -> None:
        self.reach(target)
        self.page.keyboard.press("Enter")

    def write(self, target: Locator, text: str) -> None:
        self.reach(target)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)

    def reach(self, target: Locator, key: str = "Tab") -> None:
        for _ in range(MOST_TABS):
            self.page.keyboard.press(key)
            if target.evaluate("one => one === document.activeElement"):
                return
        raise AssertionError(f"{MOST_TABS} presses of {key} do not reach {target}")
