"""What a process keeps of the catalogue's wiring, and how it follows the store."""

import pytest

from catalogue.models import EndRow, MapRevision, User
from catalogue.usecases import maps, matches
from tests.factories import MapRevisionFactory
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db

ASKED = {
    "ends": usb_map()["ends"],
    "readings": [{"id": "r1", "mode": "beep", "red": "HOST:1", "black": "PLOTTER:1", "beeps": True}],
}


@pytest.fixture
def author():
    return User.objects.create_user("mira")


def submit(author, model, **changes):
    document = usb_map(**changes)
    return maps.submit_map(author, as_json(document | {"cable": {"maker": "Invented", "model": model}})).map


def found():
    return {each.map.pk for each in matches.find_maps(as_json(ASKED)).found}


def test_each_end_is_stored_with_its_rows_and_the_net_at_each_seat(author):
    row = submit(author, "A")
    host, plotter = EndRow.objects.filter(map=row).order_by("pk")
    assert (host.row_lengths, plotter.row_lengths) == ("4 1", "2 2 1")
    numbers = {}
    for end, rows in ((host, ["4", "3", "2", "1", "Shell"]), (plotter, ["1", "2", "4", "3", "Shell"])):
        stored = memoryview(bytes(end.net_numbers)).cast("H").tolist()
        numbers |= {f"{end.name}:{contact}": number for contact, number in zip(rows, stored, strict=True)}
    assert [numbers[f"HOST:{n}"] == numbers[f"PLOTTER:{n}"] for n in (1, 2, 3, 4, "Shell")] == [True] * 4 + [False]
    assert len(set(numbers.values())) == 6


def test_maps_are_added_as_they_come_and_replaced_by_newer_ones_of_the_same_hardware(author):
    assert found() == set()
    first = submit(author, "A")
    assert found() == {first.pk}
    second = submit(author, "B")
    assert found() == {first.pk, second.pk}
    newer = submit(author, "A", marks=[{"kind": "kink", "section": "main", "at_m": 1.0}])
    assert newer.cable == first.cable
    assert found() == {newer.pk, second.pk}


def test_a_map_that_becomes_visible_after_one_numbered_later_is_not_missed(author):
    early, late = submit(author, "A"), submit(author, "B")
    ends = list(early.ends.all())
    row = MapRevision.objects.get(pk=early.pk)
    row.cable.latest = None
    row.cable.save()
    row.delete()
    assert found() == {late.pk}
    MapRevision(**{field.attname: getattr(early, field.attname) for field in MapRevision._meta.fields}).save(
        force_insert=True
    )
    EndRow.objects.bulk_create(ends)
    assert found() == {early.pk, late.pk}


def test_a_map_from_before_its_wiring_was_kept_is_left_out_until_it_is_derived_anew():
    row = MapRevisionFactory()
    assert len(matches.WiredCatalogue().index()) == 0
    maps.rebuild_derived(maps.map_by_id(row.pk))
    assert len(matches.WiredCatalogue().index()) == 1


def test_a_catalogue_that_did_not_change_is_asked_for_in_one_statement(author, django_assert_num_queries):
    submit(author, "A")
    found()
    with django_assert_num_queries(1):
        matches._catalogue.index()
