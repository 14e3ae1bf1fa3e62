"""What holds for every page: whole markup, a label for each field, no code inside, and text stays text."""

import json
import re

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from catalogue.usecases import maps
from tests.factories import DraftFactory, FailureReportFactory, UserFactory
from tests.pages.page import Page
from tests.samples import as_json, contradicted_usb_map, usb_map

pytestmark = pytest.mark.django_db

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{ 7|add:7 }}&lt;b&gt;</textarea>"
HOSTILE_NAME = "<b>\"'>&amp;{{7}}</td>"


def with_hostile_text(document):
    """The document with markup in every place where people write freely."""
    document["cable"] |= {
        "maker": HOSTILE[:80].strip(),
        "model": HOSTILE[-80:].strip(),
        "revision": HOSTILE_NAME[:24],
        "devices": [HOSTILE[:60]],
        "summary": HOSTILE,
    }
    document["nets"][0]["name"] = HOSTILE_NAME
    document["cores"][0] |= {"name": "<i>k1", "net": HOSTILE_NAME, "bundle": HOSTILE_NAME}
    document["sections"][0]["name"] = HOSTILE_NAME
    for core in document["cores"]:
        core["section"] = HOSTILE_NAME
    document["marks"] = [{"kind": "kink", "section": HOSTILE_NAME, "at_m": 1.0, "note": HOSTILE}]
    document["readings"][0]["note"] = HOSTILE
    return document


def stored(author, document):
    """The map of a document, with one failure report on its cable."""
    row = maps.submit_map(author, as_json(document)).map
    section, net = document["sections"][0]["name"], document["nets"][0]["name"]
    FailureReportFactory(cable=row.cable, section=section, nets=[net], words=HOSTILE, note=HOSTILE, currency="<b>")
    return row


def every_page(client, row, author):
    """Every page there is, also as it answers to what cannot be."""
    draft = DraftFactory(author=author, text=json.dumps(with_hostile_text(contradicted_usb_map()), indent=1))
    DraftFactory(author=author, unreadable=True)
    slug = row.cable.slug
    for address in (
        *("/", "/cables/", "/submit/", "/drafts/", "/rules/", "/account/sign-in/", "/no/such/page/"),
        f"/cables/?q={HOSTILE[:30]}&contacts=x",
        reverse("rule", args=["net-split"]),
        reverse("cable", args=[slug]),
        reverse("map", args=[slug, row.number]),
        reverse("report", args=[slug]),
        reverse("draft", args=[draft.pk]),
    ):
        yield address, client.get(address)
    hostile = json.dumps(with_hostile_text(contradicted_usb_map()), indent=1)
    for act in ("check", "submit"):
        yield f"document {act}", client.post("/submit/", {"way": "document", "act": act, "text": hostile})
        yield f"no document {act}", client.post("/submit/", {"way": "document", "act": act, "text": HOSTILE})
    readings = {"way": "readings", "form-TOTAL_FORMS": "1", "form-INITIAL_FORMS": "0", "form-0-form": "plug"}
    names = ("maker", "model", "revision", "devices", "summary", "readings", "lead_ohms")
    names += ("form-0-name", "form-0-connector", "form-0-rows")
    for act in ("check", "submit", "more-ends"):
        sent = readings | dict.fromkeys(names, HOSTILE) | {"act": act}
        yield f"readings {act}", client.post("/submit/", sent)
    fields = (
        "kind",
        "ending",
        "symptoms",
        "words",
        "where",
        "at_m",
        "cause",
        "hours",
        "cost",
        "currency",
        "note",
    )
    yield "report", client.post(reverse("report", args=[slug]), dict.fromkeys(fields, HOSTILE))


@pytest.fixture(scope="module")
def answers(django_db_setup, django_db_blocker):
    """Every answer, made once for all tests here, which only read it; nothing of it stays in the store."""
    with django_db_blocker.unblock(), transaction.atomic():
        author, client = UserFactory(), Client()
        client.force_login(author)
        row = stored(author, with_hostile_text(usb_map()))
        yield dict(every_page(client, row, author))
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def pages(answers):
    return {name: Page(answer) for name, answer in answers.items()}


def test_markup_that_people_write_is_shown_as_text_and_never_becomes_part_of_a_page(pages):
    for name, page in pages.items():
        assert not page.all("img"), name
        scripts = page.all("script")
        assert all(script.attributes["src"].startswith("/static/corelore/") for script in scripts), name
        assert not any(attribute.startswith("on") for e in page.elements for attribute in e.attributes), name
        assert not any("javascript:" in value for e in page.elements for value in e.attributes.values()), name


def test_what_people_wrote_is_there_to_the_letter(pages):
    cable = next(page for name, page in pages.items() if re.fullmatch(r"/cables/[^/?]+/", name))
    assert HOSTILE in cable.text
    assert HOSTILE_NAME in cable.text
    assert pages["no document check"].value("text") == HOSTILE
    assert pages["readings check"].value("summary") == HOSTILE
    assert pages["report"].value("note") == HOSTILE


def test_no_page_holds_style_or_script_of_its_own(pages):
    for name, page in pages.items():
        assert not page.all("style"), name
        assert not any("style" in element.attributes for element in page.elements), name
        assert all(not script.raw_text.strip() for script in page.all("script")), name


def test_every_page_has_a_title_one_heading_and_unlike_ids(pages):
    for name, page in pages.items():
        assert page.all("title")[0].text, name
        assert len(page.all("h1")) == 1, name
        ids = [element.attributes["id"] for element in page.elements if "id" in element.attributes]
        assert sorted(ids) == sorted(set(ids)), name


def test_every_field_has_a_label_and_every_description_is_there(pages):
    for name, page in pages.items():
        labelled = {label.attributes["for"] for label in page.all("label") if "for" in label.attributes}
        ids = {element.attributes["id"] for element in page.elements if "id" in element.attributes}
        for element in page.elements:
            kind = element.attributes.get("type")
            if element.tag in ("input", "select", "textarea") and kind not in ("hidden", "submit"):
                assert element.attributes["id"] in labelled, (name, element.attributes)
            described = element.attributes.get("aria-describedby", "").split()
            assert set(described) <= ids, (name, described)
            heading = element.attributes.get("aria-labelledby", "").split()
            assert set(heading) <= ids, (name, heading)


def test_every_form_that_changes_something_carries_the_token_against_forgery(pages):
    for name, page in pages.items():
        for form in page.all("form", method="post"):
            tokens = [e for e in page.all("input", name="csrfmiddlewaretoken") if form in e.above]
            assert len(tokens) == 1, name


def test_every_page_forbids_foreign_and_inline_code(answers):
    for name, answer in answers.items():
        policy = answer["Content-Security-Policy"]
        assert "default-src 'none'" in policy, name
        assert "script-src 'self'" in policy, name
        assert "style-src 'self'" in policy, name
        assert "unsafe" not in policy, name


def test_no_page_is_heavy_beside_its_drawings(answers):
    for name, answer in answers.items():
        beside = re.sub(r"<svg[^>]*role=\"img\".*?</svg>", "", answer.content.decode(), flags=re.DOTALL)
        assert len(beside.encode()) <= 200 * 1024, name
