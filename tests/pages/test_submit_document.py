"""Submitting a map document: check it, see what is wrong on which line, correct it, and have it stored."""

import json
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from catalogue.models import Draft, MapRevision
from tests.factories import PASSWORD, DraftFactory
from tests.pages.page import Page
from tests.samples import contradicted_usb_map, usb_map

pytestmark = pytest.mark.django_db

SUBMIT = "/submit/"


def text_of(document):
    """A document as somebody typed it: one line for each field, and for each entry of a list."""
    lines = []
    for name, value in document.items():
        if isinstance(value, list):
            entries = ",\n".join(f"  {json.dumps(entry)}" for entry in value)
            lines.append(f'"{name}": [\n{entries}\n]')
        else:
            lines.append(f'"{name}": {json.dumps(value)}')
    return "{\n" + ",\n".join(lines) + "\n}"


def send(client, text, act, **more):
    return client.post(SUBMIT, {"way": "document", "act": act, "text": text, **more})


def line_of(text, piece):
    """The number of the one line that holds a piece."""
    numbers = [number for number, line in enumerate(text.split("\n"), 1) if piece in line]
    assert len(numbers) == 1
    return numbers[0]


def test_anybody_can_check_a_map_and_nothing_is_stored(visitor, django_assert_num_queries):
    with django_assert_num_queries(0):
        answer = send(visitor, text_of(usb_map()), "check")
    assert answer.status_code == 200
    assert "This map can be submitted" in Page(answer).one("section", id="result").text


def test_a_finding_leads_to_the_lines_it_speaks_of(visitor):
    text = text_of(contradicted_usb_map())
    page = Page(send(visitor, text, "check"))

    assert "This map would be refused" in page.text
    again, first = line_of(text, '"id": "r6"'), line_of(text, '"id": "r1"')
    marked = page.marked_lines()
    assert '"id": "r6"' in marked[again]
    assert '"id": "r1"' in marked[first]
    finding = next(item for item in page.all("li") if item.text.startswith("r6 shows"))
    links = [link.attributes["href"] for link in page.all("a") if finding in link.above]
    assert links == [f"#line-{again}", f"#line-{first}", reverse("rule", args=["readings-contradict"])]
    assert page.one("li", id=f"line-{again}")


def test_the_proof_of_a_contradiction_is_told_step_by_step(visitor):
    page = Page(send(visitor, text_of(contradicted_usb_map()), "check"))
    proofs = [item.text for item in page.all("details", class_="witness")]
    assert any("Reading r1: HOST:1 to PLOTTER:1 is at most" in proof for proof in proofs)


def test_what_cannot_be_read_is_told_with_its_line_and_what_to_do(visitor):
    document = usb_map()
    document["nets"][1]["role"] = "supply"
    del document["ends"][0]["connector"]
    text = text_of(document)
    page = Page(send(visitor, text, "check"))

    defects = {item.text for item in page.one("ul", class_="defects").above and page.all("li")}
    role, end = line_of(text, '"role": "supply"'), line_of(text, '{"name": "HOST"}')
    assert any(defect.startswith(f"Line {role}: ") and "supply" in defect for defect in defects)
    assert any(defect.startswith(f"Line {end}: ") and "connector" in defect for defect in defects)
    assert {role, end} <= page.marked_lines().keys()


def test_a_slip_in_the_json_is_shown_on_its_line(visitor):
    text = text_of(usb_map()).replace('"cable": {', '"cable": {,')
    page = Page(send(visitor, text, "check"))
    assert f"#line-{line_of(text, '{,')}" in page.links
    assert page.value("text") == text


def test_the_text_comes_back_exactly_as_typed(visitor):
    text = '\n\n  {"format": "corelore.map/1", <b>&amp;</b> "Ω": "\u202e"}\t'
    assert Page(send(visitor, text.replace("\n", "\r\n"), "check")).value("text") == text


def test_a_file_takes_the_place_of_the_text_and_is_there_to_correct(visitor):
    text = text_of(contradicted_usb_map())
    file = SimpleUploadedFile("map.json", text.encode(), "application/json")
    page = Page(send(visitor, "something else", "check", file=file))
    assert page.value("text") == text
    assert "This map would be refused" in page.text


def test_a_file_far_too_large_is_refused_unread_and_the_text_stays(visitor, settings):
    settings.DOCUMENT_BYTES = 1000
    file = SimpleUploadedFile("map.json", b" " * 1001, "application/json")
    answer = send(visitor, "what I typed", "check", file=file)
    page = Page(answer)
    assert answer.status_code == 422
    assert "at most" in page.one("div", id="id_file_error").text
    assert page.value("text") == "what I typed"


def test_a_good_map_is_stored_and_its_page_shown(signed_in, mira):
    answer = send(signed_in, text_of(usb_map()), "submit")
    row = MapRevision.objects.get()
    assert row.author == mira
    assert (answer.status_code, answer["Location"]) == (302, reverse("map", args=[row.cable.slug, 1]))
    assert "The map is stored" in Page(signed_in.get(answer["Location"])).text


def test_the_same_map_again_is_shown_and_not_stored_twice(signed_in):
    send(signed_in, text_of(usb_map()), "submit")
    answer = send(signed_in, text_of(usb_map()), "submit")
    assert "here already" in Page(signed_in.get(answer["Location"])).text
    assert MapRevision.objects.count() == 1


def test_a_refused_map_is_kept_as_a_draft_that_is_linked(signed_in):
    text = text_of(contradicted_usb_map())
    answer = send(signed_in, text, "submit")
    page, draft = Page(answer), Draft.objects.get()
    assert answer.status_code == 422
    assert page.link("your draft") == reverse("draft", args=[draft.pk])
    assert page.value("text") == draft.text == text
    assert not MapRevision.objects.exists()


def test_a_text_that_is_no_map_is_kept_as_a_draft_too(signed_in):
    answer = send(signed_in, "notes, not yet a map", "submit")
    page = Page(answer)
    assert answer.status_code == 422
    assert page.link("your draft") == reverse("draft", args=[Draft.objects.get().pk])
    assert page.value("text") == "notes, not yet a map"


def corrected(page):
    """What a page says of the draft that is corrected on it."""
    return {name: page.value(name) for name in ("draft", "draft_version")}


def test_correcting_a_refused_map_step_by_step_leaves_no_pile_of_drafts(signed_in):
    page = Page(send(signed_in, "no map", "submit"))
    page = Page(send(signed_in, text_of(contradicted_usb_map()), "submit", **corrected(page)))
    assert [draft.text for draft in Draft.objects.all()] == [text_of(contradicted_usb_map())]

    page = Page(send(signed_in, text_of(contradicted_usb_map()), "submit", **corrected(page)))
    assert Draft.objects.count() == 1

    page = Page(send(signed_in, text_of(usb_map()), "check", **corrected(page)))
    assert Draft.objects.count() == 1

    send(signed_in, text_of(usb_map()), "submit", **corrected(page))
    assert not Draft.objects.exists()
    assert MapRevision.objects.count() == 1


@pytest.mark.parametrize("draft", ["x", "-3", "9" * 400, ""])
def test_a_draft_that_is_none_is_no_hindrance(signed_in, draft):
    assert send(signed_in, text_of(usb_map()), "submit", draft=draft).status_code == 302


def test_nobody_replaces_the_draft_of_another(signed_in):
    theirs = DraftFactory()
    send(signed_in, text_of(usb_map()), "submit", draft=theirs.pk)
    assert Draft.objects.get() == theirs


def test_what_was_written_before_signing_in_is_there_afterwards(visitor, mira):
    text = text_of(usb_map())
    answer = send(visitor, text, "submit")
    assert answer["Location"] == f"{reverse('sign-in')}?next=%2Fsubmit%2F"
    assert "What you wrote is kept" in Page(visitor.get(answer["Location"])).text

    who = {"login": "mira", "password": PASSWORD, "next": SUBMIT}
    page = Page(visitor.post(reverse("sign-in"), who, follow=True))
    assert "Here is what you wrote before you signed in" in page.text
    assert page.value("text") == text
    assert not MapRevision.objects.exists()

    send(visitor, page.value("text"), "submit")
    assert MapRevision.objects.count() == 1
    assert Page(visitor.get(SUBMIT)).value("text") == ""


def test_what_was_kept_can_be_thrown_away(visitor):
    send(visitor, "no map", "submit")
    assert Page(visitor.get(SUBMIT)).value("text") == "no map"
    visitor.post(SUBMIT, {"act": "discard"})
    assert Page(visitor.get(SUBMIT)).value("text") == ""


def test_of_a_document_near_the_limit_only_the_lines_concerned_are_shown(visitor):
    document = contradicted_usb_map()
    filler = {"mode": "beep", "red": "HOST:3", "black": "PLOTTER:3", "beeps": True, "note": "again " * 60}
    document["readings"] += [{"id": f"x{number}", **filler} for number in range(4000)]
    text = text_of(document)
    assert 1.7e6 < len(text) < 2 * 1024 * 1024

    page = Page(send(visitor, text, "check"))
    assert page.value("text") == text
    beside_the_text = re.sub(r"<textarea name=\"text\".*?</textarea>", "", page.source, flags=re.DOTALL)
    assert len(beside_the_text) < 50_000
    assert line_of(text, '"id": "r6"') in page.marked_lines()


def test_a_document_over_the_limit_is_said_to_be_and_kept_in_the_form(signed_in, settings):
    settings.DOCUMENT_BYTES = 1000
    text = text_of(usb_map())
    answer = send(signed_in, text, "submit")
    page = Page(answer)
    assert answer.status_code == 422
    assert "at most 1,000 are read" in page.text
    assert page.value("text") == text
    assert not Draft.objects.exists()
