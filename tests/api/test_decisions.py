"""Asking what to do about a dead cable: from prices alone, with a cable of the catalogue, and wrongly."""

import json

import pytest

from catalogue.core.failures import Ending, FailureKind, Remedy
from catalogue.models import FailureReport
from tests.factories import CableFactory, FailureReportFactory
from tests.samples import usb_map

PRICES = {
    "hour_worth": 10,
    "device": {"worth_with_cable": 200, "worth_without_cable": 20},
    "mend": {"price": 5, "hours": 2, "chance": 0.5},
    "buy_new": {"price": 90, "chance": 1},
}


def options(answer):
    return {option["option"]: option for option in answer.json()["options"]}


def asked(visitor, **changes):
    answer = visitor.send("decisions/", PRICES | changes)
    assert answer.status_code == 200, answer.content
    return answer


@pytest.mark.django_db
def test_a_visitor_learns_what_to_begin_with(visitor):
    answer = asked(visitor)
    found = options(answer)
    assert [option["option"] for option in answer.json()["options"]] == ["mend", "buy-new", "stop"]
    assert answer.json()["verdict"] == "Begin with mending it; if that fails, go on with buying a new one."
    # 200, less 25 for the mend, and half of the time 90 for the cable.
    assert found["mend"]["expected_net"] == pytest.approx(130)
    assert found["mend"]["alone"] == pytest.approx({"chance": 0.5, "cost": 25, "net": 85})
    assert found["mend"]["break_even"]["against"] == "buy-new"
    assert found["mend"]["break_even"]["chance"] == pytest.approx(25 / 90)
    assert found["stop"]["expected_net"] == 20
    assert found["stop"]["chance"] is None
    assert sum(option["best_chance"] for option in found.values()) == pytest.approx(1)


@pytest.mark.django_db
def test_a_stated_chance_has_no_interval_and_counts_have_one(visitor):
    found = options(asked(visitor, mend={"price": 5, "hours": 2, "outcomes": {"succeeded": 81, "tried": 263}}))
    assert found["buy-new"]["chance"]["stated"] is True
    assert found["buy-new"]["chance"]["interval95"] is None
    counted = found["mend"]["chance"]
    assert counted["mean"] == pytest.approx(82 / 265)
    assert counted["here"]["score_interval95"] == pytest.approx([0.2553, 0.3662], abs=0.00005)
    assert counted["interval95"][0] < counted["mean"] < counted["interval95"][1]
    assert counted["prior"]["basis"] == "judgement"


@pytest.mark.django_db
def test_what_became_of_others_makes_the_chance(visitor):
    cable = CableFactory(mapped=True)
    FailureReportFactory.create_batch(3, cable=cable)
    FailureReportFactory(cable=cable, ending=Ending.GIVEN_UP, tried=[Remedy.RESOLDERED])
    FailureReportFactory(cable=cable, ending=Ending.BOUGHT, tried=[Remedy.CABLE_BOUGHT])
    FailureReportFactory(cable=cable, kind=FailureKind.CONTACT_WORN)
    FailureReportFactory(cable=cable, ending=Ending.BUILT, tried=[Remedy.CABLE_BUILT])
    FailureReportFactory.create_batch(8, ending=Ending.GIVEN_UP, tried=[Remedy.RESOLDERED])
    ways = {"mend": {"price": 5, "hours": 2}, "build": {"price": 20, "hours": 5}}
    found = options(asked(visitor, cable=cable.slug, failure="core-open", **ways))
    mend = found["mend"]["chance"]
    assert (mend["here"]["succeeded"], mend["here"]["tried"]) == (3, 4)
    assert (mend["elsewhere"]["succeeded"], mend["elsewhere"]["tried"]) == (0, 8)
    # One of two at first, none of four for the eight elsewhere, three of four here.
    assert mend["mean"] == pytest.approx((1 + 0 + 3) / (2 + 4 + 4))
    assert (found["build"]["chance"]["here"]["succeeded"], found["build"]["chance"]["here"]["tried"]) == (1, 1)
    assert found["build"]["chance"]["elsewhere"]["tried"] == 0


@pytest.mark.django_db
def test_counting_takes_the_same_statements_however_many_reports(visitor, django_assert_max_num_queries):
    cable = CableFactory(mapped=True)
    FailureReportFactory.create_batch(30, cable=cable)
    with django_assert_max_num_queries(8):
        asked(visitor, cable=cable.slug, failure="core-open", mend={"price": 5, "hours": 2})


def test_a_named_map_adds_what_to_keep_when_building(visitor, stored):
    building = asked(visitor, map=stored["id"], build={"price": 12, "hours": 4}).json()["building"]
    assert [(core["net"], core["awg"]["name"]) for core in building["cores"]] == [("VBUS", "AWG 24"), ("GND", "AWG 24")]
    assert building["cores"][0]["drop_volts"] <= building["cores"][0]["most_drop_volts"] == 0.125
    assert building["pairs"][0]["legs"] == ["D-", "D+"]
    assert building["pairs"][0]["impedance_ohms"] == 90
    assert building["wire_list"][0]["from"] == {"place": "HOST", "contacts": ["HOST:1"]}
    assert building["not_wire"] == {"paths": [], "modules": []}


def test_a_longer_and_hungrier_cable_is_built_thicker(visitor, stored):
    wanted = {"supplies": {"VBUS": {"amperes": 2, "drop_volts": 0.5}}, "length_m": 3, "contact_ohms": 0.02}
    cores = asked(visitor, map=stored["id"], building=wanted).json()["building"]["cores"]
    assert [(core["net"], core["amperes"], core["most_drop_volts"]) for core in cores] == [
        ("VBUS", 2, 0.25),
        ("GND", 2, 0.25),
    ]
    # 0.25 V at 2 A leaves 0.085 ohm for 3 m: AWG 18 has 0.0227 ohm/m stranded, AWG 20 0.0360.
    assert {core["awg"]["name"] for core in cores} == {"AWG 18"}


@pytest.mark.parametrize(
    ("volts", "code", "licensed"),
    [
        (24, None, False),
        (48, "perhaps-above-extra-low-voltage", False),
        (-230, "above-extra-low-voltage", True),
    ],
)
@pytest.mark.django_db
def test_volts_above_extra_low_are_left_to_licensed_people(visitor, volts, code, licensed):
    answer = asked(visitor, volts=volts)
    codes = [caution["code"] for caution in answer.json()["cautions"]]
    assert codes == [*([code] if code else []), "opening", "powering"]
    assert options(answer)["mend"]["licensed_only"] is licensed
    assert options(answer)["buy-new"]["licensed_only"] is False
    assert ("licensed people" in answer.json()["verdict"]) is licensed


def test_the_volts_of_a_map_count_without_being_told(visitor, contributor):
    document = usb_map(
        ends=[{"name": name, "connector": "custom", "rows": [["1", "2", "3", "4"]]} for name in ("HOST", "PLOTTER")]
    )
    document["nets"][0]["volts"] = 110
    stored = contributor.send("maps/", document).json()
    codes = [caution["code"] for caution in asked(visitor, map=stored["id"]).json()["cautions"]]
    assert codes[0] == "above-extra-low-voltage"


@pytest.mark.django_db
def test_where_only_buying_is_left_nothing_warns_of_opening(visitor):
    assert asked(visitor, mend=None).json()["cautions"] == []


@pytest.mark.django_db
def test_when_nothing_is_worth_it_the_answer_is_to_stop(visitor):
    answer = asked(visitor, device={"worth_with_cable": 10})
    assert answer.json()["options"][0]["option"] == "stop"
    assert answer.json()["verdict"].startswith("Stop")


@pytest.mark.parametrize("tiny", [0, 5e-324, 1e-300])
@pytest.mark.django_db
def test_numbers_next_to_nothing_still_get_an_answer(visitor, tiny):
    ways = {"mend": {"price": tiny, "hours": 2, "chance": tiny}, "buy_new": {"price": 90, "chance": tiny}}
    assert options(asked(visitor, hour_worth=tiny, **ways))["stop"]["expected_net"] == 20
    assert options(asked(visitor, hour_worth=5, **ways))["stop"]["rank"] == 1


@pytest.mark.django_db
def test_hours_that_cost_nothing_have_no_limit(visitor):
    found = options(asked(visitor, hour_worth=0))
    assert found["mend"]["stop_after"] == {"limited": False, "hours": None}
    assert found["buy-new"]["stop_after"] is None


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"mend": {"hours": 2}}, "/mend/price"),
        ({"mend": {"price": -1}}, "/mend/price"),
        ({"mend": {"price": True}}, "/mend/price"),
        ({"mend": {"price": "5"}}, "/mend/price"),
        ({"mend": {"price": 5, "chance": 1.2}}, "/mend/chance"),
        ({"mend": {"price": 5, "chance": 0.5, "outcomes": {"succeeded": 1, "tried": 2}}}, "/mend/chance"),
        ({"build": {"price": 5, "outcomes": {"succeeded": 3, "tried": 2}}}, "/build/outcomes/succeeded"),
        ({"mend": None, "buy_new": None}, "/mend"),
        ({"device": {"worth_with_cable": 10, "worth_without_cable": 20}}, "/device/worth_without_cable"),
        ({"hour_worth": None}, "/hour_worth"),
        ({"cable": "some-cable", "map": 1}, "/map"),
        ({"failure": "bad-luck"}, "/failure"),
        ({"prize": 3}, "/prize"),
        ({"building": {"length_m": 0}}, "/building/length_m"),
        ({"building": {"supplies": {"VBUS": {"amperes": 0}}}}, "/building/supplies/VBUS/amperes"),
        ({"building": {"supplies": {"VBUS": {"amperes": 1}}}}, "/building/supplies"),
    ],
)
@pytest.mark.django_db
def test_what_is_wrong_is_named_by_its_place(visitor, changes, where):
    answer = visitor.send("decisions/", PRICES | changes)
    assert answer.status_code == 422
    assert answer.json()["code"] == "bad-request"
    assert [defect["where"] for defect in answer.json()["defects"]] == [where]


def test_a_supply_that_the_map_does_not_have_is_named(visitor, stored):
    wanted = {"supplies": {"D+": {"amperes": 1}}}
    answer = visitor.send("decisions/", PRICES | {"map": stored["id"], "building": wanted})
    assert answer.status_code == 422
    assert answer.json()["defects"][0]["where"] == "/building/supplies/D+"
    assert "VBUS" in answer.json()["defects"][0]["remedy"]


@pytest.mark.parametrize(
    "body",
    [b"[]", b"3", b'{"hour_worth": ', b'{"hour_worth": 1e999}', b"[" * 100_000, b'{"hour_worth": NaN}', b"\xff"],
)
@pytest.mark.django_db
def test_what_is_no_question_is_refused(visitor, body):
    answer = visitor.send("decisions/", body)
    assert answer.status_code == 422
    assert answer.json()["defects"]


@pytest.mark.django_db
def test_a_question_that_is_too_large_is_refused(visitor):
    assert visitor.send("decisions/", b" " * (2 * 1024 * 1024 + 1)).status_code == 413


@pytest.mark.parametrize("about", [{"cable": "no-such-cable"}, {"map": 404}])
@pytest.mark.django_db
def test_a_cable_or_map_that_is_not_there_is_told(visitor, about):
    assert visitor.send("decisions/", PRICES | about).status_code == 404


@pytest.mark.django_db
def test_a_cable_without_a_map_still_gets_a_ranking(visitor):
    answer = asked(visitor, cable=CableFactory().slug)
    assert answer.json()["building"] is None


def test_asking_stores_nothing_and_gives_the_same_answer_twice(visitor, stored):
    first, second = (asked(visitor, map=stored["id"], mend={"price": 5, "hours": 2}) for _ in range(2))
    assert json.loads(first.content) == json.loads(second.content)
    assert not FailureReport.objects.exists()
