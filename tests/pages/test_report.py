"""Reporting a failure: from the cable's own places, in words to tick, with every slip told at its field."""

import pytest
from django.test import Client
from django.urls import reverse

from catalogue.core.failures import Cause, Ending, FailureKind, Remedy, Symptom
from catalogue.models import FailureReport
from catalogue.usecases import maps
from tests.factories import PASSWORD, CableFactory, UserFactory
from tests.pages.page import Page
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db


@pytest.fixture
def cable(mira):
    return maps.submit_map(mira, as_json(usb_map())).map.cable


@pytest.fixture
def address(cable):
    return reverse("report", args=[cable.slug])


SHORTEST = {"kind": "core-open", "ending": "mended", "where": "", "cause": "unknown"}
FULL = {
    "kind": "core-open",
    "ending": "mended",
    "symptoms": ["no-power", "cuts-out-when-moved"],
    "words": "It went dark when I moved.",
    "where": "section:main",
    "at_m": "1.35",
    "nets": ["VBUS", "GND"],
    "cause": "kink",
    "tried": ["cut-and-spliced", "new-strain-relief"],
    "hours": "1.5",
    "cost": "4.20",
    "currency": "eur",
    "note": "Open it from the host side.\r\nMind the screen.",
}


def errors(page, field):
    return page.one("div", id=f"id_{field}_error").text


def ticked(page, name):
    return {box.attributes["value"] for box in page.all("input", name=name) if "checked" in box.attributes}


def test_a_full_report_is_stored_as_it_was_told(signed_in, mira, cable, address):
    answer = signed_in.post(address, FULL)
    assert (answer.status_code, answer["Location"]) == (302, reverse("cable", args=[cable.slug]))
    row = FailureReport.objects.get()
    assert (row.reporter, row.cable, row.section, row.place, row.at_m) == (mira, cable, "main", "", 1.35)
    assert (row.kind, row.ending, row.cause) == (FailureKind.CORE_OPEN, Ending.MENDED, Cause.KINK)
    assert row.symptoms == [Symptom.NO_POWER, Symptom.CUTS_OUT_WHEN_MOVED]
    assert row.tried == [Remedy.CUT_AND_SPLICED, Remedy.NEW_STRAIN_RELIEF]
    assert (row.hours, str(row.cost), row.currency, row.nets) == (1.5, "4.20", "EUR", ["VBUS", "GND"])
    assert row.note == "Open it from the host side.\nMind the screen."
    assert "1.35 m" in Page(signed_in.get(answer["Location"])).text


@pytest.mark.parametrize(("typed", "at_m"), [("1,35", 1.35), (" 1.35 ", 1.35), ("0", 0.0)])
def test_metres_are_read_with_point_or_comma(signed_in, address, typed, at_m):
    signed_in.post(address, FULL | {"at_m": typed})
    assert FailureReport.objects.get().at_m == at_m


def test_two_answers_are_enough(signed_in, address):
    assert signed_in.post(address, SHORTEST).status_code == 302
    assert FailureReport.objects.count() == 1


def test_without_them_the_two_questions_are_marked_and_all_else_stays(signed_in, address):
    answer = signed_in.post(address, FULL | {"kind": "", "ending": ""})
    page = Page(answer)
    assert answer.status_code == 422
    assert "Choose what had failed" in errors(page, "kind")
    assert "Choose how it ended" in errors(page, "ending")
    assert page.value("words") == FULL["words"]
    assert ticked(page, "symptoms") == {"no-power", "cuts-out-when-moved"}
    assert not FailureReport.objects.exists()


def test_the_places_offered_are_those_of_the_cable(signed_in, address):
    offered = {option.attributes["value"]: option.text for option in Page(signed_in.get(address)).all("option")}
    assert offered["section:main"] == "main, metres from HOST, 1.8 m"
    assert {"", "place:HOST", "place:PLOTTER"} <= offered.keys()


def test_every_word_that_a_report_can_be_told_in_is_offered(signed_in, address):
    page = Page(signed_in.get(address))
    for name, words in (("kind", FailureKind), ("ending", Ending), ("symptoms", Symptom), ("tried", Remedy)):
        assert [box.attributes["value"] for box in page.all("input", name=name)] == list(words)


def test_a_place_beyond_the_cable_is_told_at_the_metres(signed_in, address):
    page = Page(signed_in.post(address, FULL | {"at_m": "2.5"}))
    assert "0 to 1.8 m" in errors(page, "at_m")
    assert page.value("at_m") == "2.5"


def test_metres_at_an_end_are_told_at_the_metres(signed_in, address):
    page = Page(signed_in.post(address, FULL | {"where": "place:HOST"}))
    assert "Metres are told along a section" in errors(page, "at_m")


def test_a_failure_at_an_end_is_stored_there(signed_in, address):
    signed_in.post(address, SHORTEST | {"where": "place:PLOTTER"})
    assert FailureReport.objects.get().place == "PLOTTER"


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("currency", "", "Write the currency of the cost"),
        ("currency", "12", "three letters"),
        ("hours", "-1", "greater than or equal to 0"),
        ("hours", "two", "Enter a number"),
        ("hours", "nan", "Enter a number"),
        ("cost", "1,200", "no more than 2 decimal places"),
        ("at_m", "near the plug", "Enter a number"),
        ("words", "a\0b", "Null characters"),
        ("where", "section:nowhere", "not one of the available choices"),
        ("nets", ["VBUS", "NONE"], "not one of the available choices"),
        ("note", "a\u202eb", "U+202E"),
        ("words", "x" * 501, "at most 500"),
    ],
)
def test_a_slip_is_told_at_its_field(signed_in, address, field, value, told):
    answer = signed_in.post(address, FULL | {field: value})
    assert answer.status_code == 422
    assert told in errors(Page(answer), field)
    assert not FailureReport.objects.exists()


def test_what_was_written_before_signing_in_is_there_afterwards(visitor, mira, address):
    answer = visitor.post(address, FULL)
    who = {"login": "mira", "password": PASSWORD, "next": address}
    assert answer["Location"].startswith(reverse("sign-in"))
    page = Page(visitor.post(reverse("sign-in"), who, follow=True))
    assert "Here is what you wrote before you signed in" in page.text
    assert page.value("words") == FULL["words"]
    assert ticked(page, "symptoms") == set(FULL["symptoms"])
    assert ticked(page, "tried") == set(FULL["tried"])
    assert ticked(page, "nets") == set(FULL["nets"])
    assert ticked(page, "kind") == {"core-open"}
    assert page.one("option", value="section:main", selected="")
    assert not page.all("div", class_="errors")

    visitor.post(address, FULL)
    assert FailureReport.objects.count() == 1
    assert Page(visitor.get(address)).value("words") == ""


def test_a_cable_without_a_map_asks_for_the_map_first(signed_in):
    page = Page(signed_in.get(reverse("report", args=[CableFactory().slug])))
    assert "This cable has no map yet" in page.text
    assert not page.all("form", class_="sheet")


def test_a_cable_that_is_none_is_said_not_to_be(signed_in):
    answer = signed_in.get(reverse("report", args=["no-such-cable"]))
    assert answer.status_code == 404
    assert "There is no cable no-such-cable" in Page(answer).text


@pytest.fixture
def idris():
    client = Client()
    client.force_login(UserFactory(username="idris"))
    return client


def test_an_event_that_may_be_told_already_is_asked_about_before_it_is_stored(signed_in, idris, address):
    signed_in.post(address, FULL)
    answer = idris.post(address, FULL | {"at_m": "1.3", "words": "Dark again."})
    page = Page(answer)
    assert answer.status_code == 409
    assert "Is this event told already?" in page.text
    assert FULL["words"] in page.one("section", class_="alike").text
    assert page.value("words") == "Dark again."
    assert ticked(page, "symptoms") == set(FULL["symptoms"])
    assert FailureReport.objects.count() == 1


def test_the_same_event_is_not_counted_twice(signed_in, idris, cable, address):
    signed_in.post(address, FULL)
    first = FailureReport.objects.get()
    answer = idris.post(address, FULL | {"event": str(first.pk)}, follow=True)
    assert "Nothing more was stored" in Page(answer).text
    assert FailureReport.objects.get().words == FULL["words"]


def test_another_cable_of_the_kind_is_stored_too(signed_in, idris, address):
    signed_in.post(address, FULL)
    answer = idris.post(address, FULL | {"event": "another"}, follow=True)
    assert "Your report is stored" in Page(answer).text
    assert FailureReport.objects.count() == 2


def test_how_ones_own_story_went_on_takes_the_place_of_its_beginning(signed_in, address):
    signed_in.post(address, FULL | {"ending": "not-ended"})
    first = FailureReport.objects.get()
    asked = Page(signed_in.post(address, FULL))
    assert asked.one("button", name="event", value=str(first.pk)).text == "The same event: tell it anew"
    answer = signed_in.post(address, FULL | {"event": str(first.pk)}, follow=True)
    assert "Your report now says this" in Page(answer).text
    assert (FailureReport.objects.get().pk, FailureReport.objects.get().ending) == (first.pk, Ending.MENDED)


def test_what_was_told_before_stays_readable_with_when_it_was_told_again(signed_in, visitor, cable, address):
    signed_in.post(address, FULL | {"ending": "not-ended", "words": "It is dark."})
    first = FailureReport.objects.get()
    before = Page(visitor.get(reverse("cable", args=[cable.slug])))
    assert not [each for each in before.all("summary") if "said before" in each.text]
    signed_in.post(address, FULL | {"event": str(first.pk)})
    page = Page(visitor.get(reverse("cable", args=[cable.slug])))
    assert "told again on" in page.text
    assert "Not reviewed yet Its author told it anew." in page.text
    (kept,) = (each for each in page.all("details") if "What it said before" in each.text)
    assert "It is dark." in kept.text
    assert FULL["words"] not in kept.text


def test_ones_own_report_is_told_anew_from_the_account_with_all_that_it_says(signed_in, mira, cable, address):
    signed_in.post(address, FULL)
    first = FailureReport.objects.get()
    account = Page(signed_in.get(reverse("account")))
    (anew,) = (link.attributes["href"] for link in account.all("a") if link.text.startswith("Tell it anew"))
    page = Page(signed_in.get(anew))
    assert page.one("h1").text == "Tell your report anew"
    assert page.value("event") == str(first.pk)
    assert (page.value("words"), page.value("at_m"), page.value("cost")) == (FULL["words"], "1.35", "4.2")
    for name in ("symptoms", "tried", "nets"):
        assert ticked(page, name) == set(FULL[name])
    assert ticked(page, "ending") == {"mended"}
    assert page.one("option", value="section:main", selected="")

    slip = Page(signed_in.post(address, FULL | {"event": str(first.pk), "kind": ""}))
    assert slip.value("event") == str(first.pk)
    signed_in.post(address, FULL | {"event": str(first.pk), "where": "place:HOST", "at_m": ""})
    assert FailureReport.objects.get().place == "HOST"
    assert Page(signed_in.get(anew)).one("option", value="place:HOST", selected="")


def test_nobody_tells_the_report_of_another_anew(signed_in, idris, address):
    signed_in.post(address, FULL)
    first = FailureReport.objects.get()
    for client in (idris, Client()):
        page = Page(client.get(f"{address}?event={first.pk}"))
        assert page.one("h1").text == "Report a failure"
        assert page.value("words") == ""
    idris.post(address, FULL | {"event": str(first.pk), "words": "Not mine."})
    assert FailureReport.objects.get().words == FULL["words"]


def test_where_others_found_theirs_is_one_choice(signed_in, idris, address):
    signed_in.post(address, FULL)
    page = Page(idris.get(address))
    assert page.one("option", value="section:main@1.35").text == "main at 1.35 m (1)"
    idris.post(address, SHORTEST | {"where": "section:main@1.35", "at_m": ""})
    assert list(FailureReport.objects.values_list("section", "at_m")) == [("main", 1.35)] * 2


def test_a_failure_point_that_moved_meanwhile_is_still_taken(signed_in, address):
    signed_in.post(address, SHORTEST | {"where": "section:main@0.70"})
    assert FailureReport.objects.get().at_m == 0.7


def test_metres_that_are_written_count_before_those_chosen(signed_in, address):
    signed_in.post(address, SHORTEST | {"where": "section:main@1.35", "at_m": "1,2"})
    assert FailureReport.objects.get().at_m == 1.2


@pytest.mark.parametrize(
    "where", ["section:spine@0.70", "place:HOST@0.70", "section:main@", "@1.00", "section:main@1e9"]
)
def test_a_place_that_is_none_is_told_at_its_field(signed_in, address, where):
    answer = signed_in.post(address, SHORTEST | {"where": where})
    assert "not one of the available choices" in errors(Page(answer), "where")
    assert not FailureReport.objects.exists()


def test_a_strip_of_each_section_with_a_length_is_shown(signed_in, address):
    page = Page(signed_in.get(address))
    assert [strip.attributes["data-length"] for strip in page.all("div", data_section="main")] == ["1.8"]


def test_what_was_written_stays_kept_while_the_event_is_undecided(visitor, signed_in, address):
    signed_in.post(address, FULL)
    visitor.post(address, FULL)
    who = {"login": "mira", "password": PASSWORD, "next": address}
    page = Page(visitor.post(reverse("sign-in"), who, follow=True))
    assert page.value("words") == FULL["words"]
    assert visitor.post(address, FULL).status_code == 409
    assert Page(visitor.get(address)).value("words") == FULL["words"]
