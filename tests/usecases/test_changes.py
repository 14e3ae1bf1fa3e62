"""The change feed: a mirror that follows it from any point misses nothing, however slowly somebody wrote."""

import json
import threading

import pytest
from django.db import connection, transaction

from catalogue.core.problems import Conflict
from catalogue.core.reviewing import Standing
from catalogue.models import Cable, Change, MapRevision
from catalogue.usecases import accounts, changes, failures, wanted
from catalogue.usecases.changes import changes_since
from tests.exported import BREAK, decided, made_catalogue, person, submitted


def told(since=0):
    """What the feed tells after a number, from all its pages: kind, number and entry."""
    found, page = [], changes_since(since)
    while True:
        found += [(each.kind.value, each.number, each.line and json.loads(each.line)) for each in page.changes]
        if not page.has_more:
            return found
        page = changes_since(page.last)


def kinds(since=0):
    return [kind for kind, _, _ in told(since)]


pytestmark = pytest.mark.django_db


def test_everything_public_is_told_once_what_is_needed_first():
    made_catalogue()
    found = told()
    assert [number for _, number, _ in found] == list(range(1, 14))
    assert [kind for kind, _, _ in found] == [
        *["cable"] * 2,
        *["map"] * 3,
        *["failure"] * 2,
        "confirmation",
        "earlier",
        *["review"] * 3,
        "wanted",
    ]
    assert told() == found


def test_what_comes_later_comes_after(django_assert_max_num_queries):
    submitted()
    last = changes_since(0).last
    second = submitted(marks=[{"kind": "kink", "section": "main", "at_m": 1.0}])
    decided(second, Standing.APPROVED)
    assert [(kind, number) for kind, number, _ in told(last)] == [("map", last + 1), ("review", last + 2)]
    with django_assert_max_num_queries(12):
        changes_since(0)
    assert changes_since(last + 2).changes == ()


def test_pages_join_without_gap_or_overlap(monkeypatch):
    made_catalogue()
    whole = told()
    for size in (1, 2, 5):
        monkeypatch.setattr(changes, "A_PAGE", size)
        assert told() == whole
    monkeypatch.setattr(changes, "A_PAGE", 100)
    monkeypatch.setattr(changes, "A_PAGE_CHARACTERS", 1)
    assert told() == whole


def test_numbers_are_given_in_bounded_portions(monkeypatch):
    made_catalogue()
    monkeypatch.setattr(changes, "AT_ONCE", 5)
    portions = []
    while changes.number_changes():
        portions.append(Change.objects.count())
    assert portions == [5, 10]
    assert Change.objects.count() == 13


def test_a_withdrawn_map_is_told_as_nothing_and_its_decision_in_full():
    first = made_catalogue()
    last = changes_since(0).last
    decided(first, Standing.WITHDRAWN, "It is of another cable.")
    (decision,) = told(last)
    assert decision[2]["decision"] == "withdrawn"
    assert decision[2]["target"] == first.content_hash
    hidden = [kind for kind, _, entry in told() if entry is None]
    assert hidden == ["map", "confirmation", "earlier"]


def test_what_is_shown_again_is_told_again_with_all_that_needs_it():
    first = made_catalogue()
    decided(first, Standing.WITHDRAWN)
    last = changes_since(0).last
    decided(first, Standing.APPROVED)
    found = told(last)
    of_cable = ["cable", *["map"] * 2, "failure", "confirmation", "earlier"]
    assert [kind for kind, _, _ in found] == [*of_cable, *["review"] * 4]
    assert [entry["decision"] for kind, _, entry in found if kind == "review"][-2:] == ["withdrawn", "approved"]
    assert all(entry for _, _, entry in found)


def test_a_report_told_anew_and_a_cable_asked_for_again_are_told_again():
    made_catalogue()
    last = changes_since(0).last
    cable = Cable.objects.get(model="Plotter lead PL-2")
    own = cable.failures.get()
    failures.send_report(person("petra"), cable, BREAK.__class__(BREAK.kind, BREAK.ending), str(own.pk))
    wanted.ask_for("Ostwick (invented)", "Tray cable 9", "", "192.0.2.2")
    assert kinds(last) == ["failure", "review", "wanted"]
    assert told(last)[0][2]["told"]["words"] == ""
    assert told(last)[2][2]["askers"] == 2


def test_a_name_that_its_owner_took_away_is_told_away():
    made_catalogue()
    last = changes_since(0).last
    mira = person("mira")
    mira.set_password("a long walk")
    mira.save()
    accounts.remove_account(mira, "a long walk")
    assert [(kind, entry["author"]) for kind, _, entry in told(last)] == [("map", ""), ("map", "")]
    assert "mira" not in json.dumps(told())


def test_a_number_that_was_never_given_is_told():
    with pytest.raises(Conflict, match="ends at 0"):
        changes_since(5)


@pytest.mark.django_db(transaction=True)
def test_who_commits_late_comes_after_what_was_told_meanwhile():
    """On PostgreSQL the row that was written first is committed last; SQLite lets nobody write meanwhile.

    The cables are described in the same words, for which two who describe cables in new ones wait for each other.
    """
    begun, may_end = threading.Event(), threading.Event()
    failed = []

    def slow():
        try:
            with transaction.atomic():
                submitted("slow", cable={"maker": "Orrin & Vale (invented)", "model": "Plotter lead PL-3"})
                begun.set()
                assert may_end.wait(30)
        except Exception as error:
            failed.append(error)
        finally:
            begun.set()
            connection.close()

    first = submitted("first")
    writer = threading.Thread(target=slow)
    writer.start()
    assert begun.wait(30)
    early = MapRevision.objects.count()
    if connection.vendor == "postgresql":
        submitted("quick", cable={"maker": "Orrin & Vale (invented)", "model": "Plotter lead PL-4"})
        told_early = told()
        assert "PL-3" not in json.dumps(told_early)
        assert "PL-4" in json.dumps(told_early)
    else:
        told_early = []
    may_end.set()
    writer.join(60)
    assert (failed, early) == ([], 1)
    last = told_early[-1][1] if told_early else 0
    assert told()[: len(told_early)] == told_early
    assert "PL-3" in json.dumps(told(last))
    assert first.content_hash in json.dumps(told())


@pytest.mark.django_db(transaction=True)
def test_readers_at_the_same_time_give_each_number_once(monkeypatch):
    made_catalogue()
    monkeypatch.setattr(changes, "AT_ONCE", 2)
    ready = threading.Barrier(3)
    failed = []

    def read():
        try:
            ready.wait(30)
            while changes.number_changes():
                pass
        except Exception as error:
            failed.append(error)
        finally:
            connection.close()

    readers = [threading.Thread(target=read) for _ in range(3)]
    for reader in readers:
        reader.start()
    for reader in readers:
        reader.join(60)
    assert failed == []
    assert [number for _, number, _ in told()] == list(range(1, 14))
    assert len(set(Change.objects.values_list("kind", "row"))) == 13
