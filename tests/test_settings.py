"""What differs between installations: a bad value stops the start with a sentence, a cache that is gone nothing."""

import pytest
from django.core.cache import CacheHandler
from django.core.exceptions import ImproperlyConfigured

from catalogue import settings
from tests.machines.servers import free_port


def test_a_queue_that_is_none_is_refused(monkeypatch):
    monkeypatch.setenv("TASK_QUEUE", "carrier pigeon")
    with pytest.raises(ImproperlyConfigured, match="one of immediate and database, and not carrier pigeon"):
        settings.queue()


@pytest.mark.parametrize(
    ("store", "replica"),
    [("django.db.backends.postgresql", "sqlite:///replica"), ("catalogue.sqlite", "postgres://127.0.0.1/replica")],
)
def test_only_postgresql_has_a_replica(monkeypatch, store, replica):
    monkeypatch.setitem(settings.DATABASES["default"], "ENGINE", store)
    monkeypatch.setenv("REPLICA_URL", replica)
    with pytest.raises(ImproperlyConfigured, match="a PostgreSQL server each"):
        settings.replica()


def test_a_shared_cache_that_is_gone_is_an_empty_one(monkeypatch):
    monkeypatch.setenv("CACHE_URL", f"redis://127.0.0.1:{free_port()}/0")
    cache = CacheHandler({"default": settings.cache()})["default"]
    cache.set("drawing", b"lines")
    assert cache.get("drawing", "nothing") == "nothing"
    assert not cache.add("drawing", b"lines")
