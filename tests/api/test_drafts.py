"""Drafts through the API: kept by their author alone, and never written over unseen."""

import json

import pytest

from catalogue.models import Draft, MapRevision
from catalogue.usecases import maps
from catalogue.usecases.people import new_token
from tests.api.conftest import ApiClient
from tests.factories import DraftFactory
from tests.samples import as_json, contradicted_usb_map, usb_map

pytestmark = pytest.mark.django_db

BEGUN = {"ends": [{"name": "A", "connector": "usb2-a"}], "readings": []}


@pytest.fixture
def somebody_else():
    token, _ = new_token("pavel")
    return ApiClient(headers={"Authorization": f"Token {token}"})


@pytest.fixture
def begun(contributor):
    """The number of a session that has just been begun."""
    return contributor.send("drafts/", BEGUN).json()["id"]


def put(client, number, document, version):
    body = document if isinstance(document, bytes) else as_json(document)
    headers = {"If-Match": version} if version else {}
    return client.put(f"/api/v1/drafts/{number}/", body, content_type="application/json", headers=headers)


def delete(client, number, version):
    return client.delete(f"/api/v1/drafts/{number}/", headers={"If-Match": version} if version else {})


def submit(client, number, document, version='"1"'):
    return client.send(f"drafts/{number}/submission/", document, headers={"If-Match": version})


def problem(response, status, code):
    assert response.status_code == status, response.content
    assert response["Content-Type"] == "application/problem+json"
    assert response.json()["code"] == code
    return response.json()


def test_a_session_is_begun_read_and_written_on(contributor):
    answer = contributor.send("drafts/", BEGUN | {"cable": {"maker": "Quillon", "model": "QX-7"}})
    assert answer.status_code == 201
    number = answer.json()["id"]
    assert answer["Location"] == f"/api/v1/drafts/{number}/"
    assert answer["ETag"] == '"1"'
    read = contributor.fetch(f"drafts/{number}/")
    assert read["ETag"] == '"1"'
    assert (read.json()["kind"], read.json()["title"], read.json()["version"]) == ("bench", "Quillon QX-7", 1)
    written = put(contributor, number, usb_map(), '"1"')
    assert (written.status_code, written["ETag"], written.json()["version"]) == (200, '"2"', 2)
    assert json.loads(contributor.fetch(f"drafts/{number}/").json()["text"]) == usb_map()


def test_a_writer_who_saw_an_older_version_changes_nothing_and_is_told(contributor, begun):
    assert put(contributor, begun, usb_map(), '"1"').status_code == 200
    told = problem(put(contributor, begun, BEGUN, '"1"'), 412, "stale")
    assert "version 2" in told["detail"]
    assert Draft.objects.get().text == as_json(usb_map()).decode()
    problem(delete(contributor, begun, '"1"'), 412, "stale")
    problem(submit(contributor, begun, usb_map()), 412, "stale")
    assert Draft.objects.get().version == 2
    assert not MapRevision.objects.exists()


@pytest.mark.parametrize("version", ["1", 'W/"1"', '"one"', '"1", "2"', '"' + "9" * 400 + '"', '"-1"'])
def test_what_names_no_version_is_stale(contributor, begun, version):
    problem(put(contributor, begun, usb_map(), version), 412, "stale")
    assert Draft.objects.get().version == 1


def test_without_a_version_nothing_is_written_over(contributor, begun):
    for answer in (put(contributor, begun, usb_map(), None), delete(contributor, begun, None)):
        problem(answer, 428, "version-missing")
    problem(contributor.send(f"drafts/{begun}/submission/", usb_map()), 428, "version-missing")
    assert Draft.objects.get().version == 1


def test_any_version_is_written_over_when_the_writer_says_so(contributor, begun):
    assert put(contributor, begun, usb_map(), "*").json()["version"] == 2
    assert delete(contributor, begun, "*").status_code == 204
    assert not Draft.objects.exists()


def test_a_refused_submission_is_worked_on_as_a_session(contributor):
    number = contributor.send("maps/", contradicted_usb_map()).json()["draft"]["id"]
    read = contributor.fetch(f"drafts/{number}/")
    assert (read.json()["kind"], len(read.json()["findings"]) > 0) == ("refused", True)
    assert put(contributor, number, usb_map(), read["ETag"]).json()["kind"] == "bench"
    assert contributor.fetch(f"drafts/{number}/").json()["findings"] == []
    # The same refused text sent again is a draft of its own, and the session stays.
    again = contributor.send("maps/", contradicted_usb_map()).json()["draft"]["id"]
    assert again != number
    assert Draft.objects.count() == 2


def test_two_sessions_may_say_the_same(contributor, begun):
    assert contributor.send("drafts/", BEGUN).json()["id"] != begun


def begin(client, document, key):
    return client.send("drafts/", document, headers={"Idempotency-Key": key})


def test_a_session_whose_answer_was_lost_is_sent_again_and_stays_one_draft(contributor, somebody_else):
    first = begin(contributor, BEGUN, "a1")
    assert first.status_code == 201
    longer = BEGUN | {"cable": {"maker": "Quillon"}}
    again = begin(contributor, longer, "a1")
    assert (again.status_code, again["ETag"], again.json()["id"]) == (200, '"1"', first.json()["id"])
    # Nothing is written over unseen: the sender gets what is there, and writes on with its version.
    assert json.loads(again.json()["text"]) == BEGUN
    assert put(contributor, first.json()["id"], longer, again["ETag"]).status_code == 200
    assert begin(somebody_else, BEGUN, "a1").status_code == 201
    assert begin(contributor, BEGUN, "a2").status_code == 201
    assert Draft.objects.count() == 3


@pytest.mark.parametrize("key", ["a b", "x" * 65, "é", '"a"\t'])
def test_a_session_is_called_by_what_a_header_can_hold(contributor, key):
    problem(begin(contributor, BEGUN, key), 422, "bad-request")
    assert not Draft.objects.exists()


def test_who_has_too_many_drafts_is_told_on_which_page_to_delete_one(contributor, begun, monkeypatch):
    monkeypatch.setattr(maps, "MOST_DRAFTS", 1)
    assert "/drafts/" in problem(contributor.send("drafts/", BEGUN), 409, "too-many-drafts")["detail"]
    told = problem(contributor.send("maps/", contradicted_usb_map()), 409, "too-many-drafts")
    assert "readings-contradict" in {finding["code"] for finding in told["findings"]}
    assert problem(contributor.send("maps/", b"{"), 409, "too-many-drafts")["defects"]
    assert Draft.objects.count() == 1
    assert contributor.send("maps/", usb_map()).status_code == 201


def test_a_submitted_session_becomes_a_map(contributor, begun):
    answer = submit(contributor, begun, usb_map())
    assert answer.status_code == 201
    assert (answer.json()["cable"], answer.json()["revision"]) == ("orrin-vale-invented-plotter-lead-pl-2", 1)
    assert not Draft.objects.exists()
    problem(submit(contributor, begun, usb_map()), 404, "not-found")
    assert MapRevision.objects.count() == 1


def test_a_refused_session_stays_as_it_is_with_the_findings(contributor, begun):
    told = problem(submit(contributor, begun, contradicted_usb_map()), 422, "map-refused")
    assert "readings-contradict" in {finding["code"] for finding in told["findings"]}
    assert told["draft"]["id"] == begun
    read = contributor.fetch(f"drafts/{begun}/").json()
    assert (json.loads(read["text"]), read["version"]) == (BEGUN, 1)
    assert read["findings"] == told["findings"]
    assert not MapRevision.objects.exists()


def test_a_session_that_lacks_something_is_told_what(contributor, begun):
    told = problem(submit(contributor, begun, BEGUN), 422, "bad-document")
    assert told["defects"]
    assert Draft.objects.count() == 1


@pytest.mark.parametrize("body", [b" ", b"[1]", b"no", b'"text"', b"\xff\xfe", b"[" * 5000, b'{"a": "\0"}'])
def test_what_is_no_json_object_is_not_kept(contributor, begun, body):
    problem(contributor.send("drafts/", body), 422, "bad-document")
    problem(put(contributor, begun, body, '"1"'), 422, "bad-document")
    assert (Draft.objects.count(), Draft.objects.get().version) == (1, 1)


@pytest.mark.parametrize("cable", [None, [], {"maker": 7, "model": ["x"]}, {"maker": "\0\ud800\n", "model": "é" * 999}])
def test_a_cable_without_a_readable_name_is_kept_all_the_same(contributor, cable):
    number = contributor.send("drafts/", BEGUN | {"cable": cable}).json()["id"]
    assert json.loads(contributor.fetch(f"drafts/{number}/").json()["text"])["cable"] == cable


def test_a_text_over_the_limit_is_not_kept(contributor, settings):
    settings.DOCUMENT_BYTES = 200
    problem(contributor.send("drafts/", usb_map()), 413, "too-large")
    assert not Draft.objects.exists()


def test_a_person_is_shown_their_own_drafts_and_no_others(contributor, somebody_else, begun):
    DraftFactory(title="Theirs")
    (shown,) = contributor.fetch("drafts/").json()["results"]
    assert shown["id"] == begun
    assert "text" not in shown
    assert somebody_else.fetch("drafts/").json()["results"] == []
    problem(somebody_else.fetch(f"drafts/{begun}/"), 404, "not-found")
    problem(put(somebody_else, begun, usb_map(), "*"), 404, "not-found")
    problem(delete(somebody_else, begun, "*"), 404, "not-found")
    problem(submit(somebody_else, begun, usb_map(), "*"), 404, "not-found")
    assert Draft.objects.get(pk=begun).version == 1


def test_a_visitor_keeps_no_drafts(visitor, begun):
    for answer in (
        visitor.fetch("drafts/"),
        visitor.send("drafts/", BEGUN),
        visitor.fetch(f"drafts/{begun}/"),
        put(visitor, begun, usb_map(), "*"),
        delete(visitor, begun, "*"),
        submit(visitor, begun, usb_map(), "*"),
    ):
        problem(answer, 401, "not-authenticated")
    assert Draft.objects.get().version == 1


def test_the_list_costs_as_many_statements_for_many_drafts_as_for_one(contributor, begun, django_assert_num_queries):
    author = Draft.objects.get().author
    with django_assert_num_queries(3):
        contributor.fetch("drafts/")
    DraftFactory.create_batch(12, author=author)
    with django_assert_num_queries(3):
        contributor.fetch("drafts/")
