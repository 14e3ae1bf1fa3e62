"""Storing and serving maps: one of 66 contacts against its bounds, and how one of 200 contacts answers."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from django import urls
from django.conf import settings
from django.core.cache import cache
from django.core.handlers.wsgi import WSGIHandler
from django.core.wsgi import get_wsgi_application
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory, override_settings
from django.test.utils import CaptureQueriesContext

from catalogue.core.document import MapDocument
from catalogue.core.simulation import BenchMeter, every_pair, random_cable, read, specimen
from catalogue.exchange.documents import canonical_json
from catalogue.models import User
from catalogue.usecases import maps
from tests.bench.figure import Figure, seconds, times_as_long

MOST_STATEMENTS = 15
MOST_SECONDS = 1.0
LEAST_THROUGHPUT = 0.7
REQUESTS = 300


def read_cable(seed: int, contacts: tuple[int, ...] = (38, 24, 4), share: float = 1.0) -> MapDocument:
    """A true cable with that share of its pairs read, by a meter with error."""
    rng = np.random.default_rng(seed)
    cable = random_cable(rng, contacts)
    sample = specimen(cable, rng)
    acts = [act for act in every_pair(sample.points) if rng.random() < share]
    return replace(cable, readings=read(sample, acts, BenchMeter.of(cable.meter, rng)))


def figures() -> Iterator[Figure]:
    author = User.objects.create_user("bench")
    documents = [canonical_json(read_cable(seed)) for seed in range(4)]
    with CaptureQueriesContext(connection) as statements:
        stored = maps.submit_map(author, documents[0]).map
    count = len(statements)
    bound = f"≤ {MOST_STATEMENTS}"
    yield Figure("submit 66 contacts: SQL statements", str(count), bound, count <= MOST_STATEMENTS, exact=True)

    left = iter(documents[1:])
    taken = seconds(lambda: maps.submit_map(author, next(left)), runs=2)
    yield Figure("submit 66 contacts", f"{taken:.2f} s", f"≤ {MOST_SECONDS:g} s", taken <= MOST_SECONDS)

    assert stored is not None
    yield _throughput(stored.pk, stored.document.encode())
    yield from _large(author)


def _throughput(map_id: int, content: bytes) -> Figure:
    """Whole requests through one process, the stored document against a view that has the same bytes in memory."""
    site = get_wsgi_application()

    def bare(_: HttpRequest) -> HttpResponse:
        return HttpResponse(content, content_type="application/json")

    def many(path: str, routes: object) -> None:
        with override_settings(ROOT_URLCONF=routes):
            for _ in range(REQUESTS):
                answer(site, path)

    ratio = 1 / times_as_long(
        lambda: many(f"/api/v1/maps/{map_id}/document/", settings.ROOT_URLCONF),
        lambda: many("/bare/", (urls.path("bare/", bare),)),
    )
    name = f"map document ({len(content) // 1024} KiB) against a bare Django response, throughput"
    return Figure(name, f"{ratio:.2f} ×", f"≥ {LEAST_THROUGHPUT} ×", ratio >= LEAST_THROUGHPUT)


def _large(author: User) -> Iterator[Figure]:
    """200 contacts with a quarter of all pairs read: everything a person asks for, the first time it is asked for."""
    raw = canonical_json(read_cable(1, contacts=(100, 100), share=0.25))
    start = time.perf_counter()
    row = maps.submit_map(author, raw).map
    took = {"submit": time.perf_counter() - start}
    assert row is not None
    site = get_wsgi_application()
    pages = {
        "rail chart": f"/api/v1/maps/{row.pk}/drawings/rail.svg",
        "face chart": f"/api/v1/maps/{row.pk}/drawings/face.svg",
        "document": f"/api/v1/maps/{row.pk}/document/",
        "cable page": f"/cables/{row.cable.slug}/",
    }
    for name, path in pages.items():
        cache.clear()
        start = time.perf_counter()
        answer(site, path)
        took[name] = time.perf_counter() - start
    took["cable page again"] = seconds(lambda: answer(site, pages["cable page"]))
    for name, taken in took.items():
        yield Figure(f"200 contacts: {name}", f"{taken:.2f} s", f"≤ {MOST_SECONDS:g} s", taken <= MOST_SECONDS)


def answer(site: WSGIHandler, path: str) -> None:
    """One request as a server would make it; the answer is read to its end, and must be a good one."""

    def started(status: str, _: object) -> None:
        if status != "200 OK":
            raise RuntimeError(f"{path} answered {status}")

    answer = site(RequestFactory(SERVER_NAME="localhost").get(path).environ, started)
    for _ in answer:
        pass
    answer.close()
