"""People at work at one time: they submit, search and download, from another process than the server's, over loopback.

The server is the one of `make demo`. Everybody has an account and an address of their own, so that the limits stay
as they are, and asks again as soon as there is an answer.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from http import HTTPStatus
from http.client import HTTPConnection
from itertools import chain
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import numpy as np
from django.db import connection

from catalogue.core.document import CableName
from catalogue.exchange.documents import canonical_json
from catalogue.usecases.people import new_token
from tests.bench.figure import Figure
from tests.bench.site import read_cable
from tests.machines.servers import Site, free_port

PEOPLE = 12
ROUNDS = 8
CONTACTS = ((4, 4), (9, 9), (15, 15), (26, 26), (38, 24, 4))
SEARCHES = ({"q": "lead"}, {"q": "laed"}, {"contacts": "30"}, {"maker": "Halyard"}, {})


@dataclass(frozen=True, slots=True)
class Asked:
    what: str
    seconds: float
    status: int
    wanted: HTTPStatus


def figures() -> Iterator[Figure]:
    documents = [[_document(person, number) for number in range(ROUNDS)] for person in range(PEOPLE)]
    tokens = [new_token(f"loading-{person}")[0] for person in range(PEOPLE)]
    with _server() as port, ThreadPoolExecutor(PEOPLE) as people:
        start = time.perf_counter()
        done = people.map(_person, [port] * PEOPLE, range(PEOPLE), tokens, documents)
        asked = list(chain.from_iterable(done))
        taken = time.perf_counter() - start

    wrong = [one for one in asked if one.status != one.wanted]
    told = f"{len(wrong)} of {len(asked)}" + "".join(f", {one.what}: {one.status}" for one in wrong[:3])
    yield Figure(f"{PEOPLE} people at one time: errors", told, "0", not wrong, exact=True)
    yield Figure(f"{PEOPLE} people at one time: throughput", f"{len(asked) / taken:.0f} requests/s")
    for what in dict.fromkeys(one.what for one in asked):
        milliseconds = [one.seconds * 1000 for one in asked if one.what == what]
        p95 = statistics.quantiles(milliseconds, n=20)[-1]
        yield Figure(
            f"{PEOPLE} people at one time: {what}",
            f"p50 {statistics.median(milliseconds):.0f} ms, p95 {p95:.0f} ms",
        )


def _document(person: int, number: int) -> str:
    rng = np.random.default_rng([person, number])
    contacts = CONTACTS[rng.integers(len(CONTACTS))]
    drawn = read_cable(int(rng.integers(2**31)), contacts, share=0.1)
    name = CableName(maker="Halyard (invented)", model=f"Loading lead {person}-{number}")
    return canonical_json(replace(drawn, cable=name))


def _person(port: int, person: int, token: str, documents: list[str]) -> list[Asked]:
    """One person's work from end to end."""
    line = HTTPConnection("127.0.0.1", port, timeout=60, source_address=(f"127.0.0.{10 + person}", 0))
    headers = {"Authorization": f"Token {token}", "Content-Type": "application/json"}
    asked = []

    def ask(what: str, method: str, path: str, body: str | None, wanted: HTTPStatus) -> Any:
        start = time.perf_counter()
        line.request(method, path, body, headers)
        answer = line.getresponse()
        answer.read()
        asked.append(Asked(what, time.perf_counter() - start, answer.status, wanted))
        return answer

    for number, document in enumerate(documents):
        stored = ask("submit", "POST", "/api/v1/maps/", document, HTTPStatus.CREATED)
        here = stored.headers.get("Location", "/api/v1/maps/0/")
        for search in (SEARCHES[(number + more) % len(SEARCHES)] for more in range(3)):
            ask("search", "GET", f"/api/v1/cables/?{urlencode(search)}", None, HTTPStatus.OK)
        ask("first drawing", "GET", f"{here}drawings/rail.svg", None, HTTPStatus.OK)
        ask("drawing again", "GET", f"{here}drawings/rail.svg", None, HTTPStatus.OK)
        ask("document", "GET", f"{here}document/", None, HTTPStatus.OK)
    line.close()
    return asked


@contextmanager
def _server() -> Iterator[int]:
    """The site on the store of this run; its port."""
    with tempfile.TemporaryDirectory() as folder:
        site = Site(Path(folder), DATABASE_URL=_store(), CACHE_URL=f"filecache://{folder}/cache")
        server = site.web(free_port(), workers=2)
        try:
            yield server.port
        finally:
            server.kill()


def _store() -> str:
    """The address of the database that this run has made for itself."""
    store = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{store['NAME']}"
    login = f"{store['USER']}:{store['PASSWORD']}" if store["PASSWORD"] else store["USER"]
    return f"postgres://{login}@{store['HOST']}:{store['PORT'] or 5432}/{store['NAME']}"
