"""What holds for every page: whole markup, a label for each field, no code inside, and text stays text."""

import json
import re

import pytest
from django.contrib.auth.models import Permission
from django.db import transaction
from django.test import Client
from django.urls import reverse

from catalogue.core.document import Meter
from catalogue.usecases import maps
from catalogue.usecases.confirmations import confirm_with_text
from tests.addresses import addresses, demo_samples
from tests.factories import (
    DraftFactory,
    FailureReportFactory,
    MapRevisionFactory,
    ReviewFactory,
    UserFactory,
    WantedFactory,
)
from tests.pages.page import Page
from tests.pages.policy import breaches
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
    """The map of a document, with one failure report on its cable, a confirmation and a second revision."""
    row = maps.submit_map(author, as_json(document)).map
    other = {"cable": document["cable"] | {"summary": "Another."}, "marks": []}
    maps.submit_map(author, as_json(document | other))
    csv_text = "red,black,mode,value\nHOST:1,PLOTTER:1,beep,yes\n"
    confirm_with_text(UserFactory(username=HOSTILE_NAME), row, csv_text, Meter(), HOSTILE)
    section, net = document["sections"][0]["name"], document["nets"][0]["name"]
    FailureReportFactory(cable=row.cable, section=section, nets=[net], words=HOSTILE, note=HOSTILE, currency="<b>")
    return row


def every_page(client, row, author):
    """Every page there is, also as it answers to what cannot be."""
    reviewed = [f"/review/maps/{row.pk}/", f"/review/reports/{row.cable.failures.get().pk}/"]
    hidden = ReviewFactory(map__cable__maker=HOSTILE_NAME, withdrawn=True, reason=HOSTILE).map
    draft = DraftFactory(author=author, text=json.dumps(with_hostile_text(contradicted_usb_map()), indent=1))
    DraftFactory(author=author, unreadable=True)
    slug = row.cable.slug
    for address in (
        *("/", "/cables/", "/bench/", "/submit/", "/drafts/", "/rules/", "/no/such/page/"),
        *("/wanted/", "/which-cable/"),
        *("/account/", "/account/remove/", "/account/password/", "/account/sign-out/", "/account/password/lost/"),
        *("/review/", "/review/decisions/", *reviewed),
        f"/cables/?q={HOSTILE[:30]}&contacts=x",
        f"/cables/?q={HOSTILE[:30]}",
        "/cables/?q=scirpt+works+when+bent",
        reverse("rule", args=["net-split"]),
        reverse("cable", args=[slug]),
        reverse("map", args=[slug, row.number]),
        reverse("report", args=[slug]),
        reverse("diagnose", args=[slug]),
        f"{reverse('diagnose', args=[slug])}?readings=1",
        reverse("confirm", args=[slug, row.number]),
        reverse("bench-sheet", args=[slug, row.number]),
        reverse("map-difference", args=[slug, row.number, row.number + 1]),
        reverse("variants", args=[slug]),
        reverse("draft", args=[draft.pk]),
    ):
        yield address, client.get(address)
    yield "withdrawn", client.get(reverse("map", args=[hidden.cable.slug, hidden.number]))
    for address in ("/account/sign-in/", "/account/sign-up/"):
        yield address, Client().get(f"{address}?next=/submit/%22%3E%3Cimg%20src=x%3E")
        yield f"wrong {address}", Client().post(address, dict.fromkeys(("login", "username", "email", "next"), HOSTILE))
    yield "token", client.post("/account/tokens/", {"name": HOSTILE[:60], "days": "30"})
    yield "no token", client.post("/account/tokens/", {"name": HOSTILE, "days": HOSTILE})
    yield "kept account", client.post("/account/remove/", {"password": HOSTILE})
    yield "no decision", client.post(reviewed[0], {"decision": HOSTILE, "reason": HOSTILE, "seen": HOSTILE})
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
    one_row = {"rows-TOTAL_FORMS": "1", "rows-INITIAL_FORMS": "0"}
    names = ("rows-0-probes", "rows-0-shows", "table", "lead_ohms", "way", "near_pf", "worth_with", "mend-price")
    sent = one_row | dict.fromkeys(names, HOSTILE)
    yield "diagnose", client.post(reverse("diagnose", args=[slug]), sent)
    other = Client()
    other.force_login(UserFactory())
    sent = {"readings": f"red,black,mode,value\n{HOSTILE_NAME},HOST:1,beep,yes\n", "note": HOSTILE}
    yield "confirm", other.post(reverse("confirm", args=[slug, row.number]), sent)
    names = ("maker", "model", "device")
    yield "wanted", client.post("/wanted/", dict.fromkeys(names, HOSTILE))
    WantedFactory(**dict.fromkeys(names, HOSTILE[:80]))
    yield "wanted list", client.get("/wanted/")
    plug = {"plug-name": "PLUG", "plug-connector": "usb2-a", "readings": f"1 4 silent\n{HOSTILE}"}
    yield "which cable", client.post("/which-cable/", plug)
    yield "no cable", client.post("/which-cable/", dict.fromkeys((*plug, "plug-rows"), HOSTILE))
    alike = {"kind": "core-open", "ending": "mended", "symptoms": "no-power", "where": f"section:{HOSTILE_NAME}"}
    yield "report again", client.post(reverse("report", args=[slug]), alike)
    yield "report", client.post(reverse("report", args=[slug]), dict.fromkeys(fields, HOSTILE))


@pytest.fixture(scope="module")
def answers(django_db_setup, django_db_blocker):
    """Every answer, made once for all tests here, which only read it; nothing of it stays in the store."""
    with django_db_blocker.unblock(), transaction.atomic():
        author, client = UserFactory(), Client()
        client.force_login(author)
        author.user_permissions.add(Permission.objects.get(codename="review"))
        row = stored(UserFactory(), with_hostile_text(usb_map()))
        ReviewFactory(map=row, queried=True, reason=HOSTILE)
        MapRevisionFactory(author=author, cable__maker=HOSTILE_NAME)
        yield dict(every_page(client, row, author))
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def pages(answers):
    return {name: Page(answer) for name, answer in answers.items()}


def test_markup_that_people_write_is_shown_as_text_and_never_becomes_part_of_a_page(answers, pages):
    for name, page in pages.items():
        assert not page.all("img"), name
        assert breaches(answers[name]) == [], name


def test_what_people_wrote_is_there_to_the_letter(pages):
    cable = next(page for name, page in pages.items() if re.fullmatch(r"/cables/[^/?]+/maps/1/", name))
    assert HOSTILE in cable.text
    assert HOSTILE_NAME in cable.text
    assert pages["no document check"].value("text") == HOSTILE
    assert pages["readings check"].value("summary") == HOSTILE
    assert pages["report"].value("note") == HOSTILE
    assert HOSTILE in pages["withdrawn"].text
    assert HOSTILE in pages["/review/decisions/"].text
    assert pages["no decision"].value("reason") == HOSTILE


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


def test_no_address_answers_with_code_of_its_own_or_allows_foreign_code():
    author, samples = demo_samples()
    reviewer = Client()
    reviewer.force_login(author)
    seen = 0
    for address in addresses(samples):
        for client in (reviewer, Client()):
            answer = client.get(address)
            if answer.get("Content-Type", "").startswith("text/html") and answer.content:
                seen += 1
                assert breaches(answer) == [], address
    assert seen >= 50


def test_no_page_is_heavy_beside_its_drawings(answers):
    for name, answer in answers.items():
        beside = re.sub(r"<svg[^>]*role=\"img\".*?</svg>", "", answer.content.decode(), flags=re.DOTALL)
        assert len(beside.encode()) <= 200 * 1024, name
