"""A grown catalogue is what people would have made of it by contributing one thing after another."""

import io
import json

import pytest
from django.core.management import CommandError, call_command

from catalogue import tables
from catalogue.core.failures import failure_defects
from catalogue.core.inventing.cables import invented_cable
from catalogue.exchange.documents import canonical_json
from catalogue.exchange.shapes import METER, write_reading
from catalogue.models import (
    Cable,
    Change,
    Confirmation,
    CountedReports,
    EndRow,
    FailureReport,
    MapRevision,
    NetRow,
    ReadingRow,
    Trait,
)
from catalogue.usecases import confirmations, failures, maps
from catalogue.usecases.changes import changes_since
from catalogue.usecases.growing import grow
from tests.exported import decided, empty_the_site, exported, person

SEED = 5
SAMPLE = (2, 9, 17)
"""Numbers of cables that together have all that there is: several maps, hardware revisions, confirmations, reviews."""


def derived():
    """Everything in the store that follows from what people contributed, without ids and times."""
    of_maps = ("map__cable__slug", "map__number")
    return {
        "cables": rows(Cable, "slug", "identity", "maker", "model", "devices", "summary", "search_text", "name_text"),
        "latest": rows(Cable, "slug", "latest__number"),
        "traits": rows(Trait, "cable__slug", "kind", "value"),
        "maps": rows(MapRevision, "cable__slug", "number", "hardware_revision", "document", "wiring", "content_hash")
        + rows(MapRevision, "cable__slug", "number", "contact_count", "net_count", "path_count", "reading_count")
        + rows(MapRevision, "cable__slug", "number", "findings"),
        "ends": rows(EndRow, *of_maps, "name", "connector", "contact_count", "row_lengths", "net_numbers"),
        "nets": rows(NetRow, *of_maps, "name", "role", "contacts"),
        "readings": rows(ReadingRow, *of_maps, "ident", "mode", "red", "black", "result", "value"),
        "reports": rows(FailureReport, "cable__slug", "map__number", "kind", "ending", "cause", "symptoms", "words")
        + rows(FailureReport, "cable__slug", "section", "at_m", "place", "nets", "tried", "hours", "cost", "currency")
        + rows(FailureReport, "cable__slug", "code"),
        "counted": rows(CountedReports, "cable__slug", "codes"),
        "confirmations": rows(Confirmation, *of_maps, "author__username", "readings", "meter", "outcome", "report"),
    }


def rows(model, *columns):
    return sorted(map(repr, (tuple(map(plain, row)) for row in model.objects.values_list(*columns))))


def plain(value):
    return bytes(value) if isinstance(value, memoryview) else value


def contribute(invented):
    """What people told of one cable, each thing at its time and in the ordinary way."""
    events = [(mapped.at, 0, mapped) for mapped in invented.maps]
    events += [(told.at, 1, told) for told in invented.reports]
    stored = []
    for _, is_report, each in sorted(events, key=lambda event: event[:2]):
        if is_report:
            cable = Cable.objects.get(pk=stored[0].cable_id)
            row = failures.report_failure(person(f"invented-{each.reporter}"), cable, each.failure)
        else:
            row = maps.submit_map(person(f"invented-{each.author}"), canonical_json(each.document)).map
            stored.append(row)
            for told in each.confirmations:
                sent = {"readings": list(map(write_reading, told.readings)), "meter": METER.write(each.document.meter)}
                confirmations.confirm_map(person(f"invented-{told.person}"), row.pk, json.dumps(sent).encode())
        if each.decided:
            decided(row, each.decided.standing, each.decided.reason)


@pytest.mark.django_db
def test_what_is_grown_is_what_the_ordinary_way_makes_of_the_same_contributions(monkeypatch):
    sample = {number: invented_cable(SEED, number, tables.reference()) for number in SAMPLE}
    monkeypatch.setattr("catalogue.usecases.growing.invented_cable", lambda seed, number, _: sample[SAMPLE[number]])
    grow(len(SAMPLE), SEED)
    grown = derived()
    empty_the_site()
    for invented in sample.values():
        contribute(invented)
    ordinary = derived()
    assert {name: grown[name] == ordinary[name] for name in grown} == dict.fromkeys(grown, True)
    assert all(map(len, grown.values()))


@pytest.mark.django_db
def test_a_rebuild_changes_nothing_of_what_is_grown():
    grow(4, SEED)
    before = derived()
    call_command("rebuild", stdout=io.StringIO())
    assert derived() == before


def test_no_report_names_what_its_map_does_not_have_and_names_tell_that_all_is_invented():
    for number in range(40):
        invented = invented_cable(SEED, number, tables.reference())
        for told in invented.reports:
            assert failure_defects(told.failure, invented.maps[told.map_number - 1].document) == ()
            assert told.map_number == sum(mapped.at <= told.at for mapped in invented.maps)
        named = invented.maps[0].document.cable
        assert "(invented)" in named.maker
        assert all("(invented)" in device for device in named.devices)


@pytest.mark.django_db
def test_the_same_seed_gives_the_same_catalogue_in_one_go_or_grown_on(capsys):
    grow(6, SEED)
    whole = exported()
    assert changes_since(0).last == Change.objects.count()
    empty_the_site()
    call_command("grow", "--cables", "2", "--seed", str(SEED), "--processes", "1")
    with pytest.raises(CommandError, match="none is no whole number"):
        call_command("grow", "--cables", "none")
    with pytest.raises(CommandError, match="--add"):
        call_command("grow", "--cables", "6", "--seed", str(SEED), "--processes", "1")
    assert Cable.objects.count() == 2
    call_command("grow", "--cables", "6", "--seed", str(SEED), "--processes", "1", "--add")
    assert "New: 4 cables" in capsys.readouterr().out
    assert exported() == whole
    empty_the_site()
    grow(6, SEED + 1)
    assert exported() != whole


@pytest.mark.django_db
def test_what_is_grown_goes_into_another_site_and_comes_out_the_same(tmp_path):
    grow(6, SEED)
    before, export = derived(), tmp_path / "here.ndjson"
    export.write_bytes(exported())
    empty_the_site()
    call_command("import", str(export), stdout=io.StringIO())
    assert exported() == export.read_bytes()
    after = derived()
    # Accounts do not travel, and of people only their names.
    assert {name: after[name] == before[name] for name in before} == dict.fromkeys(before, True) | {
        "confirmations": False
    }


@pytest.mark.django_db(transaction=True)
def test_two_processes_grow_the_same_as_one(monkeypatch):
    monkeypatch.setattr("catalogue.usecases.growing.AT_ONCE", 2)
    grow(6, SEED)
    alone = exported()
    empty_the_site()
    grow(6, SEED, processes=2)
    assert exported() == alone
