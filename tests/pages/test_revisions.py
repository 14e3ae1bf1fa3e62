"""What changed between two revisions of a map, as a page."""

import pytest
from django.urls import reverse

from catalogue.usecases import maps
from tests.pages.page import Page
from tests.samples import as_json, usb_map, usb_map_with_reading

pytestmark = pytest.mark.django_db

MORE = {"id": "r6", "mode": "beep", "red": "HOST:1", "black": "PLOTTER:1", "beeps": True}


@pytest.fixture
def first(mira):
    return maps.submit_map(mira, as_json(usb_map())).map


def page_of(client, row, before, after):
    return Page(client.get(reverse("map-difference", args=[row.cable.slug, before, after])))


def test_changes_are_told_in_words_and_signs(visitor, mira, first):
    document = usb_map_with_reading(**MORE)
    document["sections"][0]["length_m"] = 7.5
    document["cores"][0]["colour"] = ["VT"]
    document["marks"] = [{"kind": "kink", "section": document["sections"][0]["name"], "at_m": 1.0}]
    maps.submit_map(mira, as_json(document))
    page = page_of(visitor, first, 1, 2)
    rows = [row.text for row in page.all("tr")]
    section, core = document["sections"][0]["name"], document["cores"][0]["name"]
    assert any(row.startswith(f"Section {section} ≠ changed length: ") and row.endswith("→ 7.5 m") for row in rows)
    assert any(row.startswith(f"Core {core} ≠ changed colour: ") and row.endswith("→ VT") for row in rows)
    assert f"Mark + added kind: kink section: {section} at: 1 m" in rows
    assert "1 reading added, 0 removed." in page.text
    assert reverse("map-difference", args=[first.cable.slug, 2, 1]) in page.links
    back = [row.text for row in page_of(visitor, first, 2, 1).all("tr")]
    assert f"Mark − removed kind: kink section: {section} at: 1 m" in back


def test_ohms_too_many_to_count_are_told_in_megohms(visitor, mira, first):
    maps.submit_map(mira, as_json(usb_map(meter={"range_ohms": 6e7, "lead_ohms": 0.1})))
    page = Page(visitor.get(reverse("map-difference", args=[first.cable.slug, 1, 2])))
    assert "range: 40 MΩ → 60 MΩ" in page.text
    assert "probes held together: 0.2 Ω → 0.1 Ω" in page.text


def test_a_contact_that_moved_is_told_with_both_nets(visitor, mira, first):
    document = usb_map(readings=[])
    moved = document["nets"][0]["contacts"].pop()
    maps.submit_map(mira, as_json(document))
    rows = [row.text for row in page_of(visitor, first, 1, 2).all("tr")]
    assert f"{moved} {document['nets'][0]['name']} in no net" in rows


def test_a_revision_against_itself_says_the_same(visitor, first):
    assert "The two say the same" in page_of(visitor, first, 1, 1).text


def test_the_page_of_a_cable_leads_to_what_changed(visitor, mira, first):
    maps.submit_map(mira, as_json(usb_map_with_reading(**MORE)))
    page = Page(visitor.get(reverse("cable", args=[first.cable.slug])))
    assert reverse("map-difference", args=[first.cable.slug, 1, 2]) in page.links


def test_a_revision_that_is_none_is_said_not_to_be(visitor, first):
    for numbers in ((1, 9), (9, 1)):
        answer = visitor.get(reverse("map-difference", args=[first.cable.slug, *numbers]))
        assert answer.status_code == 404
        assert "no map revision 9" in Page(answer).text


def test_the_page_takes_few_statements(visitor, mira, first, django_assert_num_queries):
    maps.submit_map(mira, as_json(usb_map_with_reading(**MORE)))
    with django_assert_num_queries(3):
        page_of(visitor, first, 1, 2)
