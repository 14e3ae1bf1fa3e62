"""`exports/` and `changes/`: what mirrors take."""

import gzip
import json
import threading

import pytest
from django.db import connection, transaction
from jsonschema_rs import Draft202012Validator

from catalogue import store
from catalogue.core.reviewing import Standing
from catalogue.models import MapRevision
from catalogue.usecases import changes
from tests.exported import decided, exported, made_catalogue, submitted

pytestmark = pytest.mark.django_db


def content(response):
    return b"".join(response.streaming_content)


def test_the_whole_catalogue_comes_as_a_file_plain_or_packed(visitor):
    made_catalogue()
    plain, packed = visitor.fetch("exports/corelore.ndjson"), visitor.fetch("exports/corelore.ndjson.gz")
    assert (plain.status_code, plain["Content-Type"]) == (200, "application/x-ndjson")
    assert plain["Content-Disposition"] == 'attachment; filename="corelore.ndjson"'
    assert packed["Content-Type"] == "application/gzip"
    assert content(plain) == exported() == gzip.decompress(content(packed))


def test_changes_are_followed_by_the_address_that_each_page_gives(visitor, monkeypatch):
    monkeypatch.setattr(changes, "A_PAGE", 5)
    made_catalogue()
    address, found = "/api/v1/changes/", []
    while True:
        page = visitor.get(address).json()
        assert set(page) == {"licence", "changes", "last", "has_more", "next"}
        found += page["changes"]
        address = page["next"]
        if not page["has_more"]:
            break
    assert address == "http://testserver/api/v1/changes/?since=13"
    assert [change["number"] for change in found] == list(range(1, 14))
    assert {(change["kind"], change["entry"]["kind"]) for change in found} == {
        (kind, kind) for kind in ("cable", "map", "failure", "confirmation", "earlier", "review", "wanted")
    }
    lines = [json.loads(line) for line in exported().splitlines()[1:-1]]
    assert sorted(map(json.dumps, lines)) == sorted(json.dumps(change["entry"]) for change in found)


def test_a_withdrawn_map_is_nobodys_to_have(visitor):
    first = made_catalogue()
    decided(first, Standing.WITHDRAWN)
    told = visitor.fetch("changes/").json()["changes"]
    assert [change["kind"] for change in told if change["entry"] is None] == ["map", "confirmation", "earlier"]
    assert first.content_hash.encode() not in content(visitor.fetch("exports/corelore.ndjson"))


@pytest.mark.parametrize("since", ["x", "-1", "", "1.5", "9" * 16, "\u0661", "1%00"])
def test_a_number_that_is_none_is_told(visitor, since):
    answer = visitor.fetch(f"changes/?since={since}")
    assert (answer.status_code, answer.json()["code"]) == (422, "bad-request")


def test_a_number_beyond_the_end_is_told(visitor):
    answer = visitor.fetch("changes/?since=5")
    assert (answer.status_code, answer.json()["code"]) == (409, "conflict")


def test_the_shape_of_a_line_is_published_and_fits(visitor):
    made_catalogue()
    schema = json.loads(visitor.fetch("schemas/export.json").content)
    validator = Draft202012Validator(schema)
    for line in exported().splitlines():
        assert validator.is_valid(json.loads(line))
        assert not validator.is_valid(json.loads(line) | {"email": "mira@example.invalid"})


def test_nothing_is_posted_there(visitor):
    for path in ("exports/corelore.ndjson", "changes/", "schemas/export.json"):
        assert visitor.send(path, {}).status_code == 405


@pytest.mark.parametrize("maps", [1, 12])
def test_a_page_of_changes_takes_a_fixed_number_of_statements(visitor, maps, django_assert_num_queries):
    for number in range(maps):
        decided(submitted(cable={"maker": "Quillon (invented)", "model": f"Lead {number}"}), Standing.APPROVED)
    visitor.fetch("changes/")
    with django_assert_num_queries(6):
        visitor.fetch("changes/")


@pytest.mark.django_db(transaction=True)
def test_all_that_is_exported_is_of_one_moment_and_hinders_nobody():
    made_catalogue()
    with store.snapshot():
        before = MapRevision.objects.count()
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SHOW transaction_isolation")
                assert cursor.fetchone() == ("repeatable read",)
        _elsewhere(lambda: submitted(cable={"maker": "Quillon (invented)", "model": "Meanwhile"}))
        assert MapRevision.objects.count() == before
    assert MapRevision.objects.count() == before + 1
    with transaction.atomic():
        assert MapRevision.objects.count() == before + 1


def _elsewhere(act):
    """Do something on another connection, and wait for it."""
    failed = []

    def acting():
        try:
            act()
        except Exception as error:
            failed.append(error)
        finally:
            connection.close()

    thread = threading.Thread(target=acting)
    thread.start()
    thread.join(60)
    assert failed == []
