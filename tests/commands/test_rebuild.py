"""`manage.py rebuild`, here and by workers that share the queue, and `manage.py tidy`."""

from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from catalogue.models import EndRow, MapRevision, User
from catalogue.usecases import maps, upkeep
from tests.samples import as_json, usb_map
from tests.workers import work

pytestmark = pytest.mark.django_db


def spoiled_maps(count):
    """Maps that lost what is derived from them, and how they were before."""
    author = User.objects.create_user("mira")
    for number in range(count):
        maps.submit_map(author, as_json(usb_map(cable={"maker": "Invented", "model": f"M{number}"})))
    before = rows()
    EndRow.objects.all().delete()
    MapRevision.objects.update(net_count=0, wiring="", findings=[])
    return before


def rows():
    return [{**row, "derived_at": None} for row in MapRevision.objects.order_by("pk").values()]


def test_what_is_derived_comes_back_and_the_documents_stay(capsys):
    before = spoiled_maps(2)
    call_command("rebuild")
    assert capsys.readouterr().out == "Maps rebuilt: 2\n"
    assert rows() == before
    assert EndRow.objects.count() == 4


def test_a_rebuild_that_was_broken_off_goes_on_with_what_is_left(capsys):
    before = spoiled_maps(3)
    begun = timezone.now()
    maps.rebuild_derived(maps.kept_map(MapRevision.objects.latest("pk").pk))
    call_command("rebuild", "--left", "--before", begun.isoformat())
    call_command("rebuild", "--before", begun.isoformat())
    assert capsys.readouterr().out == "Maps left: 2\nMaps rebuilt: 2\n"
    assert rows() == before


def test_a_map_that_was_submitted_while_an_older_one_was_rebuilt_stays_the_newest(monkeypatch):
    author = User.objects.create_user("mira")
    first = maps.submit_map(author, as_json(usb_map())).map
    newer = as_json(usb_map(marks=[{"kind": "kink", "section": "main", "at_m": 1.0}]))
    check = maps.check_map

    def meanwhile(document):
        monkeypatch.setattr(maps, "check_map", check)
        maps.submit_map(author, newer)
        return check(document)

    monkeypatch.setattr(maps, "check_map", meanwhile)
    maps.rebuild_derived(maps.kept_map(first.pk))
    first.cable.refresh_from_db()
    assert first.cable.latest.number == 2


@pytest.mark.parametrize("time", ["soon", "2030-01-31", "2030-01-31T12:00:00"])
def test_a_time_that_tells_no_moment_is_refused(time):
    with pytest.raises(CommandError, match="Give it with its zone"):
        call_command("rebuild", "--before", time)


def test_without_a_queue_none_is_used():
    with pytest.raises(CommandError, match="TASK_QUEUE=database"):
        call_command("rebuild", "--queue")


def test_workers_rebuild_all_maps(has_queue, monkeypatch, capsys):
    monkeypatch.setattr(upkeep, "AT_ONCE", 2)
    before = spoiled_maps(5)
    call_command("rebuild", "--queue")
    assert "Maps to rebuild: 5." in capsys.readouterr().out
    assert rows() != before
    work()
    assert rows() == before
    assert DBTaskResult.objects.count() == DBTaskResult.objects.successful().count() == 4


def test_what_a_dead_worker_left_is_done_by_another(has_queue, monkeypatch):
    monkeypatch.setattr(upkeep, "AT_ONCE", 2)
    monkeypatch.setattr(upkeep, "AGAIN_AFTER", timedelta(0))
    before = spoiled_maps(5)
    rebuild, dead = maps.rebuild_derived, []

    def die_once(row):
        if dead:
            rebuild(row)
        else:
            dead.append(row)
            raise SystemExit  # as far as a task can tell, what a killed process does: it goes no further

    monkeypatch.setattr(upkeep, "rebuild_derived", die_once)
    call_command("rebuild", "--queue")
    work()
    assert len(dead) == 1
    assert rows() == before


def test_a_map_that_cannot_be_derived_stops_no_other(has_queue, monkeypatch, caplog):
    monkeypatch.setattr(upkeep, "AGAIN_AFTER", timedelta(0))
    monkeypatch.setattr(upkeep, "MOST_ROUNDS", 3)
    spoiled_maps(3)
    bad = MapRevision.objects.earliest("pk")
    MapRevision.objects.filter(pk=bad.pk).update(document="{")
    call_command("rebuild", "--queue")
    work()
    assert list(MapRevision.objects.filter(net_count=0)) == [bad]
    assert caplog.text.count(f"Map {bad.pk} could not be derived anew") == 3


@pytest.mark.parametrize(("tries", "status"), [(1, "READY"), (3, "FAILED")])
def test_a_task_whose_worker_died_is_put_back_but_not_for_ever(has_queue, tries, status, capsys):
    upkeep.rebuild_some.enqueue(timezone.now().isoformat())
    task = DBTaskResult.objects.get()
    for number in range(tries):
        task.claim(f"worker {number}")
    call_command("tidy")
    task.refresh_from_db()
    assert task.status == "RUNNING"
    DBTaskResult.objects.update(started_at=timezone.now() - upkeep.DEAD_AFTER)
    call_command("tidy")
    task.refresh_from_db()
    assert task.status == status
    assert capsys.readouterr().out.endswith("Tasks of dead workers: 1.\n")


def test_what_a_task_said_is_thrown_away_a_day_after_it_was_done(has_queue):
    upkeep.rebuild_some.enqueue(timezone.now().isoformat())
    work()
    call_command("tidy")
    assert DBTaskResult.objects.count() == 1
    DBTaskResult.objects.update(finished_at=timezone.now() - upkeep.KEPT)
    call_command("tidy")
    assert not DBTaskResult.objects.exists()
