"""Exports and imports: a copy is the same to the byte, and what is not right changes nothing."""

import gzip
import json
from dataclasses import replace
from hashlib import sha256

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from catalogue.core.document import Meter
from catalogue.core.problems import BadDocument, Conflict
from catalogue.core.reviewing import Standing
from catalogue.models import (
    Cable,
    Change,
    Confirmation,
    EarlierConfirmation,
    EndRow,
    FailureReport,
    MapRevision,
    Review,
    User,
)
from catalogue.usecases import confirmations, failures, imports, maps
from catalogue.usecases.changes import changes_since
from catalogue.usecases.exports import write_export
from catalogue.usecases.imports import import_file
from tests.exported import BREAK, KINDS, decided, empty_the_site, exported, made_catalogue, person, submitted
from tests.samples import as_json, contradicted_usb_map

pytestmark = pytest.mark.django_db


@pytest.fixture
def file(tmp_path):
    def written(content, name="site.ndjson"):
        path = tmp_path / name
        path.write_bytes(content)
        return path

    return written


def everything():
    return [list(model.objects.order_by("pk").values()) for model in (*KINDS, EndRow, Change)]


def entries(export):
    return [json.loads(line) for line in export.splitlines()[1:-1]]


def changed(export, change):
    """An export in which an entry says something else, with counts and checksums that fit."""
    lines = export.splitlines(keepends=True)
    said = []
    for line in lines[1:-1]:
        says = json.loads(line)
        change(says)
        said.append(json.dumps(says, ensure_ascii=False, separators=(",", ":")).encode() + b"\n")
    end = json.loads(lines[-1])
    for kind in end["counts"]:
        of_kind = [line for line in said if json.loads(line)["kind"] == kind]
        end["counts"][kind] = len(of_kind)
        end["checksums"][kind] = sha256(b"".join(of_kind)).hexdigest()
    end["checksums"]["content"] = sha256(b"".join(said)).hexdigest()
    end["checksums"]["all"] = sha256(b"".join([lines[0], *said])).hexdigest()
    return b"".join([lines[0], *said, json.dumps(end, separators=(",", ":")).encode() + b"\n"])


def test_a_copy_of_the_site_exports_the_same_bytes(file):
    made_catalogue()
    export = exported()
    empty_the_site()
    User.objects.all().delete()
    taken = import_file(file(export))
    assert dict(taken.new) == {
        "cable": 2,
        "map": 3,
        "failure": 2,
        "confirmation": 1,
        "earlier": 1,
        "review": 3,
        "wanted": 1,
    }
    assert exported() == export
    assert not User.objects.exists()


@pytest.mark.parametrize(("at_once", "size"), [(1, 10**9), (5, 10**9), (100, 1), (100, 3000)])
def test_it_comes_out_the_same_in_whatever_portions_it_is_stored(file, monkeypatch, at_once, size):
    made_catalogue()
    export = exported()
    empty_the_site()
    monkeypatch.setattr(imports, "AT_ONCE", at_once)
    monkeypatch.setattr(imports, "BYTES_AT_ONCE", size)
    import_file(file(export))
    assert exported() == export


def test_the_same_catalogue_gives_the_same_bytes_whatever_was_drafted():
    made_catalogue()
    before = exported()
    maps.submit_map(person("mira"), as_json(contradicted_usb_map()))
    assert exported() == before


def test_a_packed_export_holds_the_same_and_is_read_alike(file, tmp_path):
    made_catalogue()
    with (tmp_path / "a.ndjson.gz").open("wb") as target:
        write_export(target, is_packed=True)
    packed, plain = (tmp_path / "a.ndjson.gz").read_bytes(), exported()
    assert gzip.decompress(packed) == plain
    empty_the_site()
    import_file(tmp_path / "a.ndjson.gz")
    assert exported() == plain
    with pytest.raises(BadDocument, match="unpacked"):
        import_file(file(packed[:-20], "cut.ndjson.gz"))


def test_nothing_of_people_is_in_it_but_the_names_that_the_site_shows():
    made_catalogue()
    User.objects.update(email="mira@example.invalid", first_name="Mirabel")
    export = exported().decode()
    assert "example.invalid" not in export
    assert "Mirabel" not in export
    assert "wren" not in export  # reviewers are not named on the site
    assert {entry["author"] for entry in entries(export) if "author" in entry} == {"mira", "idris", "petra"}
    assert [set(entry) for entry in entries(export) if entry["kind"] == "failure"] == [
        {"kind", "id", "cable", "map", "at", "told", "earlier"}
    ] * 2


def test_what_is_withdrawn_is_in_no_export(file):
    first = made_catalogue()
    decided(first, Standing.WITHDRAWN)
    lines = entries(exported())
    assert first.content_hash not in json.dumps(lines)
    assert [entry["number"] for entry in lines if entry["kind"] == "map"].count(1) == 1
    assert not [entry for entry in lines if entry["kind"] == "confirmation"]
    for row in MapRevision.objects.shown():
        decided(row, Standing.WITHDRAWN)
    assert [entry["kind"] for entry in entries(exported())] == ["wanted"]
    export = exported()
    empty_the_site()
    import_file(file(export))
    assert exported() == export


def test_what_a_report_told_before_comes_along(file):
    first = made_catalogue()
    own = first.cable.failures.get()
    for words in ("told anew", "and once more"):
        failures.send_report(
            person("petra"), Cable.objects.get(pk=first.cable_id), replace(BREAK, words=words), str(own.pk)
        )
    export = exported()
    empty_the_site()
    import_file(file(export))
    assert exported() == export
    row = MapRevision.objects.get(content_hash=first.content_hash).cable.failures.get()
    tellings = [telling.failure.words for telling in failures.tellings_of(row)]
    assert tellings == [BREAK.words, "told anew", "and once more"]
    assert Review.objects.filter(report=row, decision="not-reviewed").count() == 2


def test_what_somebody_confirmed_before_comes_along(file):
    first = made_catalogue()
    told = confirmations.verdicts_of(first)
    export = exported()
    empty_the_site()
    import_file(file(export))
    (now,) = confirmations.verdicts_of(MapRevision.objects.get(content_hash=first.content_hash))
    assert [(each.at, each.note, each.verdict) for each in (now, *now.earlier)] == [
        (each.at, each.note, each.verdict) for each in (told[0], *told[0].earlier)
    ]
    assert [each.verdict.nets_tested for each in (now, *now.earlier)] == [2, 1]


def test_an_export_of_before_earlier_confirmations_were_in_it_is_taken_in(file):
    made_catalogue()
    EarlierConfirmation.objects.all().delete()
    export = exported()
    empty_the_site()
    lines = export.splitlines(keepends=True)
    lines[0] = lines[0].replace(b'"schema":2', b'"schema":1')
    end = json.loads(lines[-1])
    del end["counts"]["earlier"], end["checksums"]["earlier"]
    end["checksums"]["all"] = sha256(b"".join(lines[:-1])).hexdigest()
    import_file(file(b"".join([*lines[:-1], json.dumps(end, separators=(",", ":")).encode() + b"\n"])))
    assert exported() == export


def test_a_second_import_changes_nothing(file):
    made_catalogue()
    path = file(exported())
    before = everything()
    taken = import_file(path)
    assert (taken.new.total(), taken.known) == (0, 13)
    assert everything() == before


def test_what_a_site_lacks_is_added_and_the_rest_stays(file):
    made_catalogue()
    export = exported()
    kept = [row["id"] for row in MapRevision.objects.values("id")]
    Review.objects.all().delete()
    Confirmation.objects.all().delete()
    taken = import_file(file(export))
    assert taken.told_new() == "1 confirmation, 1 earlier, 3 review"
    assert [row["id"] for row in MapRevision.objects.values("id")] == kept
    assert entries(exported()) == entries(export)


def test_an_imported_cable_is_found_read_and_drawn_like_any_other(file):
    first = made_catalogue()
    rows = [
        (row.name, row.connector, row.contact_count, row.row_lengths, bytes(row.net_numbers))
        for row in EndRow.objects.order_by("map__content_hash", "pk")
    ]
    columns = ("wiring", "findings", "contact_count", "net_count", "path_count", "reading_count", "hardware_revision")
    derived = list(MapRevision.objects.order_by("content_hash").values(*columns))
    cable = ("search_text", "name_text", "devices", "summary", "slug")
    found = list(Cable.objects.order_by("identity").values(*cable))
    traits = sorted(Cable.objects.values_list("identity", "traits__kind", "traits__value"))
    verdict = confirmations.verdicts_of(first)[0].verdict
    export = exported()
    empty_the_site()
    import_file(file(export))
    assert rows == [
        (row.name, row.connector, row.contact_count, row.row_lengths, bytes(row.net_numbers))
        for row in EndRow.objects.order_by("map__content_hash", "pk")
    ]
    assert list(MapRevision.objects.order_by("content_hash").values(*columns)) == derived
    assert list(Cable.objects.order_by("identity").values(*cable)) == found
    assert sorted(Cable.objects.values_list("identity", "traits__kind", "traits__value")) == traits
    row = MapRevision.objects.get(content_hash=first.content_hash)
    assert confirmations.verdicts_of(row)[0].verdict == verdict
    assert row.cable.latest.number == 2
    assert failures.failures_as_values(row.cable)[0].note == "two\nlines"
    assert row.by == "mira (on another site)"


def test_somebody_of_the_same_name_here_is_not_taken_for_the_author(file):
    made_catalogue()
    export = exported()
    empty_the_site()
    import_file(file(export))
    assert not User.objects.get(username="mira").maps.exists()
    assert {row.by for row in MapRevision.objects.all()} == {"mira (on another site)", "idris (on another site)"}


def test_a_site_with_other_maps_takes_in_what_is_new(file):
    made_catalogue()
    export = exported()
    empty_the_site()
    own = submitted("zora", cable={"maker": "Quillon (invented)", "model": "Sight lead 3"})
    import_file(file(export))
    assert [entry for entry in entries(exported()) if entry["id"] != own.content_hash and "Quillon" not in str(entry)]
    assert {entry["id"] for entry in entries(export)} < {entry["id"] for entry in entries(exported())}
    assert changes_since(0).last == len(entries(exported()))


@pytest.mark.parametrize(
    ("kind", "change", "why"),
    [
        ("cable", {"maker": "Somebody else"}, "is not the one of this maker"),
        ("map", {"number": 7}, "something else is known"),
        ("map", {"cable": "b" * 64}, "something else is known"),
        ("failure", {"at": "2020-01-01T00:00:00.000000Z"}, "something else is known"),
        ("earlier", {"note": "another"}, "something else is known"),
        ("review", {"reason": "another"}, "something else is known"),
        ("wanted", {"askers": 9}, "something else is known"),
    ],
)
def test_a_contradiction_names_the_line_and_nothing_is_stored(file, kind, change, why):
    made_catalogue()
    if kind == "cable":
        Review.objects.all().delete()
    export = exported()
    line = next(number for number, entry in enumerate(entries(export), start=2) if entry["kind"] == kind)

    def one(says):
        if says["id"] == entries(export)[line - 2]["id"]:
            says |= change

    if kind == "cable":
        empty_the_site()
    else:
        # Something that would be new comes before the contradiction, and is not kept either.
        (FailureReport if kind == "earlier" else Confirmation).objects.all().delete()
    before = everything()
    with pytest.raises(Conflict) as problem:
        import_file(file(changed(export, one)))
    assert problem.value.defects[0].where == f"line {line}"
    assert why in problem.value.text
    assert everything() == before


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("map", {"cable": "b" * 64}),
        ("map", {"at": "2026-13-01T00:00:00.000000Z"}),
        ("failure", {"cable": "b" * 64}),
        ("failure", {"map": "b" * 64}),
        ("failure", {"at": "2026-02-30T00:00:00.000000Z"}),
        ("confirmation", {"map": "b" * 64}),
        ("earlier", {"confirmation": "0f5d7af9-f376-4add-8ef0-2874335361b4"}),
        ("earlier", {"at": "2026-02-30T00:00:00.000000Z"}),
        ("review", {"target": "b" * 64, "of": "map"}),
        ("wanted", {"model": "Another"}),
    ],
)
def test_an_entry_that_names_what_is_not_there_is_refused_whole(file, kind, change):
    made_catalogue()
    export = exported()
    empty_the_site()
    with pytest.raises(Conflict, match="Nothing was stored"):
        import_file(file(changed(export, lambda says: says.update(change if says["kind"] == kind else {}))))
    assert not any(everything())


def test_a_damaged_file_stores_nothing(file):
    made_catalogue()
    export = exported()
    empty_the_site()
    for damaged in (export[:-100], export.replace(b"two\\nlines", b"two\\nlimes"), export[:2000], b""):
        with pytest.raises(BadDocument, match="line"):
            import_file(file(damaged))
        assert not any(everything())


def test_a_batch_takes_the_same_number_of_statements_whatever_is_in_it(file):
    def statements(number):
        empty_the_site()
        for model in range(number):
            row = submitted(cable={"maker": "Tarn & Fell (invented)", "model": f"Lead {model}"})
            failures.report_failure(person("petra"), row.cable, BREAK)
            for ohms in (0.7, 0.8):
                read = f"HOST:1 PLOTTER:1 {ohms} ohm"
                confirmations.confirm_with_text(person("petra"), row, read, Meter(), "")
            decided(row, Standing.APPROVED)
        path = file(exported())
        empty_the_site()
        with CaptureQueriesContext(connection) as context:
            import_file(path)
        return len(context)

    assert statements(6) == statements(1)
    assert Cable.objects.count() == 1
