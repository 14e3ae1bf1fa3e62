"""One site on what could be many machines: everything runs as the guide says, and then one thing after another dies.

Two web processes behind nginx, a primary and a streaming replica, Redis, and workers of the queue. All the while
somebody reads and somebody submits; nobody who reads is ever refused, and nothing that was accepted is lost.
"""

from __future__ import annotations

import base64
import http.client
import json
import re
import ssl
import tempfile
import threading
import time
import uuid
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, HTTPSHandler, Request, build_opener

import pytest
from django.db import connection
from django_tasks_db.models import DBTaskResult

from catalogue.exchange.documents import canonical_json, content_hash, parse_map
from catalogue.exchange.exports import EntryKind, entry_line, written
from catalogue.usecases.identities import identity_of
from tests.machines.servers import Cluster, Server, Site, certificate, free_port, nginx, quick_folder, redis, wait_until
from tests.samples import as_json, usb_map

# The mark of the store is for the runs that leave out what comes out the same on any.
pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(
        connection.vendor != "postgresql", reason="has servers of its own; runs once, with the tests on PostgreSQL"
    ),
]

MAPS = 300
"""To rebuild: some seconds of work for one worker."""

TASKS = DBTaskResult._meta.db_table

BETWEEN_READS, BETWEEN_SUBMISSIONS = 0.15, 0.6
"""Seconds: within what one address and one account may ask in a minute."""


class Person:
    """Somebody who asks the site by way of nginx, or one of its web processes as nginx would."""

    def __init__(self, port: int, trusted: Path | None = None, **headers: str) -> None:
        self.port, self.headers = port, {"Host": "localhost", **headers}
        self.tls = ssl.create_default_context(cafile=trusted) if trusted else None
        if not trusted:
            self.headers |= {"X-Forwarded-Proto": "https", "X-Forwarded-For": "192.0.2.7"} | headers

    def ask(self, path: str, document: object = None, method: str = "", **headers: str) -> tuple[int, bytes]:
        """Status and body of an answer."""
        client: http.client.HTTPConnection
        if self.tls:
            client = http.client.HTTPSConnection("localhost", self.port, timeout=30, context=self.tls)
        else:
            client = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        body = None if document is None else as_json(document)
        method = method or ("GET" if body is None else "POST")
        try:
            client.request(method, path, body, {**self.headers, "Content-Type": "application/json", **headers})
            response = client.getresponse()
            return response.status, response.read()
        finally:
            client.close()


class Doing:
    """Something that is done again and again in the background until it is ended."""

    def __init__(self, pause: float) -> None:
        self.pause, self.done = pause, 0
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._go_on)
        self._trouble: BaseException | None = None

    def step(self) -> None:
        raise NotImplementedError

    def __enter__(self) -> Doing:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._end.set()
        self._thread.join()
        if self._trouble:
            raise self._trouble

    def goes_on(self, times: int) -> None:
        """Wait until it was done so often more."""
        wanted = self.done + times
        wait_until(lambda: self.done >= wanted or self._trouble, f"{type(self).__name__} goes on")

    def _go_on(self) -> None:
        try:
            while not self._end.wait(self.pause):
                self.step()
                self.done += 1
        except BaseException as trouble:
            self._trouble = trouble


class Reading(Doing):
    """Somebody without an account reads one thing after the other. Keeps how each was answered."""

    def __init__(self, visitor: Person, map_id: int) -> None:
        super().__init__(BETWEEN_READS)
        self.visitor = visitor
        self.answers: Counter[tuple[str, int]] = Counter()
        of_map = f"/api/v1/maps/{map_id}/"
        self.paths = ("/", of_map, "/cables/?q=lead", f"{of_map}document/", f"{of_map}drawings/rail.svg", "/maps.atom")

    def step(self) -> None:
        path = self.paths[self.done % len(self.paths)]
        status, _ = self.visitor.ask(path)
        self.answers[path, status] += 1

    def refusals(self) -> list[tuple[str, int]]:
        return [answer for answer in self.answers if answer[1] != 200]


class Submitting(Doing):
    """Somebody submits maps, and sends again under the same key what was not answered. Keeps what was accepted."""

    def __init__(self, contributor: Person) -> None:
        super().__init__(BETWEEN_SUBMISSIONS)
        self.contributor = contributor
        self.accepted: dict[int, str] = {}

    def step(self) -> None:
        model = f"Trickle lead {self.done}"
        document = usb_map(cable={"maker": "Orrin & Vale (invented)", "model": model})
        key = str(uuid.uuid4())
        for _ in range(5):
            status, body = self.contributor.ask("/api/v1/maps/", document, **{"Idempotency-Key": key})
            if status < 500:
                break
            time.sleep(0.2)
        assert status == 201, (status, body)
        self.accepted[json.loads(body)["id"]] = model


class Machines:
    """The whole site."""

    def __init__(self, folder: Path, ended: ExitStack) -> None:
        self.folder = folder
        with ThreadPoolExecutor() as at_once:
            static = at_once.submit(Site(folder).manage, "collectstatic", "--no-input", "--verbosity=0")
            self.primary = Cluster(folder / "primary")
            ended.callback(self.primary.stop)
            self.redis = redis(folder, free_port())
            ended.callback(self.redis.kill)
            static.result()
        self.primary.ask("CREATE DATABASE corelore", database="postgres")
        common = {
            "SECRET_KEY": "of a site that lasts for a test",
            "ALLOWED_HOSTS": "localhost",
            "BEHIND_HTTPS": "true",
            "EMAIL_URL": f"filemail:///{folder}/mails",
            "CACHE_URL": f"redis://127.0.0.1:{self.redis.port}/0",
            "DATABASE_URL": self.primary.url(),
            "TASK_QUEUE": "database",
        }
        Site(folder, **common).manage("migrate", "--verbosity=0")
        export = folder / "catalogue.ndjson"
        export.write_bytes(many_cables(MAPS))
        Site(folder, **common).manage("import", str(export))
        self.replica = Cluster(folder / "replica", self.primary)
        ended.callback(lambda: self.replica.stop())
        self.site = Site(folder, **common, REPLICA_URL=self.replica.url())
        ports = free_port(), free_port()
        certificate(folder)
        with ThreadPoolExecutor() as at_once:
            token = at_once.submit(self.site.manage, "token", "mira")
            self.webs = list(at_once.map(self.site.web, ports))
            for web in self.webs:
                ended.callback(web.kill)
            trusted = folder / "certificate.pem"
            front = nginx(folder, free_port(), ports)
            ended.callback(front.kill)
            self.visitor = Person(front.port, trusted)
            self.token = {"Authorization": f"Token {token.result().strip()}"}
        self.contributor = Person(front.port, trusted, **self.token)

    def worker(self, name: str, ended: ExitStack) -> Server:
        worker = self.site.worker(name)
        ended.callback(worker.kill)
        return worker

    def maps_left(self, before: str) -> int:
        ((count,),) = self.primary.ask("SELECT count(*) FROM catalogue_maprevision WHERE derived_at < %s", before)
        return count


def many_cables(count: int) -> bytes:
    """An export with so many cables, each with a map."""
    entries = []
    for number in range(count):
        maker, model = "Orrin & Vale (invented)", f"Shelf lead {number}"
        document = canonical_json(parse_map(as_json(usb_map(cable={"maker": maker, "model": model})), 2**20))
        cable = {"kind": "cable", "id": identity_of(maker, model), "slug": f"lead-{number}"}
        row = {"kind": "map", "id": content_hash(document), "cable": cable["id"], "number": 1, "author": "petra"}
        entries.append((EntryKind.CABLE, entry_line(cable | {"maker": maker, "model": model}, None)))
        entries.append((EntryKind.MAP, entry_line(row | {"at": "2030-01-31T12:00:00.000000Z"}, document.decode())))
    entries.sort(key=lambda entry: entry[0] is EntryKind.MAP)
    return b"".join(written({"changes": len(entries)}, entries))


@pytest.fixture
def ended() -> Iterator[ExitStack]:
    """Ends what it was told of, the last first, also where starting fails half-way."""
    with ExitStack() as stack:
        yield stack


@pytest.fixture
def machines(ended: ExitStack) -> Machines:
    # Not pytest's own folder, which PostgreSQL's user may not enter.
    folder = Path(ended.enter_context(tempfile.TemporaryDirectory(prefix="corelore-", dir=quick_folder())))
    folder.chmod(0o755)
    return Machines(folder, ended)


def what_is_written_through_one_process_is_read_through_the_other(machines: Machines) -> None:
    one, other = (Person(web.port) for web in machines.webs)
    status, body = one.ask("/api/v1/maps/", usb_map(), **machines.token)
    assert status == 201, body
    path = f"/api/v1/maps/{json.loads(body)['id']}/"
    assert other.ask(path, **machines.token)[0] == 200  # at once, because they are not sent to the replica
    wait_until(lambda: other.ask(path)[0] == 200, "the replica has it too")


def requests_are_counted_across_both_processes(machines: Machines, address: str) -> None:
    one, other = (Person(web.port, **{"X-Forwarded-For": address}) for web in machines.webs)
    statuses = [each.ask("/api/v1/exports/corelore.ndjson.gz")[0] for each in (one, other) * 4]
    assert statuses == [200] * 6 + [429] * 2


def a_worker_dies_and_another_finishes(machines: Machines, ended: ExitStack) -> None:
    as_it_was = machines.primary.ask("SELECT id, net_count, findings FROM catalogue_maprevision ORDER BY id")
    machines.primary.ask("UPDATE catalogue_maprevision SET net_count = 0, findings = '[]'")
    begun = datetime.now(UTC).isoformat()
    first = machines.worker("first", ended)
    machines.site.manage("rebuild", "--queue", "--before", begun)
    of_first = f"SELECT id FROM {TASKS} WHERE status = 'RUNNING' AND worker_ids @> '[\"first\"]'"

    def is_caught_in_the_middle() -> bool:
        first.pause()
        is_at_work = machines.primary.ask(of_first) != [] and 0 < machines.maps_left(begun) < MAPS * 0.8
        if not is_at_work:
            first.go_on()
        return is_at_work

    # Alone at work and paused whenever it is looked at, it cannot get to the end unseen, however slow the machine is.
    wait_until(is_caught_in_the_middle, "the first worker rebuilds maps")
    machines.worker("second", ended)
    first.kill()
    wait_until(lambda: machines.maps_left(begun) == 0, "every map is rebuilt")
    assert len(machines.primary.ask(of_first)) == 1  # what it died of was never finished, and did not need to be
    ids = tuple(row[0] for row in as_it_was)
    now = machines.primary.ask("SELECT id, net_count, findings FROM catalogue_maprevision ORDER BY id")
    assert [row for row in now if row[0] in ids] == as_it_was


def a_worker_sends_the_mail_of_who_signs_up(machines: Machines) -> None:
    page = f"https://localhost:{machines.visitor.port}/account/sign-up/"
    browser = build_opener(HTTPSHandler(context=machines.visitor.tls), HTTPCookieProcessor())
    with browser.open(page) as answer:
        (forgery_token,) = set(re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', answer.read().decode()))
    form = {"username": "zora", "email": "zora@example.invalid", "password1": "a long walk to the bench"}
    sent = urlencode(form | {"csrfmiddlewaretoken": forgery_token}).encode()
    browser.open(Request(page, sent, {"Referer": page})).close()
    mails = machines.folder / "mails"
    wait_until(lambda: any(b"zora@example" in mail.read_bytes() for mail in mails.glob("*")), "the code is sent")


def the_replica_dies_and_comes_back(machines: Machines, reading: Doing, submitting: Doing) -> None:
    before = machines.replica.statements()
    reading.goes_on(8)
    assert machines.replica.statements() > before
    machines.replica.stop()
    reading.goes_on(15)
    submitting.goes_on(2)
    machines.replica.start()
    before = machines.replica.statements()
    wait_until(lambda: machines.replica.statements() > before, "the replica is read again")
    reading.goes_on(8)


def redis_dies_and_comes_back(machines: Machines, reading: Doing, submitting: Doing) -> None:
    machines.redis.kill()
    reading.goes_on(15)
    submitting.goes_on(2)
    guess = {"Authorization": "Basic " + base64.b64encode(b"mira:a guess").decode()}
    assert machines.visitor.ask("/api/v1/tokens/", {}, **guess)[0] == 429  # nobody counts, so nobody may guess
    machines.redis.start()
    requests_are_counted_across_both_processes(machines, "192.0.2.9")


def a_web_process_dies(machines: Machines, reading: Doing, submitting: Doing) -> None:
    machines.webs[0].kill()
    reading.goes_on(15)
    submitting.goes_on(2)


def the_primary_dies(machines: Machines, reading: Doing) -> None:
    machines.primary.stop()
    reading.goes_on(12)


def test_whatever_dies_reading_goes_on_and_nothing_is_lost(machines: Machines, ended: ExitStack) -> None:
    what_is_written_through_one_process_is_read_through_the_other(machines)
    requests_are_counted_across_both_processes(machines, "192.0.2.8")
    ((map_id,),) = machines.primary.ask("SELECT min(id) FROM catalogue_maprevision")
    wait_until(lambda: machines.replica.ask("SELECT 1 FROM catalogue_maprevision"), "the replica follows")
    reading, submitting = Reading(machines.visitor, map_id), Submitting(machines.contributor)
    with reading, submitting:
        a_worker_dies_and_another_finishes(machines, ended)
        a_worker_sends_the_mail_of_who_signs_up(machines)
        the_replica_dies_and_comes_back(machines, reading, submitting)
        redis_dies_and_comes_back(machines, reading, submitting)
        a_web_process_dies(machines, reading, submitting)
    stored = "SELECT map.id, model FROM catalogue_maprevision map JOIN catalogue_cable cable ON cable.id = cable_id"
    accepted = submitting.accepted.items()
    wait_until(
        lambda: accepted <= dict(machines.replica.ask(stored)).items(), "all that was accepted is on the replica"
    )
    assert accepted <= dict(machines.primary.ask(stored)).items()
    with Reading(machines.visitor, map_id) as still_reading:
        the_primary_dies(machines, still_reading)
    assert len(accepted) > 10
    assert reading.refusals() == still_reading.refusals() == []
