"""`manage.py export`, `import` and `mirror`: one site follows another over HTTP, each with a store of its own."""

import json
import os
import subprocess
import sys
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from catalogue.core.document import Meter
from catalogue.core.reviewing import Standing
from catalogue.models import Cable, FailureReport, FollowedSite, MapRevision, Review
from catalogue.usecases import accounts, changes, confirmations, failures, wanted
from tests.exported import BREAK, decided, empty_the_site, exported, made_catalogue, person, submitted


class OtherSite:
    """A site of its own in another process, on SQLite; commands are run on it as people run them."""

    def __init__(self, folder):
        self.folder = folder
        self.run("migrate", "--verbosity", "0")

    def attempt(self, *arguments):
        environment = {
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "catalogue.settings",
            "DATABASE_URL": f"sqlite:///{self.folder / 'other.sqlite3'}",
            "CACHE_URL": "locmemcache://",
            "SECRET_KEY": "of the other site, which signs nothing",
        }
        program = [sys.executable, "manage.py", *map(str, arguments)]
        return subprocess.run(
            program, cwd=settings.BASE_DIR, env=environment, capture_output=True, timeout=120, check=False
        )

    def run(self, *arguments):
        done = self.attempt(*arguments)
        assert done.returncode == 0, done.stderr.decode()
        return done.stdout

    def content(self):
        """The entries that it exports."""
        return entries(self.run("export", "-"))


def entries(export):
    return export.splitlines()[1:-1]


@pytest.fixture
def other(tmp_path):
    return OtherSite(tmp_path)


@pytest.mark.django_db(transaction=True)
def test_a_site_that_follows_another_has_what_it_has_at_every_step(live_server, other, monkeypatch):
    monkeypatch.setattr(changes, "A_PAGE", 5)
    first = made_catalogue()
    assert b"Up to change 13. New: 13. Changed: 0." in other.run("mirror", live_server.url)
    assert other.content() == entries(exported())

    decided(first, Standing.WITHDRAWN, "It is of another cable.")
    other.run("mirror", live_server.url)
    assert first.content_hash.encode() not in b"".join(other.content())
    assert other.content() == entries(exported())

    decided(first, Standing.APPROVED, "It is of this cable after all.")
    cable = Cable.objects.get(model="Plotter lead PL-2")
    anew = BREAK.__class__(BREAK.kind, BREAK.ending, words="told anew")
    failures.send_report(person("petra"), cable, anew, str(cable.failures.get().pk))
    confirmations.confirm_with_text(person("petra"), first, "HOST:1 PLOTTER:1 0.8 ohm", Meter(), "Read anew.")
    wanted.ask_for("Ostwick (invented)", "Tray cable 9", "", "192.0.2.2")
    submitted("zora", cable={"maker": "Quillon (invented)", "model": "Sight lead 3"})
    mira = person("mira")
    mira.set_password("a long walk")
    mira.save()
    accounts.remove_account(mira, "a long walk")
    other.run("mirror", live_server.url)
    assert b"mira" not in b"".join(other.content())
    assert b"told anew" in b"".join(other.content())
    assert sum(b'"kind":"earlier"' in line for line in other.content()) == 2
    assert other.content() == entries(exported())

    assert b"New: 0. Changed: 0." in other.run("mirror", live_server.url)
    assert b"New: 0. Changed: 0." in other.run("mirror", live_server.url, "--since", "0")
    assert other.content() == entries(exported())


@pytest.mark.django_db(transaction=True)
def test_who_follows_late_has_what_is_shown_and_gets_the_rest_when_it_is_shown_again(live_server, other):
    first = made_catalogue()
    decided(first, Standing.WITHDRAWN)
    other.run("mirror", live_server.url)
    assert other.content() == entries(exported())
    decided(first, Standing.QUERIED)
    other.run("mirror", live_server.url)
    assert other.content() == entries(exported())


@pytest.mark.django_db(transaction=True)
def test_an_export_goes_into_another_store_and_comes_out_the_same(other, tmp_path, capsys):
    made_catalogue()
    path, back = tmp_path / "here.ndjson.gz", tmp_path / "there.ndjson.gz"
    call_command("export", str(path))
    assert b"New: 2 cable, 3 map, 2 failure, 1 confirmation, 1 earlier, 3 review, 1 wanted." in other.run(
        "import", path
    )
    other.run("export", back)
    assert back.read_bytes() == path.read_bytes()
    assert not list(tmp_path.glob("*.part"))


@pytest.mark.django_db
def test_a_time_stands_in_the_header_only_when_it_is_given(tmp_path):
    made_catalogue()
    for name, options in (("plain", ()), ("dated", ("--made-at", "2026-01-02"))):
        call_command("export", str(tmp_path / name), *options)
    plain, dated = ((tmp_path / name).read_bytes().splitlines() for name in ("plain", "dated"))
    assert json.loads(plain[0]) == {
        "kind": "header",
        "format": "corelore.export/1",
        "licence": "CC0-1.0",
        "schema": 2,
        "map_format": "corelore.map/1",
        "changes": 13,
    }
    assert json.loads(dated[0]) == json.loads(plain[0]) | {"made_at": "2026-01-02"}
    assert dated[1:-1] == plain[1:-1]
    assert json.loads(dated[-1])["checksums"]["content"] == json.loads(plain[-1])["checksums"]["content"]


@pytest.mark.django_db
def test_what_cannot_be_read_or_written_is_told(tmp_path):
    with pytest.raises(CommandError, match=r"nowhere\.ndjson cannot be read: No such file"):
        call_command("import", str(tmp_path / "nowhere.ndjson"))
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("import", str(tmp_path))
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("export", str(tmp_path / "no" / "such" / "folder"))
    (tmp_path / "map.json").write_text('{"format": "corelore.map/1"}\n')
    with pytest.raises(CommandError, match=r"line 1: the file is not of the format corelore\.export/1"):
        call_command("import", str(tmp_path / "map.json"))


class Impostor(BaseHTTPRequestHandler):
    """Another site that answers with `status`, `headers` and `pages` (the last one again and again)."""

    def do_GET(self):
        said = self.server.said
        said["asked"].append(self.path)
        pages = said["pages"]
        body = pages.pop(0) if len(pages) > 1 else pages[0]
        self.send_response(said["status"])
        for name, value in said["headers"].items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *arguments):
        pass


@pytest.fixture
def impostor():
    """A function that says what another site answers; its result is the site's address and what it was asked."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), Impostor)
    thread = threading.Thread(target=server.serve_forever, args=(0.05,))
    thread.start()

    def saying(*pages, status=200, **headers):
        server.said = {"pages": list(pages), "status": status, "headers": headers, "asked": []}
        return f"http://127.0.0.1:{server.server_port}", server.said["asked"]

    yield saying
    server.shutdown()
    thread.join()
    server.server_close()


def page(told, last=None, has_more=False, since=0):
    said = [{"number": since + number, "kind": says["kind"], "entry": says} for number, says in enumerate(told, 1)]
    return json.dumps(
        {"changes": said, "last": since + len(said) if last is None else last, "has_more": has_more}
    ).encode()


@pytest.mark.django_db
def test_pages_that_came_stay_when_a_later_one_is_wrong(impostor):
    made_catalogue()
    told = [json.loads(line) for line in entries(exported())]
    empty_the_site()
    wrong = json.loads(json.dumps(told[4]))
    wrong["document"]["sections"][0]["length_m"] = 9.5
    site, asked = impostor(page(told[:4], has_more=True), page([wrong], since=4))
    with pytest.raises(CommandError, match="change 5"):
        call_command("mirror", site)
    assert asked == ["/api/v1/changes/?since=0", "/api/v1/changes/?since=4"]
    assert FollowedSite.objects.get().since == 4
    assert (Cable.objects.count(), MapRevision.objects.count()) == (2, 2)
    site, asked = impostor(page(told[4:], since=4))
    call_command("mirror", site)
    assert asked == ["/api/v1/changes/?since=4"]
    assert [json.loads(line) for line in entries(exported())] == told


@pytest.mark.django_db
def test_what_was_made_here_is_not_changed_by_another_site(impostor):
    made_catalogue()
    before = entries(exported())
    told = [json.loads(line) for line in before]
    for says in told:
        if says["kind"] == "failure":
            says["told"]["words"] = "altered"
        if "author" in says:
            says["author"] = "altered"
        if says["kind"] == "earlier":
            says["id"] = "0f5d7af9-f376-4add-8ef0-2874335361b4"
        if says["kind"] == "wanted":
            says["askers"] = 900
    call_command("mirror", impostor(page(told))[0])
    assert entries(exported()) == before


@pytest.mark.django_db
def test_a_cable_that_is_mapped_on_both_sites_keeps_the_maps_of_both(impostor):
    made_catalogue()
    told = [json.loads(line) for line in entries(exported())]
    empty_the_site()
    own = submitted("zora", sections=[{"name": "main", "from": "HOST", "to": "PLOTTER", "length_m": 2.2}])
    call_command("mirror", impostor(page(told))[0])
    rows = MapRevision.objects.filter(cable=own.cable).order_by("number")
    assert [(row.number, row.by) for row in rows] == [
        (1, "zora"),
        (2, "mira (on another site)"),
        (3, "mira (on another site)"),
    ]
    assert Review.objects.count() == 3
    assert FailureReport.objects.filter(cable=own.cable).count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("body", "options", "why"),
    [
        (b"<html>", {}, "not a JSON document"),
        (b"{}", {}, "no page of a change feed"),
        (b"[" * 100_000, {}, "nested too deeply"),
        (b'{"changes":[],"last":0,"has_more":true}', {}, "does not end at 0"),
        (b'{"changes":[{"number":1,"entry":{}}],"last":1,"has_more":false}', {}, "change 1"),
        (b'{"changes":[{"number":1,"entry":{"kind":"cable","id":NaN}}],"last":1,"has_more":false}', {}, "no JSON has"),
        (b'{"changes":[{"number":0,"entry":null}],"last":0,"has_more":false}', {}, "After 0 comes what is no change"),
        (b'{"changes":[],"last":7,"has_more":false}', {}, "does not end at 7"),
        (b" " * (28 * 1024 * 1024), {}, "more than"),
        (b"", {"status": 302, "Location": "http://127.0.0.1:1/"}, "answers 302"),
        (b"", {"status": 500}, "answers 500"),
        (b'{"detail": "The change feed ends at 3."}', {"status": 409}, "ends at 3. Give --since 0"),
        (b"?", {"status": 409}, "begun its feed anew"),
    ],
    ids=range(13),
)
def test_another_site_that_answers_nonsense_changes_nothing(impostor, body, options, why):
    site, _ = impostor(body, **options)
    with pytest.raises(CommandError, match=why):
        call_command("mirror", site)
    assert FollowedSite.objects.get().since == 0
    assert not Cable.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "address", ["file:///etc/passwd", "ftp://127.0.0.1/", "corelore.example", "http://", "http://a/?b"]
)
def test_only_the_address_of_a_site_is_followed(address):
    with pytest.raises(CommandError, match="not the address of a site"):
        call_command("mirror", address)


@pytest.mark.django_db
def test_a_site_that_nobody_answers_for_is_told():
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("mirror", "http://127.0.0.1:9/")
