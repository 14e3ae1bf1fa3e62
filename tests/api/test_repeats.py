"""Requests that are sent again with their key do nothing twice."""

from datetime import timedelta
from threading import Barrier, Thread

import pytest
from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from catalogue.models import Confirmation, Draft, FailureReport, KeptAnswer, MapRevision
from catalogue.usecases.people import new_token
from catalogue.usecases.repeats import KEPT
from tests.api.conftest import ApiClient
from tests.api.test_maps import problem
from tests.samples import contradicted_usb_map, usb_map

KEY = {"Idempotency-Key": "6e1f"}
REPORT = {"cable": "orrin-vale-invented-plotter-lead-pl-2", "kind": "core-open", "ending": "mended"}
OTHER = usb_map(meter={"lead_ohms": 0.3})
READINGS = {"readings": [{"id": "r1", "mode": "beep", "red": "HOST:1", "black": "PLOTTER:1", "beeps": True}]}


def everything():
    return tuple(model.objects.count() for model in (MapRevision, Draft, FailureReport, Confirmation))


def same(first, again):
    names = {"Location", "ETag", "Content-Type"} & set(first.headers)
    assert (first.status_code, first.content) == (again.status_code, again.content)
    assert [first[name] for name in names] == [again[name] for name in names]
    return first


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("path", "body", "status"),
    [
        ("maps/", usb_map(), 201),
        ("maps/", contradicted_usb_map(), 422),
        ("failures/", REPORT, 201),
        ("maps/{map}/confirmations/", READINGS, 201),
    ],
)
def test_a_request_sent_again_is_answered_alike_and_done_once(path, body, status):
    author = ApiClient(headers={"Authorization": f"Token {new_token('oren')[0]}"})
    stored = author.send("maps/", usb_map(meter={"lead_ohms": 0.3})).json()
    sender = ApiClient(headers={"Authorization": f"Token {new_token('mira')[0]}"})
    address = path.format(map=stored["id"])
    first = sender.send(address, body, headers=KEY)
    after = everything()
    assert first.status_code == status
    same(first, sender.send(address, body, headers=KEY))
    assert everything() == after


@pytest.mark.django_db
def test_a_submitted_draft_is_told_again_although_it_is_gone(contributor):
    draft = contributor.send("drafts/", usb_map()).json()
    address = f"drafts/{draft['id']}/submission/"
    first = contributor.send(address, usb_map(), headers=KEY | {"If-Match": '"1"'})
    assert first.status_code == 201
    same(first, contributor.send(address, usb_map(), headers=KEY | {"If-Match": '"1"'}))
    problem(contributor.send(address, usb_map(), headers={"If-Match": "*"}), 404, "not-found")


@pytest.mark.django_db
def test_another_request_with_the_same_key_is_refused(contributor):
    contributor.send("maps/", usb_map(), headers=KEY)
    problem(contributor.send("maps/", OTHER, headers=KEY), 422, "key-reused")
    problem(contributor.send("failures/", usb_map(), headers=KEY), 422, "key-reused")
    assert everything() == (1, 0, 0, 0)


@pytest.mark.django_db
def test_somebody_else_may_have_the_same_key(contributor):
    contributor.send("maps/", usb_map(), headers=KEY)
    other = ApiClient(headers={"Authorization": f"Token {new_token('oren')[0]}"})
    assert other.send("maps/", OTHER, headers=KEY).status_code == 201


@pytest.mark.django_db
def test_an_error_that_left_nothing_behind_is_tried_anew(contributor):
    problem(contributor.send("failures/", REPORT, headers=KEY), 404, "not-found")
    contributor.send("maps/", usb_map())
    assert contributor.send("failures/", REPORT, headers=KEY).status_code == 201


@pytest.mark.django_db
def test_an_unexpected_error_takes_everything_back(contributor, monkeypatch):
    def fall(*_):
        raise RuntimeError

    with monkeypatch.context() as broken:
        broken.setattr("catalogue.store.withdrawal_of", fall)
        broken.setattr("catalogue.search.cables.refresh", fall)
        problem(contributor.send("maps/", usb_map(), headers=KEY), 500, "internal-error")
    assert everything() == (0, 0, 0, 0)
    assert not KeptAnswer.objects.exists()
    assert contributor.send("maps/", usb_map(), headers=KEY).status_code == 201


@pytest.mark.django_db
@pytest.mark.parametrize("key", ["", " ", "a b", "é", "k" * 256])
def test_a_key_that_is_none_is_told_so(contributor, key):
    problem(contributor.send("maps/", usb_map(), headers={"Idempotency-Key": key}), 422, "bad-request")
    assert everything() == (0, 0, 0, 0)


@pytest.mark.django_db
def test_a_visitor_with_a_key_is_not_let_in(visitor):
    problem(visitor.send("maps/", usb_map(), headers=KEY), 401, "not-authenticated")


@pytest.mark.django_db
def test_without_a_key_nothing_more_is_asked_of_the_store(contributor, django_assert_max_num_queries):
    with django_assert_max_num_queries(15):
        contributor.send("maps/", usb_map())
    assert not KeptAnswer.objects.exists()


@pytest.mark.django_db
def test_after_a_day_the_key_is_free_and_the_answer_thrown_away(contributor, capsys):
    contributor.send("maps/", usb_map(), headers=KEY)
    KeptAnswer.objects.update(created_at=timezone.now() - KEPT)
    assert contributor.send("maps/", OTHER, headers=KEY).status_code == 201
    contributor.send("maps/", usb_map(), headers={"Idempotency-Key": "another"})
    KeptAnswer.objects.filter(key="another").update(created_at=timezone.now() - KEPT - timedelta(seconds=1))
    call_command("tidy")
    assert capsys.readouterr().out == "Kept answers and finished tasks thrown away: 1. Tasks of dead workers: 0.\n"
    assert [row.key for row in KeptAnswer.objects.all()] == [KEY["Idempotency-Key"]]


@pytest.mark.django_db(transaction=True)
def test_two_at_once_are_answered_alike_and_done_once(transactional_db):
    token, _ = new_token("mira")
    together, answers = Barrier(2), []

    def send():
        client = ApiClient(headers={"Authorization": f"Token {token}"})
        together.wait()
        answers.append(client.send("maps/", usb_map(), headers=KEY))
        connection.close()

    threads = [Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert same(*answers).status_code == 201
    assert everything() == (1, 0, 0, 0)
