"""What a word of the trade means is told on a page of its own, and beside the word where it is met."""

import pytest
from django.urls import reverse
from django.utils.text import slugify

from catalogue.core.glossary import MEANINGS
from catalogue.usecases import maps
from tests.pages.page import Page
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db


def test_every_word_stands_on_the_page_of_words_in_order_and_can_be_linked_to(visitor):
    page = Page(visitor.get(reverse("words")))
    words = page.all("dt")
    assert [word.text.casefold() for word in words] == sorted(MEANINGS)
    assert [word.attributes["id"] for word in words] == [slugify(word) for word in sorted(MEANINGS)]
    assert [each.text for each in page.all("dd")] == [MEANINGS[word] for word in sorted(MEANINGS)]


def test_the_words_are_linked_from_every_page(visitor):
    assert Page(visitor.get("/")).link("What the words mean") == reverse("words")


def test_a_cable_tells_its_words_where_they_are_met(visitor, mira):
    row = maps.submit_map(mira, as_json(usb_map())).map
    page = Page(visitor.get(reverse("cable", args=[row.cable.slug])))
    told = {element.attributes["id"]: element for element in page.elements if "popover" in element.attributes}
    asked = [button.attributes["popovertarget"] for button in page.all("button", class_="meaning")]
    assert sorted(asked) == sorted(told)
    assert MEANINGS["net"] in told["means-net"].text
    assert {"means-net", "means-section", "means-finding", "means-extra-low-voltage"} <= set(told)
