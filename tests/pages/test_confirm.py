"""Another person confirms a map on a page, and sees what everybody's readings come to."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from catalogue.models import Confirmation
from catalogue.usecases import maps
from tests.factories import UserFactory
from tests.pages.page import Page
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db

HEADER = "red,black,mode,value,unit\n"
AGREEING = HEADER + "".join(f"HOST:{n},PLOTTER:{n},beep,yes,\n" for n in range(1, 5))
DIFFERING = HEADER + "HOST:1,PLOTTER:1,ohms,OL,\n"


@pytest.fixture
def row(mira):
    return maps.submit_map(mira, as_json(usb_map())).map


@pytest.fixture
def address(row):
    return reverse("confirm", args=[row.cable.slug, row.number])


@pytest.fixture
def other(db):
    client = Client()
    client.force_login(UserFactory(username="noor"))
    return client


def test_readings_that_agree_confirm_the_map(other, address, row):
    answer = other.post(address, {"readings": AGREEING, "note": "Mine is older."}, follow=True)
    page = Page(answer)
    assert "Thank you. Your readings tested 4 of 4 nets, and confirm the map." in page.text
    assert "noor" in page.text
    assert "agrees with the map; 4 of 4 nets tested" in page.text
    assert "Mine is older." in page.text
    assert Confirmation.objects.get().map == row


def test_readings_are_taken_as_they_are_jotted_down_beside_the_meter(other, address):
    page = Page(other.post(address, {"readings": "HOST:1 PLOTTER:1 beeps\nHOST:2 PLOTTER:2 wobbles\n"}))
    assert "line 2" in page.text
    assert not Confirmation.objects.exists()
    jotted = "HOST:1 PLOTTER:1 beeps\nHOST:2 PLOTTER:2 0.5 ohm\nHOST:1 PLOTTER:2 PLOTTER:3 silent"
    other.post(address, {"readings": jotted})
    assert len(Confirmation.objects.get().readings) == 3
    assert Confirmation.objects.get().outcome == "agrees"


def test_a_file_takes_the_place_of_what_is_pasted(other, address):
    upload = SimpleUploadedFile("readings.csv", AGREEING.encode(), "text/csv")
    other.post(address, {"readings": DIFFERING, "readings_file": upload})
    assert Confirmation.objects.get().outcome == "agrees"


def test_readings_that_differ_are_kept_and_shown_with_where(other, address, row):
    page = Page(other.post(address, {"readings": DIFFERING}, follow=True))
    assert "differ from the map; below is where" in page.text
    finding = Confirmation.objects.get().report["findings"][0]["message"]
    assert finding in page.text
    variants = Page(other.get(reverse("variants", args=[row.cable.slug])))
    assert "2 variants." in variants.text
    assert "HOST:1 and PLOTTER:1" in variants.text


def test_what_is_sent_again_counts_and_what_was_sent_before_is_kept(other, address):
    other.post(address, {"readings": DIFFERING, "note": "of a cable that was mended"})
    first = Confirmation.objects.get()
    other.post(address, {"readings": AGREEING})
    page = Page(other.post(address, {"readings": AGREEING}, follow=True))
    assert Confirmation.objects.get().outcome == "agrees"
    (before,) = Confirmation.objects.get().earlier.all()
    assert (before.told["readings"], before.told_at) == (first.readings, first.created_at)
    (told,) = (each.text for each in page.all("details") if "sent before" in each.text)
    assert "differs from the map" in told
    assert "of a cable that was mended" in told
    (own,) = other.get(reverse("own-data")).json()["confirmations"]
    assert own["earlier"][0]["readings"] == first.readings


def test_lines_that_cannot_be_read_are_named_and_the_rest_sent_when_asked(other, address):
    text = AGREEING + "HOST:1,PLOTTER:1,smell,yes,\n"
    refused = other.post(address, {"readings": text})
    page = Page(refused)
    assert refused.status_code == 422
    assert "line 6" in page.text
    assert page.value("readings") == text
    assert not Confirmation.objects.exists()
    other.post(address, {"readings": text, "act": "send-good-rows"})
    assert len(Confirmation.objects.get().readings) == 4


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"readings": ""}, "red"),
        ({"readings": HEADER}, "There is no reading in this."),
        ({"readings": HEADER + "HOST:99,PLOTTER:1,beep,yes,\n"}, "line 2"),
        ({"readings": AGREEING, "note": "a\u202eb"}, "cannot be shown"),
        ({"readings": AGREEING, "lead_ohms": "much"}, "Enter a number."),
        ({"readings": "\x00\x01,,,\n" * 50}, "Nothing"),
        ({"readings": AGREEING + ("x" * 100 + "\n") * 22_000}, "bytes"),
    ],
)
def test_what_cannot_be_kept_is_told_and_changes_nothing(other, address, sent, said):
    answer = other.post(address, sent)
    assert answer.status_code == 422
    assert said in Page(answer).text
    assert not Confirmation.objects.exists()


def test_who_is_not_signed_in_is_asked_to_and_finds_the_readings_again(visitor, address):
    answer = visitor.post(address, {"readings": AGREEING, "note": "Kept."})
    assert answer.status_code == 302
    assert reverse("sign-in") in answer["Location"]
    assert not Confirmation.objects.exists()
    visitor.force_login(UserFactory())
    page = Page(visitor.get(address))
    assert page.value("readings") == AGREEING
    assert page.value("note") == "Kept."
    assert "Nothing is stored yet" in page.text


def test_the_author_may_not_confirm_their_own_map(signed_in, address):
    assert "This map is your own" in Page(signed_in.get(address)).text
    answer = signed_in.post(address, {"readings": AGREEING})
    assert answer.status_code == 422
    assert not Confirmation.objects.exists()


def test_a_map_nobody_confirmed_says_so_and_leads_to_the_form(visitor, row, address):
    page = Page(visitor.get(reverse("cable", args=[row.cable.slug])))
    assert "It is one person’s claim" in page.text
    assert address in page.links


def test_one_variant_is_called_one(visitor, row):
    assert "One variant." in Page(visitor.get(reverse("variants", args=[row.cable.slug]))).text


def test_the_form_shows_how_readings_of_this_cable_are_written(visitor, address):
    page = Page(visitor.get(address))
    assert page.one("pre").text == "HOST:1 PLOTTER:1 0.6 ohm HOST:2 PLOTTER:2 beeps HOST:3 PLOTTER:3 silent"


def test_the_bench_sheet_stands_on_a_page_to_print(visitor, row):
    page = Page(visitor.get(reverse("bench-sheet", args=[row.cable.slug, row.number])))
    sheets = page.all("div", class_="paper")
    assert sheets
    assert "Before you begin" in sheets[0].text
    address = reverse("api-drawing", args=[row.pk, "bench-sheet", "pdf"])
    assert {f"{address}?page={number}" for number in range(1, len(sheets) + 1)} <= set(page.links)


@pytest.mark.parametrize("page", ["confirm/", "bench-sheet/"])
def test_a_map_that_is_none_is_said_not_to_be(visitor, row, page):
    answer = visitor.get(f"/cables/{row.cable.slug}/maps/9/{page}")
    assert answer.status_code == 404
