"""Who reads from the replica and who from the primary. That both are really there, tests/machines tries."""

import pytest
from django.db import OperationalError, connections, transaction
from django.db import router as django_router
from django.http import HttpResponse
from django.test import RequestFactory

from catalogue import replica
from catalogue.models import Cable, Draft

router = replica.Router()


class Site:
    """A site that reads, and maybe writes, once a request, and tells where."""

    def __init__(self, *steps, status=200):
        self.steps, self.status, self.places = steps, status, []

    def __call__(self, request):
        for step in self.steps:
            self.places.append(step())
        return HttpResponse(status=self.status if self.places[-1] == "replica" else 200)

    def answers(self, method="GET", cookies=None, **headers):
        request = RequestFactory().generic(method, "/", headers=headers)
        request.COOKIES |= cookies or {}
        return replica.ReadFromReplica(self)(request)


def reads():
    return router.db_for_read(Cable)


def writes():
    return router.db_for_write(Draft)


@pytest.fixture(autouse=True)
def there(monkeypatch):
    monkeypatch.setattr(replica.Replica, "answers", lambda self: True)


def places(site, *args, **kwargs):
    site.answers(*args, **kwargs)
    return site.places


@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_who_only_reads_and_says_no_name_reads_from_the_replica(method):
    assert places(Site(reads, reads), method) == ["replica", "replica"]


@pytest.mark.parametrize(
    "asked",
    [
        {"method": "POST"},
        {"method": "DELETE"},
        {"cookies": {"sessionid": "of somebody"}},
        {"cookies": {"wrote": "1"}},
        {"headers": {"Authorization": "Token of-somebody"}},
    ],
    ids=str,
)
def test_whoever_may_have_written_reads_from_the_primary(asked):
    asked = dict(asked)
    headers = asked.pop("headers", {})
    assert places(Site(reads), **asked, **headers) == ["default"]


def test_what_is_read_after_writing_is_read_where_it_was_written():
    assert places(Site(reads, writes, reads)) == ["replica", "default", "default"]


@pytest.mark.django_db
def test_a_transaction_stays_on_the_primary():
    def in_transaction():
        with transaction.atomic():
            return reads()

    assert places(Site(in_transaction)) == ["default"]


def test_locking_and_making_when_missing_are_never_of_the_replica(monkeypatch):
    monkeypatch.setattr(django_router, "routers", [router])
    found = []
    Site(
        lambda: found.append(Cable.objects.all().db) or "",
        lambda: found.append(Cable.objects.select_for_update().db) or "",
    ).answers()
    assert found == ["replica", "default"]


def test_outside_of_requests_all_is_of_the_primary():
    Site(reads).answers()
    assert reads() == "default"


def test_what_fails_on_the_replica_is_done_again_on_the_primary():
    site = Site(reads, status=500)
    assert site.answers().status_code == 200
    assert site.places == ["replica", "default"]


def test_what_fails_on_the_primary_is_done_once():
    site = Site(reads, status=404)
    assert (site.answers().status_code, site.places) == (404, ["replica"])


def test_who_writes_without_an_account_reads_from_the_primary_for_a_while():
    assert "wrote" not in Site(reads).answers("POST").cookies
    cookie = Site(writes).answers("POST").cookies["wrote"]
    assert (cookie["max-age"], cookie["httponly"], cookie["samesite"]) == (10, True, "Lax")


def test_a_replica_that_is_gone_is_asked_again_after_a_while(monkeypatch, caplog):
    monkeypatch.undo()
    asked, time = [], [100.0]

    class Gone:
        def cursor(self):
            asked.append(time[0])
            raise OperationalError("nobody there")

    monkeypatch.setattr(replica, "connections", {"replica": Gone(), "default": connections["default"]})
    monkeypatch.setattr(replica.time, "monotonic", lambda: time[0])
    one = replica.Replica()
    for moment in (100.0, 101.0, 101.9, 102.1):
        time[0] = moment
        assert not one.answers()
    assert asked == [100.0, 102.1]
    assert caplog.text.count("nobody there") == 2
