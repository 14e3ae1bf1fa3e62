"""The page about the API with everything on it opened."""

import pytest

from tests.browser.conftest import barriers, overflow

pytestmark = pytest.mark.any_store


@pytest.mark.parametrize(("width", "scheme"), [(360, "dark"), (1280, "light")])
def test_all_that_can_be_opened_is_fit_for_all_senses_and_never_too_wide(device, transactional_db, width, scheme):
    page = device(width, scheme).visit("/api/v1/")
    assert page.locator("details[open]").count() == 0
    page.get_by_text("Submit it, safely in Python").focus()
    page.keyboard.press("Enter")
    assert page.get_by_role("region", name="Submit it, safely, Python").is_visible()
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
    assert barriers(page) == []
    assert overflow(page) == 0
