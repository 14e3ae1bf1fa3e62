"""Diagnosing a dead cable on a page: nothing stored, nothing lost, nothing opened too early."""

import json
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from catalogue.core.diagnosis.evidence import LOOKS
from catalogue.models import Cable, Draft, FailureReport, MapRevision
from catalogue.usecases import maps
from catalogue.views.diagnose_forms import MOST_ROWS, TESTS_TO_SET_ASIDE
from tests.factories import CableFactory
from tests.pages.page import Page
from tests.pages.test_every_page import HOSTILE
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db

SOUND = ("HOST:1 PLOTTER:1 0.6", "HOST:3 PLOTTER:3 0.8", "HOST:4 PLOTTER:4 0.6")
DEAD = (*SOUND, "HOST:2 PLOTTER:2 OL")
APART = tuple(f"{one} {other} OL" for one, other in [
    ("HOST:1", "HOST:2"), ("HOST:1", "PLOTTER:2"), ("HOST:1", "HOST:3"), ("HOST:1", "HOST:4"),
    ("HOST:1", "HOST:Shell"), ("HOST:1", "PLOTTER:Shell"),
])  # fmt: skip
CANNOT = [test for test, _ in TESTS_TO_SET_ASIDE]
LOOKED = {look.value: "no" for look in LOOKS} | {"other-cable-works": "yes", "break-seen": ""}


@pytest.fixture
def cable(mira):
    return maps.submit_map(mira, as_json(usb_map())).map.cable


@pytest.fixture
def address(cable):
    return reverse("diagnose", args=[cable.slug])


def rows(*typed):
    """The form's rows from `red black result`."""
    sent = {"rows-TOTAL_FORMS": str(len(typed)), "rows-INITIAL_FORMS": "0"}
    for number, row in enumerate(typed):
        probes, _, shows = row.rpartition(" ")
        sent |= {f"rows-{number}-probes": probes, f"rows-{number}-mode": "ohms", f"rows-{number}-shows": shows}
    return sent


def seen(what, section, at_m):
    return {
        "seen-TOTAL_FORMS": "1", "seen-INITIAL_FORMS": "0",
        "seen-0-what": what, "seen-0-section": section, "seen-0-at_m": at_m,
    }  # fmt: skip


def probes(page):
    """What the rows of the form ask for or hold."""
    return [e.attributes.get("value", "") for e in page.elements if e.attributes.get("name", "").endswith("-probes")]


def test_all_that_cannot_be_read_is_told_at_once(visitor, address):
    sent = rows("HOST:2 PLOTTER:2 hello", "HOST:1 PLOTTER:1 0.6") | seen("kink", "main", "far")
    page = Page(visitor.post(address, sent | {"rows-1-mode": "smell", "lead_ohms": "a lot"}))
    for link in ("Row 1", "Row 2", "Place 1 along the cable", "Probes held together, the meter shows (Ω)"):
        assert page.link(link), link
    assert "hello" in page.one("div", id="id_rows-0-shows_error").text


def test_the_cable_page_leads_to_the_diagnosis(visitor, cable, address):
    page = Page(visitor.get(reverse("cable", args=[cable.slug])))
    assert address in page.links


def test_a_first_visit_asks_for_the_readings_that_the_map_needs(visitor, address):
    page = Page(visitor.get(address))
    assert "HOST:1 PLOTTER:1" in probes(page)
    assert "HOST:2 PLOTTER:2" in probes(page)
    assert "Nothing is read yet" in page.text
    assert "Unplug both ends" in page.text


def test_a_dead_net_is_told_with_its_reading_its_explanations_and_the_harmless_tests(visitor, address):
    response = visitor.post(address, rows(*DEAD))
    assert response.status_code == 200
    page = Page(response)
    (row,) = [row for row in page.all("tr") if row.text.startswith("D- ")]
    assert "open" in row.text
    assert "(row 4)" in row.text
    assert "a broken core" in page.text
    assert "times likelier" in page.text
    assert "Next, without opening anything" in page.text
    assert "Do not open it yet." in page.text
    assert "Open the jacket at" not in page.text
    assert "Fault chart" in page.text


def test_what_was_typed_is_all_there_again(visitor, address):
    sent = rows(*DEAD, "HOST:2 HOST:3 ") | seen("kink", "main", "1,2") | LOOKED
    sent |= {"lead_ohms": "0.3", "near_pf": "60", "far_pf": "30", "worth_with": "900", "mend-price": "5"}
    page = Page(visitor.post(address, sent))
    assert probes(page)[:5] == [*(row.rpartition(" ")[0] for row in DEAD), "HOST:2 HOST:3"]
    assert page.value("rows-3-shows") == "OL"
    assert page.value("seen-0-at_m") == "1.2"
    assert page.value("lead_ohms") == "0.3"
    assert page.value("near_pf") == "60"
    assert page.value("worth_with") == "900"
    assert page.one("input", name="other-cable-works", value="yes").attributes.get("checked") is not None


def test_opening_is_advised_only_once_the_harmless_tests_are_done_or_set_aside(visitor, address):
    sent = rows(*DEAD) | seen("kink", "main", "1.2")
    page = Page(visitor.post(address, sent))
    assert "Open the jacket at" not in page.text
    assert "open next" not in page.one("svg", role="img").text
    assert "Open the jacket at" in Page(visitor.post(address, sent | LOOKED)).text
    page = Page(visitor.post(address, sent | {"cannot": CANNOT}))
    assert "Open the jacket at 1.2" in page.text
    assert "Never open a cable that carries mains" in page.text
    assert "open next at 1.2" in page.one("svg", role="img").text


def test_a_measured_place_moves_the_break_there(visitor, address):
    sent = rows(*DEAD) | {"near_pf": "60", "far_pf": "30", "farads_pct": "1"}
    page = Page(visitor.post(address, sent))
    assert "Capacitance from both ends by itself: 1.2" in page.text
    assert "Nothing was measured of its place yet" not in page.text


def test_openings_and_bending_count_for_the_place(visitor, address):
    page = Page(visitor.post(address, rows(*DEAD) | seen("sound-to-start", "main", "1.5")))
    assert "from 1.5" in page.text or "likeliest at 1.5" in page.text or "likeliest at 1.6" in page.text
    page = Page(visitor.post(address, rows(*DEAD) | seen("flexing", "main", "0.4")))
    assert "likeliest at 0.40 m" in page.text


def test_impossible_measurements_are_told_and_nothing_is_advised_to_be_opened(visitor, address):
    sent = rows(*DEAD) | LOOKED | {"cannot": CANNOT, "near_pf": "90000", "far_pf": "30000"}
    page = Page(visitor.post(address, sent))
    assert "pF per metre" in page.text
    assert "Open the jacket at" not in page.text


def test_prices_make_a_decision_with_chances_and_break_even(visitor, address):
    sent = rows(*DEAD) | {
        "worth_with": "900", "hour_worth": "20", "mend-price": "5", "mend-hours": "3", "buy-used-price": "400",
        "buy-used-chance": "80", "amperes-0": "0.5",
    }  # fmt: skip
    page = Page(visitor.post(address, sent))
    assert "Begin with mending it" in page.text
    assert "Worth trying from a chance of" in page.text
    assert "as you said" in page.text
    assert "for 0.5 A over 1.8" in page.text


def test_a_cable_is_safe_to_power_only_when_everything_is_proved(visitor, address):
    page = Page(visitor.post(address, rows(*DEAD)))
    assert "Not yet proved." in page.text
    assert "VBUS is apart from D-" in page.text
    mended = (*SOUND, "HOST:2 PLOTTER:2 0.8", *APART)
    page = Page(visitor.post(address, rows(*mended)))
    assert "Proved: by these readings it is safe to power." in page.text
    assert not page.all("li", class_="tick-missing")
    page = Page(visitor.post(address, rows(*mended, "HOST:1 HOST:3 120")))
    assert "Not yet proved." in page.text
    assert page.all("li", class_="tick-failed")


def test_the_readings_before_power_are_put_into_the_form_when_asked_for(visitor, address):
    assert "HOST:1 HOST:2" not in probes(Page(visitor.post(address, rows(*SOUND))))
    page = Page(visitor.post(address, rows(*SOUND) | {"act": "prove"}))
    assert "HOST:1 HOST:2" in probes(page)


def test_more_empty_rows_can_be_had_without_losing_any(visitor, address):
    few, many = (probes(Page(visitor.post(address, rows(*DEAD) | {"act": act}))) for act in ("", "more-rows"))
    assert many[: len(DEAD)] == few[: len(DEAD)]
    assert many.count("") > few.count("")


def test_readings_come_as_a_table_and_as_a_file_too(visitor, address):
    table = "red,black,mode,value\nHOST:2,PLOTTER:2,ohms,OL\n"
    page = Page(visitor.post(address, rows(*SOUND) | {"table": table}))
    assert "(line 2)" in page.text
    upload = SimpleUploadedFile("readings.csv", table.encode())
    page = Page(visitor.post(address, rows(*SOUND) | {"table_file": upload}))
    assert "(line 2)" in page.text
    assert page.value("table") == table


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        (rows("HOST:2 PLOTTER:2 lots"), "Row 1: Value: "),
        (rows("HOST:77 PLOTTER:2 OL"), "Row 1: At HOST:77"),
        ({"table": "red,black,mode,value\nHOST:2,PLOTTER:2,ohms,much"}, "Line 2: Value: "),
        ({"table": "nonsense"}, "lacks the columns"),
        (seen("kink", "main", "9"), "This section is 1.8 m long"),
        (seen("kink", "", "1"), "Choose the section"),
        ({"lead_ohms": "x"}, "Enter a number."),
    ],
)
def test_what_cannot_be_read_is_told_where_it_is_and_nothing_is_worked_out_or_lost(visitor, address, changed, told):
    response = visitor.post(address, rows(*DEAD) | changed)
    assert response.status_code == 422
    page = Page(response)
    assert told in page.text
    assert "Nothing that you typed is lost." in page.text
    assert "Proved" not in page.text
    for name, value in changed.items():
        if name.endswith(("-probes", "-shows", "-at_m")) or name in ("table", "lead_ohms"):
            assert page.value(name) == value


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"far_pf": "30"}, "Write what the broken core has from the first place, too."),
        ({"near_pf": "30"}, "Write what it has from the other place"),
        ({"near_pf": "-3", "far_pf": "3"}, "Give a number from 0"),
        ({"echo_ns": "5", "velocity": "7"}, "Give a number from 0.05 to 1"),
        ({"arm_known": "3"}, "A bridge has two arms"),
        ({"mend-price": "3"}, "Write what the device is worth with a working cable"),
        ({"mend-hours": "3"}, "Write the price, too"),
        ({"worth_with": "3", "worth_without": "4"}, "does not make the device worth less"),
    ],
)
def test_a_slip_in_place_or_prices_leaves_the_diagnosis_standing(visitor, address, changed, told):
    response = visitor.post(address, rows(*DEAD) | changed)
    assert response.status_code == 422
    page = Page(response)
    assert told in page.text
    assert "a broken core" in page.text
    assert all(page.value(name) == value for name, value in changed.items())


def test_the_fault_chart_is_saved_in_every_format(visitor, address, cable):
    starts = {"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF", "dot": b"digraph"}
    for form, start in starts.items():
        response = visitor.post(address, rows(*DEAD) | {"act": f"save-{form}"})
        assert response.content.startswith(start)
        assert response["Content-Disposition"] == f'attachment; filename="{cable.slug}-fault.{form}"'
    assert b"<!doctype html>" in visitor.post(address, rows(*DEAD) | {"act": "save-exe"}).content


def test_the_readings_of_a_revision_can_be_filled_in(visitor, mira):
    document = json.loads(Path("fixtures/demo/winch-handset-broken.json").read_text())
    cable = maps.submit_map(mira, as_json(document)).map.cable
    address = reverse("diagnose", args=[cable.slug])
    assert f"{address}?readings=1" in Page(visitor.get(address)).links
    page = Page(visitor.get(f"{address}?readings=1"))
    (row,) = [row for row in page.all("tr") if row.text.startswith("UP ")]
    assert "open" in row.text
    assert "comes and goes when bent" in row.text
    assert "Kink at coil 2.40 m" in page.text
    assert visitor.get(f"{address}?readings=7").status_code == 404
    assert visitor.get(f"{address}?readings=x").status_code == 200


def test_a_cable_without_a_map_says_what_to_do_and_one_that_is_not_there_is_not_found(visitor):
    page = Page(visitor.get(reverse("diagnose", args=[CableFactory(latest=None).slug])))
    assert "no map yet" in page.text
    assert visitor.get(reverse("diagnose", args=["no-such-cable"])).status_code == 404


def test_nothing_is_stored(visitor, address):
    before = [model.objects.count() for model in (Cable, MapRevision, Draft, FailureReport)]
    visitor.post(address, rows(*DEAD) | LOOKED | {"worth_with": "9", "mend-price": "1"})
    assert [model.objects.count() for model in (Cable, MapRevision, Draft, FailureReport)] == before
    assert not visitor.session.keys()


def test_the_statements_stay_few_whatever_is_typed(visitor, address, django_assert_max_num_queries):
    visitor.get(address)
    with django_assert_max_num_queries(14):
        visitor.post(address, rows(*DEAD, *APART) | {"worth_with": "9", "mend-price": "1", "near_pf": "60"})


@pytest.mark.parametrize("sent", [
    {},
    {"rows-TOTAL_FORMS": "x", "seen-TOTAL_FORMS": "-1"},
    {"rows-TOTAL_FORMS": "999999999", "rows-INITIAL_FORMS": "999999999"},
    {"cannot": "break-seen"},
    {"way": "nowhere"},
    {"echo_from": "nowhere", "echo_ns": "1"},
    {"near_pf": "nan", "far_pf": "inf"},
    {"worth_with": "1e400", "mend-price": "1"},
    rows(f"{HOSTILE} {HOSTILE}", "HOST:1 \x00 1", "HOST:1 PLOTTER:1 1e999"),
    dict.fromkeys(("table", "lead_ohms", "range_mohm", "act", "lamp-light"), HOSTILE),
])  # fmt: skip
def test_whatever_is_sent_is_answered_with_the_page(visitor, address, sent):
    response = visitor.post(address, sent)
    assert response.status_code in (200, 422)
    page = Page(response)
    assert page.one("form", class_="diagnose")
    assert len(probes(page)) <= MOST_ROWS


def stand(page):
    """Where one stands, in four lines."""
    return page.one("section", class_="now").text


def test_where_one_stands_is_told_first_and_what_comes_next_keeps_to_the_order(visitor, address):
    assert not Page(visitor.get(address)).all("section", class_="now")
    page = Page(visitor.post(address, rows("HOST:1 PLOTTER:1 0.6")))
    assert "Next Read on: " in stand(page)
    assert "Open it? No. Nothing that was read is dead." in stand(page)
    page = Page(visitor.post(address, rows(*DEAD)))
    assert "#tests" in page.links
    assert "Open it? Not yet." in stand(page)
    assert "Power it? Not yet." in stand(page)
    page = Page(visitor.post(address, rows(*DEAD) | {"cannot": CANNOT}))
    assert "Next Open the jacket at " in stand(page)
    page = Page(visitor.post(address, rows(*DEAD, "HOST:2 HOST:3 0.5", "HOST:3 PLOTTER:2 0.5")))
    assert "Next Take readings again that cannot all be true: row " in stand(page)
    sound = (*SOUND, "HOST:2 PLOTTER:2 0.8")
    page = Page(visitor.post(address, rows(*sound) | LOOKED | {"cannot": CANNOT}))
    assert "Next Read what proves it before power." in stand(page)
    assert "Open it? No. Nothing that was read is dead." in stand(page)
    page = Page(visitor.post(address, rows(*sound, *APART) | LOOKED | {"cannot": CANNOT}))
    assert "Next Power it, with a current limit" in stand(page)
    assert "Power it? Yes, it is proved." in stand(page)
    page = Page(visitor.post(address, rows(*sound, *APART, "HOST:1 HOST:3 120")))
    assert "Power it? No." in stand(page)


def test_glass_that_no_bench_mends_is_not_to_be_opened_whatever_is_unsure(visitor, mira):
    trunk = Path("fixtures/demo/scan-head-trunk.json").read_bytes()
    cable = maps.submit_map(mira, trunk).map.cable
    address = reverse("diagnose", args=[cable.slug])
    unread = Page(visitor.get(address))
    assert "Do not open it" not in unread.text  # nothing is known to be dead before anything is read
    copper = [f"{pair} 0.9" for pair in probes(unread) if pair]
    assert "Do not open it yet." in Page(visitor.post(address, rows(copper[0]))).text
    page = Page(visitor.post(address, rows(*copper)))
    assert "it cannot be told yet" in stand(page)
    assert "Open it? No. What is dead in it cannot be mended at a bench." in stand(page)
    assert "Open the jacket at" not in page.text


def test_each_test_is_answered_or_set_aside_where_it_stands_and_only_there(visitor, address):
    page = Page(visitor.post(address, rows(*DEAD)))
    for look in LOOKS:
        assert len(page.all("input", name=look.value, value="yes")) == 1
    for test in CANNOT:
        assert len(page.all("input", name="cannot", value=test)) == 1
    page = Page(visitor.post(address, rows(*DEAD) | {"contact-worn": "no", "cannot": CANNOT[:2]}))
    assert page.one("input", name="contact-worn", value="no").attributes.get("checked") is not None
    for test in CANNOT:
        is_set_aside = page.one("input", name="cannot", value=test).attributes.get("checked") is not None
        assert is_set_aside == (test in CANNOT[:2])


def test_a_row_between_two_nets_names_both(visitor, address):
    page = Page(visitor.post(address, rows("HOST:1 HOST:2 OL")))
    assert "VBUS and D-" in [each.text for each in page.all("span", class_="row-net")]


def test_what_cannot_be_read_is_led_to(visitor, address):
    page = Page(visitor.post(address, rows("HOST:1 PLOTTER:1 0.6", "HOST:2 PLOTTER:2 lots")))
    assert page.link("Row 2") == "#id_rows-1-shows"
    page = Page(visitor.post(address, rows(*DEAD) | seen("kink", "main", "9") | {"lead_ohms": "x"}))
    assert {link for link in page.links if link.startswith("#id_")} == {"#id_seen-0-what", "#id_lead_ohms"}
