"""How the site does with much in it: a grown catalogue, and what searching and reading it costs at each size.

Grows 1,000 cables, and then ten times as many as long as that is no more than SCALE_CABLES, which is 1,000 unless the
environment says otherwise: `SCALE_CABLES=100000 DATABASE_URL=postgres://… make bench ARGS=scale`. What is promised is
promised at 100,000 on PostgreSQL; at other sizes the figures are only told.

Bare SQL is the same statements with the same values, run again by the driver alone.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from django.core.cache import cache
from django.core.wsgi import get_wsgi_application
from django.db import connection
from django.db.models import Count

from catalogue import tables
from catalogue.core.failures import Ending, Failure, FailureKind, Symptom
from catalogue.core.inventing.cables import invented_cable
from catalogue.exchange.documents import canonical_json
from catalogue.models import Cable, FailureReport, User
from catalogue.usecases import cables, failure_points, failures, maps, matches
from catalogue.usecases.growing import grow
from tests.bench.figure import Figure, seconds, seconds_once
from tests.bench.site import answer

SCALE_CABLES = int(os.environ.get("SCALE_CABLES", "1000"))
FIRST_SIZE = 1000
PROMISED_SIZE = 100_000
SEED = 100
PROCESSES = os.cpu_count() or 1
RUNS = 5
MOST_SECONDS = 0.1
MOST_TIMES = 2.0

Question = Mapping[str, Any]

SEARCHES: tuple[Question, ...] = (
    {},
    {"words": "plotter lead"},
    {"words": "plottter laed"},
    {"words": "orrin vale"},
    {"words": "no picture"},
    {"words": "scanner works when bent"},
    {"words": "no power usb"},
    {"words": "tremolo swell hums"},
    {"words": "brask organ", "rides_on": "fibre"},
    {"words": "gauge lead thermo kink", "symptom": "wrong-readings"},
    {"words": "zzyzx nowhere lead"},
    {"connector": "usb2-a"},
    {"contacts": 38},
    {"symptom": "hot"},
    {"symptom": "noise", "connector": "xlr3-audio"},
    {"rides_on": "fibre", "place": "module"},
    {"ending": "mended", "symptom": "no-picture"},
)
COUNTS: tuple[Question, ...] = (
    {},
    {"symptom": "hot"},
    {"symptom": "no-power"},
    {"place": "middle"},
    {"place": "strain-relief", "symptom": "drops-out"},
    {"connector": "usb2-a"},
    {"rides_on": "fibre"},
    {"words": "plotter lead"},
    {"words": "organ", "symptom": "noise"},
)


@dataclass(frozen=True)
class Took:
    """Times in seconds: of every run of every question, and of the bare SQL of each beside the middle one of ours."""

    every: Sequence[float]
    ours: Sequence[float]
    bare: Sequence[float]

    def told(self) -> str:
        return f"p50 {statistics.median(self.every) * 1e3:.0f} ms, p95 {self.p95() * 1e3:.0f} ms"

    def p95(self) -> float:
        return float(np.percentile(self.every, 95))

    def times(self) -> float:
        return sum(self.ours) / sum(self.bare)


def figures() -> Iterator[Figure]:
    size = FIRST_SIZE
    while size <= SCALE_CABLES:
        start = time.perf_counter()
        told = grow(size, SEED, PROCESSES, adding=True)
        taken = time.perf_counter() - start
        what = f"{told['cables']:,} cables, {told['reports']:,} reports, {told['readings']:,} readings"
        yield Figure(f"grow to {size:,} cables", f"{taken:.0f} s for {what}")
        yield from _searching(size)
        yield from _reading_and_writing(size)
        size *= 10


def _searching(size: int) -> Iterator[Figure]:
    is_promised = size >= PROMISED_SIZE and connection.vendor == "postgresql"
    questions = [*SEARCHES, *_by_name()]
    for name, ask in {"search, page with facets": _page, "search, list of the API": _list}.items():
        took = _took(ask, questions)
        bound = f"p95 ≤ {MOST_SECONDS * 1e3:g} ms, ≤ {MOST_TIMES:g} × bare SQL" if is_promised else ""
        met = took.p95() <= MOST_SECONDS and took.times() <= MOST_TIMES if is_promised else None
        yield Figure(f"{size:,} cables: {name}", f"{took.told()}, {took.times():.2f} × bare SQL", bound, met)
    took = _took(lambda asked: failure_points.failure_points_of_all(**asked), COUNTS)
    bound = f"p95 ≤ {MOST_SECONDS * 1e3:g} ms" if is_promised else ""
    met = took.p95() <= MOST_SECONDS if is_promised else None
    yield Figure(f"{size:,} cables: failure points of all", took.told(), bound, met)


def _by_name() -> Iterator[Question]:
    """What people type who read it off a cable of the catalogue, one of them with a slip."""
    for cable in Cable.objects.exclude(latest=None).order_by("identity")[:4]:
        code = cable.model.rpartition(" ")[2]
        yield {"words": f"{cable.maker.partition(' (')[0]} {code}"}
        yield {"words": f"{cable.model.split()[0]}x {code}"}
        yield {"maker": cable.maker}


def _page(asked: Question) -> object:
    found = cables.search_cables(**asked)
    listing = cables.best_of(found, 0, 20)
    return listing if listing.total else cables.nearest_to(found)


def _list(asked: Question) -> object:
    return list(cables.search_cables(**asked).cables[:21])


def _took(ask: Callable[[Question], object], questions: Sequence[Question]) -> Took:
    runs = [_beside_bare(ask, question) for question in questions]
    middles = [[statistics.median(times) for times in zip(*each, strict=True)] for each in runs]
    return Took([own for each in runs for own, _ in each], *zip(*middles, strict=True))


def _beside_bare(ask: Callable[[Question], object], question: Question) -> list[tuple[float, float]]:
    """Seconds of each run, ours and that of the bare SQL."""
    asked: list[tuple[str, Any]] = []

    def listen(execute: Any, sql: str, given: Any, many: bool, context: Any) -> Any:
        asked.append((sql, given))
        return execute(sql, given, many, context)

    with connection.execute_wrapper(listen):
        ask(question)
    return [(seconds_once(lambda: ask(question)), seconds_once(lambda: _bare(asked))) for _ in range(RUNS)]


def _bare(asked: Sequence[tuple[str, Any]]) -> None:
    """The statements again, without the mapper."""
    cursor = connection.connection.cursor()
    for sql, given in asked:
        if connection.vendor == "sqlite":
            sql, given = sql.replace("%s", "?"), given or ()
        cursor.execute(sql, given)
        cursor.fetchall()
    cursor.close()


def _reading_and_writing(size: int) -> Iterator[Figure]:
    """On the cable with most reports, where there is most to do, unless it is about a new one."""
    most = FailureReport.objects.values("cable").annotate(count=Count("pk")).order_by("-count")[0]
    busiest = Cable.objects.get(pk=most["cable"])
    person, _ = User.objects.get_or_create(username="bench")
    site = get_wsgi_application()
    fresh = (invented_cable(SEED + size, number, tables.reference()).maps[0].document for number in range(10))
    documents = iter([canonical_json(document) for document in fresh])
    failure = Failure(FailureKind.CORE_OPEN, Ending.NOT_ENDED, (Symptom.NO_DATA,), words="Nothing since the move.")
    typed = b'{"ends": [%s], "readings": [%s]}' % _plug()
    matches.find_maps(typed)

    def opened(path: str) -> Callable[[], None]:
        def open_it() -> None:
            cache.clear()
            answer(site, path)

        return open_it

    acts: dict[str, Callable[[], object]] = {
        f"cable page with {most['count']} reports and its charts": opened(f"/cables/{busiest.slug}/"),
        "its failure points by the API": opened(f"/api/v1/cables/{busiest.slug}/failure-points/"),
        "start page": opened("/"),
        "page of failure points": opened("/failure-points/"),
        "a page of the change feed": opened("/api/v1/changes/?since=0"),
        "submit a map": lambda: maps.submit_map(person, next(documents)),
        f"report a failure beside {most['count']} others": lambda: failures.report_failure(person, busiest, failure),
        "which cable is this": lambda: matches.find_maps(typed),
    }
    for name, act in acts.items():
        yield Figure(f"{size:,} cables: {name}", f"{seconds(act) * 1e3:.0f} ms")


def _plug() -> tuple[bytes, bytes]:
    """A plug of two rows of six, and a few readings of it, as JSON."""
    end = b'{"name": "A", "connector": "custom", "rows": [%s, %s]}' % (
        b'["1","2","3","4","5","6"]',
        b'["7","8","9","10","11","12"]',
    )
    readings = b",".join(
        b'{"id": "r%d", "mode": "beep", "red": "A:%d", "black": "A:%d", "beeps": %s}'
        % (number, number, number + 3, b"true" if number == 2 else b"false")
        for number in range(1, 9)
    )
    return end, readings
