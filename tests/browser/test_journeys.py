"""What people come for, from the start page on, as a stranger would go: by pointer, by keyboard alone, by touch."""

import re
from dataclasses import dataclass

import pytest
from django.core.management import call_command
from django.test import Client
from playwright.sync_api import expect

from catalogue.models import MapRevision, User
from tests.browser.hands import Finger, Hands, Keys, Pointer
from tests.browser.thirteen_way_lead import (
    GROUND,
    MAKER,
    MODEL,
    PARTNERS,
    RUNS_APART,
    all_sent,
    contact,
    fill_in,
    is_mapped,
)
from tests.factories import PASSWORD

START = "How device cables are wired inside, where they fail, and whether they can be mended."
BENCH = "Map a cable at the bench"
SEARCH = "Find a cable"
TRUNK = "Halcyon & Rook (invented) Scan head trunk ST-4"


@pytest.fixture
def hands(device, way):
    """Those of somebody without an account, who has the start page before them."""
    one = device(360, has_touch=True, is_mobile=True) if way is Finger else device()
    return way(one.visit("/"))


# Somebody new maps a cable and submits it


@dataclass
class Tapping:
    """Readings by tapping contacts and buttons."""

    hands: Hands

    def begin(self):
        pass

    def _button(self, name):
        self.hands.press(self.hands.page.get_by_role("button", name=name))

    def _pick(self, *contacts):
        for name in contacts:
            self.hands.press(contact(self.hands.page, name))

    def joined(self, red, black):
        self._pick(red, black)
        self._button("Beeps")

    def apart(self, red, black):
        self._pick(red, black)
        self._button("No beep")

    def ohms(self, red, black, shown):
        self._pick(red, black)
        self._button("Value")
        self.hands.page.keyboard.type(shown)
        self._button("Keep")

    def apart_from_runs(self, red, runs):
        self._button("Sweep")
        self._pick(red)
        for run in runs:
            self._pick(*run)
            self._button("No beep")
        self._button("Sweep")

    def measure_again(self):
        self._button("Measure it again")
        self._button("Beeps")

    def finish(self):
        self.hands.press(self.hands.page.get_by_role("heading", name="Submit this map"))

    def check(self):
        self._button("Check")

    def submit(self):
        self._button("Submit")


@dataclass
class Typing:
    """Readings as lines, and single keys."""

    hands: Hands

    def begin(self):
        self._keys("c")

    def _line(self, line):
        self.hands.page.keyboard.type(line)
        self.hands.page.keyboard.press("Enter")

    def _keys(self, *keys):
        for key in keys:
            self.hands.page.keyboard.press(key)

    def joined(self, red, black):
        self._line(f"{red} {black} b")

    def apart(self, red, black):
        self._line(f"{red} {black} n")

    def ohms(self, red, black, shown):
        self._line(f"{red} {black} {shown}")

    def apart_from_runs(self, red, runs):
        for first, last in runs:
            self._line(f"{red} {first}..{last.partition(':')[2]} n")

    def measure_again(self):
        self._keys("Escape", "r", "b", "c")

    def finish(self):
        self._keys("Escape", "f")

    def check(self):
        self._keys("Enter")

    def submit(self):
        self._keys("Shift+Tab", "Enter")


def sign_up(hands, link, mailoutbox):
    """From a link to sign in, by the code in the mail, to where one came from."""
    page = hands.page
    hands.press(link)
    hands.arrive("Sign in")
    hands.press(page.get_by_role("link", name="Sign up"))
    hands.arrive("Sign up")
    for label, text in (("Name", "mira"), ("E-mail address", "mira@example.com"), ("Password", PASSWORD)):
        hands.write(page.get_by_label(label, exact=True), text)
    hands.press(page.get_by_role("button", name="Sign up"))
    hands.arrive("Verify your address")
    code = re.search(r"^    (\S+)$", mailoutbox[-1].body, re.MULTILINE)[1]
    hands.write(page.get_by_label("Code from the mail"), code)
    hands.press(page.get_by_role("button", name="Verify"))
    expect(page).to_have_url(re.compile("/bench/"))
    assert User.objects.get().username == "mira"


@pytest.mark.parametrize(
    ("way", "taking", "signs_up"),
    [(Pointer, Tapping, "half-way"), (Keys, Typing, "first"), (Finger, Tapping, "last")],
)
def test_somebody_new_maps_a_cable_with_a_slip_and_submits_it(hands, taking, signs_up, transactional_db, mailoutbox):
    page, takes = hands.page, taking(hands)
    hands.arrive(START)
    hands.press(page.get_by_role("link", name="Map it reading by reading"))
    hands.arrive(BENCH)
    if signs_up == "first":
        sign_up(hands, page.locator("#new").get_by_role("link", name="Sign in"), mailoutbox)
        hands.arrive(BENCH)
    fill_in(hands, maker=MAKER, model=MODEL)
    takes.begin()

    takes.ohms("HEAD:1", "HEAD:2", "0.3")
    takes.ohms("HEAD:1", "TAIL:1", "0.6")
    takes.apart("HEAD:2", "TAIL:1")  # the slip: it beeped
    expect(page.locator("#conflicts-first")).to_have_text(
        "Measure r3 again first: HEAD:2 with TAIL:1, where you read no beep."
    )
    takes.measure_again()
    expect(page.locator("#said")).to_have_text("r3 corrected: HEAD:2 with TAIL:1: beeps, not no beep.")
    expect(page.locator("#conflicts")).to_be_hidden()

    for number, (head, tail) in enumerate(PARTNERS.items()):
        if number == 5 and signs_up == "half-way":
            sign_up(hands, page.get_by_role("link", name="Sign in to keep it in your account too"), mailoutbox)
            expect(page.locator("#readings .reading")).to_have_count(8)
        takes.joined(head, tail)
    takes.apart_from_runs("TAIL:2", RUNS_APART)
    expect(page.locator("#nets > li")).to_have_count(12)
    expect(page.locator("#alone")).to_have_text("1 contact joined to none yet.")

    takes.finish()
    hands.write(page.get_by_label(" ".join(GROUND)), "GND")
    if signs_up == "last":
        expect(page.locator("#kept")).to_contain_text("18 readings, kept in this browser only.")
        sign_up(hands, page.locator("#finish").get_by_role("link", name="sign in"), mailoutbox)
        takes.finish()
    all_sent(page)
    takes.check()
    expect(page.locator("#outcome-title")).to_have_text("This map can be submitted")
    takes.submit()
    expect(page).to_have_url(re.compile(r"/cables/quillon-invented-thirteen-way-lead/maps/1/$"))
    expect(page.get_by_role("heading", level=1)).to_have_text(f"{MAKER} {MODEL}")
    expect(page.locator(".byline")).to_contain_text("26 contacts, 12 nets, 18 readings")
    expect(page.get_by_role("row", name=re.compile("^GND"))).to_contain_text("1 2")
    is_mapped()


# Somebody looks up where a cable fails, and somebody takes a drawing home


@pytest.fixture
def demo(transactional_db):
    call_command("demo", verbosity=0)


def search(hands, words):
    hands.arrive(START)
    hands.write(hands.page.get_by_role("searchbox"), words)
    hands.page.keyboard.press("Enter")
    hands.arrive(SEARCH)
    return hands.page.get_by_role("listitem").filter(has=hands.page.get_by_role("heading", name=TRUNK))


@pytest.mark.parametrize(
    ("way", "words"),
    [(Pointer, "no picture"), (Keys, "no picture"), (Keys, "no pictrue"), (Finger, "no picture")],
)
def test_who_sees_no_picture_is_led_to_where_such_a_cable_failed(demo, hands, words):
    page = hands.page
    row = search(hands, words)
    expect(page.get_by_text("finds cables reported with the symptom")).to_contain_text("no picture")
    hands.press(row.get_by_role("link", name="5 failure reports"))
    expect(page.get_by_role("heading", level=1)).to_have_text(TRUNK)
    expect(page.get_by_role("heading", name="Failure points along the length")).to_be_in_viewport()
    points = page.get_by_role("region", name="Failure points").get_by_role("row").all()[1:]
    told = [[cell.inner_text().replace("\xa0", " ") for cell in row.locator("th, td").all()] for row in points]
    assert [(where, int(count), ended) for where, count, _, ended in told] == [
        ("section trunk, 7.38 to 7.41 m from HEADBLOCK", 3, "given up ×2; replaced by a bought cable"),
        ("HEADBLOCK", 1, "given up"),
        ("section trunk, 11.97 m from HEADBLOCK", 1, "mended, and works"),
    ]


@pytest.mark.parametrize("way", [Pointer, Keys, Finger])
def test_the_drawing_that_is_saved_is_the_one_that_the_api_serves(demo, hands):
    page = hands.page
    hands.press(search(hands, "scan head").get_by_role("link", name=TRUNK))
    hands.arrive(TRUNK)
    hands.press(page.get_by_role("navigation", name="On this page").get_by_role("link", name="Downloads"))
    rail = page.get_by_role("listitem").filter(has_text="Rail chart:")
    map_id = MapRevision.objects.get(cable__model="Scan head trunk ST-4").pk
    for form in ("svg", "pdf"):
        with page.expect_download() as saved:
            hands.press(rail.get_by_role("link", name=form.upper()))
        served = Client().get(f"/api/v1/maps/{map_id}/drawings/rail.{form}")
        assert saved.value.path().read_bytes() == served.content
        assert saved.value.suggested_filename == f"halcyon-rook-invented-scan-head-trunk-st-4-1-rail.{form}"
