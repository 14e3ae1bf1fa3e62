"""Storing and serving a 66-contact map on the store in use: statements, seconds, and throughput against a bare response."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from django import urls
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
from tests.bench.figure import Figure, seconds

MOST_STATEMENTS = 15
MOST_SECONDS = 1.0
LEAST_THROUGHPUT = 0.7
REQUESTS = 300


def read_cable(seed: int) -> MapDocument:
    """A true cable with ends of 38, 24 and 4 contacts and all its 2,145 readings, by a meter with error."""
    rng = np.random.default_rng(seed)
    cable = random_cable(rng, contacts=(38, 24, 4))
    sample = specimen(cable, rng)
    readings = read(sample, every_pair(sample.points), BenchMeter.of(cable.meter, rng))
    return replace(cable, readings=readings)


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


def _throughput(map_id: int, content: bytes) -> Figure:
    """Whole requests through one process, the stored document against a view that has the same bytes in memory."""
    site = get_wsgi_application()

    def bare(_: HttpRequest) -> HttpResponse:
        return HttpResponse(content, content_type="application/json")

    def many(path: str) -> float:
        return seconds(lambda: [_answer(site, path) for _ in range(REQUESTS)])

    document = many(f"/api/v1/maps/{map_id}/document/")
    with override_settings(ROOT_URLCONF=(urls.path("bare/", bare),)):
        ratio = many("/bare/") / document
    name = f"map document ({len(content) // 1024} KiB) against a bare Django response, throughput"
    return Figure(name, f"{ratio:.2f} ×", f"≥ {LEAST_THROUGHPUT} ×", ratio >= LEAST_THROUGHPUT)


def _answer(site: WSGIHandler, path: str) -> None:
    """One request as a server would make it; the answer is read to its end."""
    environ = RequestFactory().get(path).environ
    answer = site(environ, lambda status, headers: None)
    for _ in answer:
        pass
    answer.close()
