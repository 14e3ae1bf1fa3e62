"""A person maps a cable at the bench: with slips of the hand, lost links, reloads, a second tab and a second device."""

import json
import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from catalogue.models import Draft, MapRevision
from catalogue.usecases import drafts
from tests.browser.conftest import barriers, overflow
from tests.browser.hands import Pointer
from tests.browser.thirteen_way_lead import (
    MAKER,
    MODEL,
    PARTNERS,
    PLANS,
    RUNS_APART,
    all_sent,
    begin,
    draft_readings,
    fill_in,
    is_mapped,
    no_plans,
    readings,
    tap,
    type_in,
)
from tests.factories import DraftFactory, UserFactory


@pytest.fixture
def mira(transactional_db):
    return UserFactory(username="mira")


def test_a_cable_of_26_contacts_is_mapped_with_a_slip_that_is_found_and_mended(device, mira):
    page = begin(device(user=mira), maker=MAKER, model=MODEL)
    for line in ("HEAD:1 HEAD:2 0.3", "HEAD:1 TAIL:1 0.6"):
        type_in(page, line)
    type_in(page, "HEAD:2 TAIL:1")
    page.keyboard.press("n")  # the slip: it beeped

    expect(page.locator("#conflicts-first")).to_have_text(
        "Measure r3 again first: HEAD:2 with TAIL:1, where you read no beep."
    )
    page.get_by_text("Why it cannot be").click()
    expect(page.locator("#conflicts-why")).to_contain_text("r3: HEAD:2 to TAIL:1 is at least")
    page.get_by_role("button", name="Measure it again").click()
    page.keyboard.press("b")
    expect(page.locator("#conflicts")).to_be_hidden()
    expect(page.locator("#said")).to_have_text("r3 corrected: HEAD:2 with TAIL:1: beeps, not no beep.")

    for number, (head, tail) in enumerate(PARTNERS.items()):
        if number % 2:
            tap(page, head, tail)
            page.get_by_role("button", name="Beeps").click()
        else:
            type_in(page, f"{head} {tail}")
            page.keyboard.press("b")
    for first, last in RUNS_APART:
        type_in(page, f"TAIL:2 {first}..{last.partition(':')[2]} n")
    expect(page.locator("#alone")).to_have_text("1 contact joined to none yet.")
    expect(page.locator("#nets > li")).to_have_count(12)
    assert page.locator('[data-point="HEAD:13"]').get_attribute("aria-label") == "HEAD:13, net N12"
    all_sent(page)

    page.get_by_role("heading", name="Submit this map").click()
    page.get_by_label("HEAD:1 HEAD:2 TAIL:1").fill("GND")
    page.get_by_role("button", name="Check").click()
    expect(page.locator("#outcome-title")).to_have_text("This map can be submitted")
    page.get_by_role("button", name="Submit").click()
    expect(page).to_have_url(re.compile(r"/cables/quillon-invented-thirteen-way-lead/maps/1/$"))

    is_mapped()
    assert page.evaluate("Object.keys(localStorage).length") == 0


def test_a_reading_is_corrected_by_its_number(device, transactional_db):
    page = begin(device(360))
    for line in ("HEAD:3 TAIL:13 n", "HEAD:4 TAIL:12 b", "HEAD:6 TAIL:3..7 b"):
        type_in(page, line)
    type_in(page, "R1 b")
    expect(page.locator("#said")).to_have_text("r1 corrected: HEAD:3 with TAIL:13: beeps, not no beep.")
    expect(page.locator("#typed")).to_be_focused()
    type_in(page, "r3")
    expect(page.locator("#chosen")).to_contain_text("drag black along TAIL:3 to TAIL:7. r3 again.")
    page.keyboard.press("n")
    assert readings(page)[0] == "r3 HEAD:6 along TAIL:3 to TAIL:7: no beep"
    type_in(page, "r2 lots")
    expect(page.locator("#typed-error")).to_contain_text("lots is not a value.")
    assert readings(page)[1] == "r2 HEAD:4 with TAIL:12: beeps"
    type_in(page, "r9 b")
    expect(page.locator("#typed-error")).to_contain_text("There is no contact")
    assert len(readings(page)) == 3


def test_a_session_begins_at_its_top_and_what_is_picked_shows_above_the_keys(device, transactional_db):
    page = begin(device(360), rows=("7 7", "7 7"))
    expect(page.locator("#bench-title")).to_be_in_viewport(ratio=1)
    expect(page.locator("#bench-title")).to_be_focused()
    sides = page.locator('[data-point="HEAD:1"], [data-point="HEAD:7"]')
    for seat in sides.all():
        expect(seat).to_be_in_viewport(ratio=1)
    type_in(page, "HEAD:1 TAIL:14")
    keys = page.locator("#answer").bounding_box()["y"]
    for point in ("HEAD:1", "TAIL:14"):
        box = page.locator(f'[data-point="{point}"]').bounding_box()
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= keys


def test_what_was_wrong_of_an_end_is_not_told_any_more_once_it_is_corrected(device, transactional_db):
    page = device(360).visit("/bench/")
    page.get_by_role("button", name="Begin").click()
    expect(page.locator("#end-1-name-error")).to_contain_text("Name the end")
    page.fill("#end-1-name", "HEAD")
    expect(page.locator("#end-1-name-error")).to_be_empty()
    expect(page.locator("#end-1-rows-error")).to_contain_text("Write the rows")


def test_a_reload_in_the_middle_loses_nothing_and_undo_still_works(device, mira):
    page = begin(device(360, user=mira))
    type_in(page, "HEAD:3 TAIL:13 b")
    type_in(page, "HEAD:4 TAIL:12 n")
    page.reload()  # before anything was sent
    assert readings(page) == ["r2 HEAD:4 with TAIL:12: no beep", "r1 HEAD:3 with TAIL:13: beeps"]
    all_sent(page)
    page.get_by_role("button", name="Undo").click()
    assert readings(page) == ["r1 HEAD:3 with TAIL:13: beeps"]
    all_sent(page)
    assert draft_readings() == ["r1"]


def test_what_is_read_without_a_link_is_kept_and_sent_when_it_is_back(device, mira):
    phone = device(360, user=mira)
    phone.forgive("ERR_INTERNET_DISCONNECTED")
    page = begin(phone)
    type_in(page, "HEAD:3 TAIL:13 b")
    all_sent(page)
    expect(page.locator("#counts")).to_contain_text("1 of 325")
    phone.context.set_offline(True)
    for head in ("HEAD:4", "HEAD:5", "HEAD:6"):
        type_in(page, f"{head} {PARTNERS[head]} b")
    expect(page.locator("#kept")).to_contain_text("No link. 3 readings not sent yet")
    expect(page.locator("#computed")).to_contain_text("Below is what 1 reading told.")
    assert draft_readings() == ["r1"]
    phone.context.set_offline(False)
    all_sent(page)
    expect(page.locator("#counts")).to_contain_text("4 of 325")
    assert draft_readings() == ["r1", "r2", "r3", "r4"]


def lose_the_answer_to_the_beginning(page):
    """The server begins a draft, and the link is lost before the browser hears of it."""
    lost = []

    def lose(route):
        if route.request.method == "POST" and not lost:
            lost.append(route.fetch().json()["id"])
            route.abort()
        else:
            route.fallback()

    page.context.route("**/api/v1/drafts/", lose)
    return lost


def test_a_session_whose_first_answer_is_lost_stays_one_draft_with_all_that_was_read(device, mira):
    phone = device(360, user=mira)
    phone.forgive("ERR_FAILED")
    lost = lose_the_answer_to_the_beginning(phone.page)
    page = begin(phone)
    type_in(page, "HEAD:3 TAIL:13 b")
    all_sent(page)
    type_in(page, "HEAD:4 TAIL:12 b")
    all_sent(page)
    assert [Draft.objects.get().pk] == lost
    assert draft_readings() == ["r1", "r2"]


def test_what_another_device_wrote_while_the_first_answer_was_lost_is_not_written_over(device, mira):
    phone = device(360, user=mira)
    phone.forgive("ERR_FAILED|status of 412|ERR_INTERNET_DISCONNECTED")
    lost = lose_the_answer_to_the_beginning(phone.page)
    page = begin(phone)
    expect(page.locator("#kept")).to_contain_text("No link")
    phone.context.set_offline(True)
    type_in(page, "HEAD:3 TAIL:13 b")
    theirs = json.loads(Draft.objects.get().text)
    theirs["readings"] = [{"id": "r1", "mode": "beep", "red": "HEAD:9", "black": "TAIL:7", "beeps": True}]
    drafts.replace_draft(mira, lost[0], 1, json.dumps(theirs).encode())
    phone.context.set_offline(False)
    expect(page.locator("#trouble")).to_contain_text("This session was changed elsewhere meanwhile")
    page.get_by_role("button", name="Put both together").click()
    all_sent(page)
    kept = json.loads(Draft.objects.get().text)["readings"]
    assert {reading["red"] for reading in kept} == {"HEAD:3", "HEAD:9"}


def test_a_second_tab_follows_the_first_and_says_so(device, mira):
    laptop = device(user=mira)
    laptop.forgive("status of 412")  # where the word of the other tab comes late, the version sees to it
    first = begin(laptop)
    type_in(first, "HEAD:3 TAIL:13 b")
    all_sent(first)
    second = laptop.new_tab()
    second.goto(first.url)
    assert readings(second) == ["r1 HEAD:3 with TAIL:13: beeps"]
    type_in(second, "HEAD:4 TAIL:12 b")
    expect(first.locator("#said")).to_have_text("Another tab changed this session. Its readings are here now.")
    assert len(readings(first)) == 2
    type_in(first, "HEAD:5 TAIL:11 b")
    expect(second.locator("#readings > li")).to_have_count(3)
    all_sent(first)
    assert draft_readings() == ["r1", "r2", "r3"]


def test_a_tab_that_slept_puts_its_reading_beside_those_of_the_other(device, mira):
    laptop = device(user=mira)
    first = begin(laptop)
    type_in(first, "HEAD:3 TAIL:13 b")
    all_sent(first)
    key = first.evaluate("Object.keys(localStorage)[0]")
    # What another tab wrote while the word of it did not get through.
    first.evaluate(
        """(key) => {
            const session = JSON.parse(localStorage.getItem(key));
            session.stamp = "another";
            session.document.readings.push({id: "r2", mode: "beep", red: "HEAD:9", black: "TAIL:7", beeps: true});
            localStorage.setItem(key, JSON.stringify(session));
        }""",
        key,
    )
    type_in(first, "HEAD:4 TAIL:12 n")
    expect(first.locator("#readings > li")).to_have_count(3)
    assert sorted(readings(first)) == [
        "r1 HEAD:3 with TAIL:13: beeps",
        "r2 HEAD:9 with TAIL:7: beeps",
        "r3 HEAD:4 with TAIL:12: no beep",
    ]
    all_sent(first)


def sessions_of_two_devices(device, mira):
    """A laptop and a phone with the same session, each with a reading r2 of its own; the phone sent its own first."""
    laptop, phone = device(user=mira), device(360, user=mira)
    laptop.forgive("status of 412")
    page = begin(laptop)
    type_in(page, "HEAD:3 TAIL:13 b")
    all_sent(page)
    no_plans(phone.page)
    other = phone.visit(f"/bench/#draft-{Draft.objects.get().pk}")
    type_in(other, "HEAD:4 TAIL:12 b")
    all_sent(other)
    assert draft_readings() == ["r1", "r2"]
    type_in(page, "HEAD:5 TAIL:11 b")
    expect(page.locator("#trouble")).to_contain_text("This session was changed elsewhere meanwhile")
    assert "HEAD:4" in Draft.objects.get().text
    assert "HEAD:5" not in Draft.objects.get().text
    return page


@pytest.mark.parametrize(
    ("choice", "left"),
    [
        ("Put both together", ["HEAD:3", "HEAD:4", "HEAD:5"]),
        ("Take the other", ["HEAD:3", "HEAD:4"]),
        ("Keep this one", ["HEAD:3", "HEAD:5"]),
    ],
)
def test_a_stale_write_is_shown_and_the_person_says_what_becomes_of_both(device, mira, choice, left):
    page = sessions_of_two_devices(device, mira)
    assert not barriers(page)
    type_in(page, "HEAD:1 HEAD:2 b")  # work goes on meanwhile, and is kept
    page.get_by_role("button", name=choice).click()
    all_sent(page)
    expect(page.locator("#trouble")).to_be_hidden()
    kept = [reading["red"] for reading in json.loads(Draft.objects.get().text)["readings"]]
    assert sorted(set(kept) - {"HEAD:1"}) == left
    ids = draft_readings()
    assert len(ids) == len(set(ids))


def test_a_session_that_was_thrown_away_elsewhere_can_be_kept_as_a_new_one(device, mira):
    laptop = device(user=mira)
    laptop.forgive("status of 404")
    page = begin(laptop)
    type_in(page, "HEAD:3 TAIL:13 b")
    all_sent(page)
    Draft.objects.all().delete()
    type_in(page, "HEAD:4 TAIL:12 b")
    expect(page.locator("#trouble")).to_contain_text("not in your account any more")
    page.get_by_role("button", name="Keep it as a new session").click()
    all_sent(page)
    assert draft_readings() == ["r1", "r2"]


def test_without_an_account_a_session_stays_in_the_browser_until_its_owner_signs_in(device, mira):
    phone = device(360)
    page = begin(phone)
    type_in(page, "HEAD:3 TAIL:13 b")
    expect(page.locator("#kept")).to_contain_text("1 reading, kept in this browser only.")
    assert not Draft.objects.exists()
    key = page.url.rpartition("#")[2]
    link = page.get_by_role("link", name="Sign in to keep it in your account too").get_attribute("href")
    assert link == f"{reverse('sign-in')}?next=%2Fbench%2F%23{key}"
    phone.visit("/bench/")
    expect(page.locator("#sessions")).to_contain_text("HEAD to TAIL")
    expect(page.locator("#sessions")).to_contain_text("1 reading, in this browser only")
    phone.sign_in(mira)
    phone.visit("/bench/")
    page.get_by_role("link", name="HEAD to TAIL").click()
    all_sent(page)
    assert draft_readings() == ["r1"]


def test_the_sessions_of_one_person_are_not_shown_to_the_next_at_the_same_browser(device, mira):
    laptop = device(user=mira)
    page = begin(laptop)
    type_in(page, "HEAD:3 TAIL:13 b")
    all_sent(page)
    laptop.context.clear_cookies()
    laptop.visit("/bench/")
    expect(page.locator("#continue")).to_be_hidden()


def test_somebody_signed_out_meanwhile_is_told_and_loses_nothing(device, mira):
    laptop = device(user=mira)
    laptop.forgive("status of 401")
    page = begin(laptop)
    type_in(page, "HEAD:3 TAIL:13 b")
    all_sent(page)
    laptop.context.clear_cookies(name="sessionid")
    type_in(page, "HEAD:4 TAIL:12 b")
    expect(page.locator("#kept")).to_contain_text("You are signed out. 1 reading not sent yet; kept in this browser.")
    laptop.sign_in(mira)
    type_in(page, "HEAD:5 TAIL:11 b")
    all_sent(page)
    assert draft_readings() == ["r1", "r2", "r3"]


def test_a_refused_submission_is_corrected_at_the_bench(device, mira):
    draft = DraftFactory(author=mira)
    laptop = device(user=mira)
    no_plans(laptop.page)
    page = laptop.visit("/drafts/")
    page.get_by_role("link", name=draft.title).click()
    page.get_by_role("link", name="Correct it at the bench").click()
    expect(page.locator("#conflicts-first")).to_contain_text("HOST:1 with PLOTTER:1")
    assert Draft.objects.get().kind == "refused"
    page.get_by_role("button", name="Take out r6").click()
    expect(page.locator("#conflicts")).to_be_hidden()
    all_sent(page)
    assert (Draft.objects.get().kind, Draft.objects.get().findings) == ("bench", [])
    page.get_by_role("heading", name="Submit this map").click()
    page.get_by_role("button", name="Submit").click()
    expect(page).to_have_url(re.compile("/maps/1/$"))
    assert MapRevision.objects.count() == 1


def test_a_map_that_is_refused_says_why_at_the_bench_and_stays_a_session(device, mira):
    laptop = device(360, user=mira)
    laptop.forgive("status of 422")
    page = begin(laptop, maker=MAKER)
    for line in ("HEAD:3 TAIL:13 0.5", "HEAD:3 TAIL:13 OL"):
        type_in(page, line)
    all_sent(page)
    page.get_by_role("heading", name="Submit this map").click()
    page.get_by_role("button", name="Submit").click()
    expect(page.locator("#model-error")).to_contain_text("Write it as it is printed")
    page.locator("#model").fill("Thirteen-way lead")
    page.get_by_role("button", name="Submit").click()
    expect(page.locator("#outcome-title")).to_have_text("Not taken")
    assert not barriers(page)
    page.locator("#outcome").get_by_role("button", name="Measure r2 again").click()
    expect(page.locator("#chosen")).to_have_text("Red on HEAD:3, black on TAIL:13. r2 again.")
    assert not MapRevision.objects.exists()
    assert Draft.objects.get().title == "Quillon (invented) Thirteen-way lead"


def test_the_whole_work_is_done_by_keyboard_alone(device, mira):
    laptop = device(user=mira)
    no_plans(laptop.page)
    page = laptop.visit("/bench/")
    keys = page.keyboard

    def tab_to(name):
        for _ in range(60):
            keys.press("Tab")
            if page.evaluate("document.activeElement.id") == name:
                return
        raise AssertionError(f"Tab does not reach {name}")

    for number, name in ((1, "HEAD"), (2, "TAIL")):
        tab_to(f"end-{number}-name")
        keys.type(name)
        tab_to(f"end-{number}-rows")
        keys.type("3 2")
    keys.press("Enter")
    expect(page.locator("#counts")).to_contain_text("0 of 45")

    keys.press("c")
    keys.type("HEAD:1 TAIL:1")
    keys.press("Enter")
    keys.press("b")
    keys.type("HEAD:2 TAIL:2")  # the field has the focus again
    keys.press("Enter")
    keys.type("0.6")
    expect(page.locator("#value")).to_have_value("0.6")
    keys.press("Enter")
    keys.type("HEAD:3 TAIL:1..3 n")
    keys.press("Enter")
    assert readings(page) == [
        "r3 HEAD:3 along TAIL:1 to TAIL:3: no beep",
        "r2 HEAD:2 with TAIL:2: 0.6 Ω",
        "r1 HEAD:1 with TAIL:1: beeps",
    ]
    # From contact to contact by arrows, and a sweep by keys.
    page.locator('[data-point="HEAD:1"]').focus()
    keys.press("Escape")
    keys.press("w")
    keys.press("ArrowDown")
    keys.press("ArrowRight")
    keys.press("Enter")
    expect(page.locator("#chosen")).to_have_text("Red on HEAD:5. Pick the first contact of the run.")
    page.locator('[data-point="TAIL:1"]').focus()
    keys.press("Enter")
    keys.press("ArrowRight")
    keys.press("Enter")
    expect(page.locator("#chosen")).to_have_text("Red on HEAD:5, drag black along TAIL:1 to TAIL:2.")
    keys.press("n")
    assert readings(page)[0] == "r4 HEAD:5 along TAIL:1 to TAIL:2: no beep"
    keys.press("u")
    assert len(readings(page)) == 3
    all_sent(page)


def test_single_keys_can_be_switched_off(device, transactional_db):
    page = begin(device())
    page.get_by_text("Keys", exact=True).click()
    page.get_by_label("Use single keys").uncheck()
    tap(page, "HEAD:1", "TAIL:1")
    page.keyboard.press("b")
    assert readings(page) == []


def test_a_proposal_is_taken_and_the_next_one_follows_by_itself(device, transactional_db):
    laptop = device()
    page = begin(laptop)

    def plan(route):
        taken = len(route.request.post_data_json["readings"])
        sweep = {"mode": "sweep", "red": "HEAD:1", "black": ["TAIL:1", "TAIL:2", "TAIL:3"]}
        pair = {"mode": "beep", "red": "HEAD:1", "black": ["TAIL:2"]}
        tells = {"if_yes": {"text": "HEAD:1 meets one of them."}, "if_no": {"text": "HEAD:1 meets none of them."}}
        following = [one | tells for one in ([sweep], [pair], [])[taken]]
        route.fulfill(json={"next": following, "acts_left": 2 - taken, "decided": taken == 2})

    page.context.route(PLANS, plan)
    page.reload()
    expect(page.locator("#proposal-act")).to_have_text(
        "Red on HEAD:1, drag black along TAIL:1 to TAIL:3. About 2 readings to go."
    )
    expect(page.locator("#proposal-tells")).to_contain_text("No beep: HEAD:1 meets none of them.")
    page.keyboard.press("p")
    page.keyboard.press("b")
    expect(page.locator("#chosen")).to_have_text("Red on HEAD:1, black on TAIL:2.")
    page.keyboard.press("s")
    expect(page.locator("#proposal-act")).to_have_text("You skipped all that is proposed. Undo brings it back.")
    page.keyboard.press("u")
    page.keyboard.press("p")
    page.keyboard.press("n")
    expect(page.locator("#proposal")).to_be_hidden()
    assert readings(page) == ["r2 HEAD:1 with TAIL:2: no beep", "r1 HEAD:1 along TAIL:1 to TAIL:3: beeps"]


def test_whoever_takes_what_is_proposed_maps_the_cable_and_is_told_when_it_is_done(device, transactional_db):
    partner = {"HEAD:1": "TAIL:2", "HEAD:2": "TAIL:1", "TAIL:1": "HEAD:2", "TAIL:2": "HEAD:1"}
    page = begin(device(), rows=("2", "2"))
    session = page.url
    page.goto("about:blank")  # so that nothing asked before is taken for the first answer
    page.context.unroute(PLANS)
    with page.expect_response(PLANS) as answer:
        page.goto(session)
    while not (plan := answer.value.json())["decided"]:
        act = plan["next"][0]
        expect(page.locator("#proposal-act")).to_contain_text(f"Red on {act['red']}")
        expect(page.locator("#proposal-tells")).to_contain_text(act["if_no"]["text"])
        page.keyboard.press("p")
        with page.expect_response(PLANS) as answer:
            page.keyboard.press("b" if partner[act["red"]] in act["black"] else "n")
        assert len(readings(page)) <= 6
    expect(page.locator("#counts")).to_contain_text("6 of 6")
    expect(page.locator("#proposal")).to_be_hidden()
    expect(page.locator("#nets > li")).to_have_count(2)


def test_where_nobody_can_propose_the_bench_works_all_the_same(device, transactional_db):
    laptop = device()
    laptop.forgive("probe-plans")
    page = begin(laptop)
    page.context.route(PLANS, lambda route: route.fulfill(status=404, json={"code": "not-found", "detail": "Nothing."}))
    page.reload()
    type_in(page, "HEAD:1 TAIL:1 b")
    expect(page.locator("#counts")).to_contain_text("1 of 325")
    expect(page.locator("#proposal")).to_be_hidden()


def test_a_pasted_list_is_added_and_its_bad_lines_stay_to_be_mended(device, mira):
    page = begin(device(user=mira))
    type_in(page, "HEAD:1 TAIL:1 b")
    page.get_by_text("Add a list of readings (CSV)").click()
    head = "red,black,mode,value,unit"
    bad = ["HEAD:3,TAIL:13,ohms,lots,ohm", "HEAD:99,TAIL:1,beep,yes,"]
    page.get_by_label("Paste it, or drop a file here").fill("\n".join([head, "HEAD:2,TAIL:1,ohms,0.4,ohm", *bad]))
    page.get_by_role("button", name="Add them").click()
    expect(page.locator("#csv-error")).to_contain_text("line 3: value: ")
    expect(page.locator("#csv-error")).to_contain_text("line 4: these ends have no such contact.")
    assert page.locator("#csv").input_value().split("\n") == [head, *bad]
    assert readings(page) == ["r2 HEAD:2 with TAIL:1: 0.4 Ω", "r1 HEAD:1 with TAIL:1: beeps"]
    page.locator("#csv").fill("nothing like a list")
    page.get_by_role("button", name="Add them").click()
    expect(page.locator("#csv-error")).to_contain_text("line 1")
    assert page.locator("#csv").input_value() == "nothing like a list"
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Undo").click()
    assert readings(page) == ["r1 HEAD:1 with TAIL:1: beeps"]


HOSTILE = "<img src=x onerror=alert(1)>"


def test_markup_that_people_write_is_shown_as_text(device, mira):
    document = {
        "cable": {"maker": HOSTILE, "model": 7},
        "ends": [{"name": "<b>A", "connector": "custom", "rows": [["<i>1", "2"], [None, "3"]]}],
        "readings": [{"id": "<u>r1", "mode": "beep", "red": "<b>A:<i>1", "black": "<b>A:2", "beeps": True}],
    }
    draft = DraftFactory(author=mira, text=json.dumps(document), at_the_bench=True, title=HOSTILE)
    laptop = device(user=mira)
    no_plans(laptop.page)
    page = laptop.visit(f"/bench/#draft-{draft.pk}")
    expect(page.get_by_role("heading", level=1)).to_contain_text(HOSTILE)
    assert page.locator("main img, main i, main u").count() == 0
    laptop.forgive("status of 422")


@pytest.mark.parametrize("text", ['{"ends": 7}', '{"ends": [{"name": "A", "connector": "no-such"}]}', "[]", "{"])
def test_a_draft_that_cannot_be_mapped_is_told_and_left_alone(device, mira, text):
    draft = DraftFactory(author=mira, text=text)
    page = device(user=mira).visit(f"/bench/#draft-{draft.pk}")
    expect(page.locator("#start-trouble")).to_contain_text("This session cannot be opened here.")
    draft.refresh_from_db()
    assert (draft.text, draft.version) == (text, 1)


def test_drafts_of_others_cannot_be_opened(device, mira):
    laptop = device(user=mira)
    laptop.forgive("status of 404")
    page = laptop.visit(f"/bench/#draft-{DraftFactory().pk}")
    expect(page.locator("#start-trouble")).to_contain_text("You have no draft")


def test_what_is_filled_in_wrongly_is_told_at_its_field(device, transactional_db):
    page = device(360).visit("/bench/")
    page.get_by_role("button", name="Begin").click()
    expect(page.locator("#end-1-name-error")).to_contain_text("Name the end in one word")
    expect(page.locator("#end-1-rows-error")).to_contain_text("Write the rows, such as 12 12.")
    page.fill("#end-1-name", "A B")
    page.fill("#end-1-rows", "1 1 / 2")
    page.fill("#new-lead", "a lot")
    page.get_by_role("button", name="Begin").click()
    expect(page.locator("#end-1-rows-error")).to_contain_text("Name each contact once: 1")
    expect(page.locator("#new-lead-error")).to_contain_text("Type a number of ohms")
    assert page.locator("#session").is_hidden()


def test_what_is_typed_before_a_session_begins_is_there_after_a_reload(device, transactional_db):
    page = device(360).visit("/bench/")
    page.get_by_role("button", name="One more end").click()
    page.fill("#end-3-name", "POD")
    page.fill("#end-3-rows", "4 4")
    page.fill("#new-maker", "Quillon (invented)")
    page.reload()
    expect(page.locator("#end-3-name")).to_have_value("POD")
    expect(page.locator("#end-3-rows-shown")).to_contain_text("8 contacts")
    expect(page.locator("#new-maker")).to_have_value("Quillon (invented)")
    page.get_by_role("button", name="Begin").click()
    expect(page.locator("#counts")).to_contain_text("0 of")
    page.goto(page.url.partition("#")[0])
    page.reload()
    expect(page.locator("#new-maker")).to_have_value("")


def test_a_session_of_this_browser_is_named_on_the_start_page(device, transactional_db):
    phone = device(360)
    begin(phone, maker=MAKER, model=MODEL)
    page = phone.visit("/")
    page.get_by_role("link", name=f"{MAKER} {MODEL}").click()
    expect(page.locator("#bench-title")).to_contain_text(MODEL)


def test_without_scripts_the_page_leads_to_the_submit_page(device, transactional_db):
    page = device(360, java_script_enabled=False).visit("/bench/")
    page.get_by_role("link", name="send them on the submit page").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Submit a map")


def test_what_to_read_next_and_a_face_are_in_the_first_screen_of_a_phone(device, transactional_db):
    page = device(360).visit("/bench/")
    fill_in(Pointer(page), rows=("4 4", "4"))
    page.reload()
    expect(page.locator("#proposal")).to_be_visible()
    box = page.locator(".contact").first.bounding_box()
    assert box["y"] + box["height"] <= page.locator("#answer").bounding_box()["y"]
    caution = page.locator(".bench-caution")
    assert caution.bounding_box()["height"] < 50
    caution.get_by_text("Both ends unplugged").click()
    expect(caution.get_by_text("keep their charge")).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_a_session_is_fit_for_hands_and_senses(device, transactional_db, width, scheme):
    page = begin(device(width, scheme), rows=("12 12", "13"))
    for line in ("HEAD:1 TAIL:1 0.4", "HEAD:2 TAIL:2 b", "HEAD:1 TAIL:1 OL"):
        type_in(page, line)
    expect(page.locator("#conflicts")).to_be_visible()
    tap(page, "HEAD:3", "TAIL:5")
    page.get_by_role("heading", name="Submit this map").click()
    page.get_by_role("button", name="Value").click()
    assert barriers(page) == []
    assert overflow(page) == 0
    small = page.locator(".answer-keys button, .contact").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect()).filter(box => box.width < 44 || box.height < 44).length"
    )
    assert small == 0
    keys = page.locator(".answer-keys").bounding_box()
    assert keys["y"] + keys["height"] <= page.viewport_size["height"], "the keys are out of the thumb's reach"
