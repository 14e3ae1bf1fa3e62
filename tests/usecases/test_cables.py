"""Searching cables by words and traits."""

import pytest

from catalogue.core.problems import NotFound
from catalogue.models import User
from catalogue.usecases import cables, maps
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def two_cables():
    author = User.objects.create_user("mira")
    maps.submit_map(author, as_json(usb_map()))
    fibre = {
        "format": "corelore.map/1",
        "cable": {"maker": "Škoda-Lumen (invented)", "model": "Théodolite lead", "devices": ["TL-9"]},
        "ends": [
            {"name": "HEAD", "connector": "custom", "rows": [["1", "2", "3"]]},
            {"name": "BASE", "connector": "custom", "rows": [["1", "2", "3"]]},
        ],
        "nets": [{"name": "GND", "role": "ground", "contacts": ["HEAD:1", "BASE:1"]}],
        "paths": [{"name": "LANE", "via": "fibre", "from": "HEAD:2", "to": "BASE:2", "basis": "documented"}],
    }
    maps.submit_map(author, as_json(fibre))


def found(**asked):
    """Which cables are found, alike as a whole and as a list of the best."""
    search = cables.search_cables(**asked)
    slugs = {cable.slug for cable in search.cables}
    assert slugs == {cable.slug for cable in cables.best_of(search, 0, 20).cables}
    return {slug.split("-")[0] for slug in slugs}


def test_words_find_a_cable_whatever_capitals_and_accents():
    assert found(words="skoda THEODOLITE") == {"skoda"}
    assert found(words="plotter") == {"orrin"}
    assert found(words="plotter theodolite") == set()
    assert found(words="usb2-b") == {"orrin"}
    assert found() == {"orrin", "skoda"}


def test_traits_find_a_cable():
    assert found(connector="usb2-a") == {"orrin"}
    assert found(contacts=3) == {"skoda"}
    assert found(rides_on="fibre") == {"skoda"}
    assert found(rides_on="copper") == {"orrin", "skoda"}
    assert found(maker="škoda-lumen (invented)") == {"skoda"}
    assert found(connector="usb2-a", rides_on="fibre") == set()


@pytest.mark.parametrize("words", ["%", "_", "'; DROP TABLE x; --", "\\", "a" * 200])
def test_odd_words_find_nothing_and_break_nothing(words):
    search = cables.search_cables(words)
    assert search.cables.count() in (0, 2)
    assert cables.best_of(search, 0, 20).total == search.cables.count()
    assert len(cables.nearest_to(search)) <= 2


def test_an_unknown_cable_is_not_found():
    with pytest.raises(NotFound):
        cables.cable_by_slug("nothing-of-the-kind")


def test_reading_a_list_takes_one_statement(django_assert_num_queries):
    with django_assert_num_queries(1):
        [(cable.maker, cable.latest.number, cable.failure_count) for cable in cables.search_cables().cables]
