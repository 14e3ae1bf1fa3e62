"""Cables that are asked for, and who counts."""

import pytest
from django.core.cache import cache

from catalogue.core.problems import BadRequest, TooMany
from catalogue.models import User, Wanted
from catalogue.usecases import maps, wanted
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db


def ask(maker="Quillon (invented)", model="Scale lead SL-4", device="", asker="one"):
    return wanted.ask_for(maker, model, device, asker)


def listed():
    return [(row.maker, row.model, row.askers) for row in wanted.most_wanted()]


def test_a_cable_asked_for_is_listed_and_each_asker_counts():
    ask()
    ask(asker="two")
    assert listed() == [("Quillon (invented)", "Scale lead SL-4", 2)]


def test_other_capitals_and_hyphens_are_the_same_cable():
    ask()
    ask(maker="QUILLON  (Invented)", model="scale-lead sl 4", asker="two")
    assert listed() == [("Quillon (invented)", "Scale lead SL-4", 2)]


def test_asking_again_counts_once():
    ask()
    ask()
    assert listed()[0][2] == 1


def test_a_device_told_later_is_kept_and_one_told_before_is_not_replaced():
    ask()
    ask(device="tray scale", asker="two")
    ask(device="another", asker="three")
    assert Wanted.objects.get().device == "tray scale"


def test_the_most_asked_for_comes_first():
    ask(model="A1")
    ask(model="B2")
    ask(model="B2", asker="two")
    assert [row.model for row in wanted.most_wanted()] == ["B2", "A1"]


def test_a_cable_leaves_the_list_when_it_is_mapped_and_cannot_be_asked_for_then():
    name = usb_map()["cable"]
    ask(name["maker"], name["model"].upper())
    cable = maps.submit_map(User.objects.create_user("mira"), as_json(usb_map())).map.cable
    assert listed() == []
    assert ask(name["maker"], name["model"]).slug == cable.slug
    assert listed() == []


def test_nothing_of_the_asker_is_stored():
    ask(asker="203.0.113.7")
    assert "203.0.113.7" not in str(list(Wanted.objects.values()))
    assert not any("203.0.113.7" in str(key) for key in cache._cache)


def test_one_asker_cannot_flood_the_list():
    for number in range(wanted.ASKS_AN_HOUR):
        ask(model=f"lead {number}")
    with pytest.raises(TooMany, match="within the hour"):
        ask(model="one more")
    ask(model="one more", asker="two")
    assert Wanted.objects.count() == wanted.ASKS_AN_HOUR + 1


def test_all_askers_together_cannot_flood_the_list(monkeypatch):
    monkeypatch.setattr(wanted, "NEW_A_DAY", 2)
    for number in range(2):
        ask(model=f"lead {number}", asker=str(number))
    with pytest.raises(TooMany, match="tomorrow"):
        ask(model="one more", asker="three")
    ask(model="lead 1", asker="four")
    assert [row[2] for row in listed()] == [2, 1]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("maker", ""),
        ("model", " - "),
        ("model", "x" * 81),
        ("device", "see https://spam.example"),
        ("maker", "a\u202eb"),
    ],
)
def test_what_is_no_name_is_refused_at_its_field_and_stores_nothing(field, value):
    with pytest.raises(BadRequest) as refusal:
        ask(**{field: value})
    assert [defect.where for defect in refusal.value.defects] == [f"/{field}"]
    assert listed() == []
