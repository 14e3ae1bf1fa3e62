"""The page about the API: small, without scripts, and with examples that do what they say."""

import json
import re
import subprocess
import sys

import pytest
from django.core.management import call_command
from django.test import Client

from api.openapi import document
from api.page import steps
from catalogue.models import FailureReport, MapRevision
from tests.samples import as_json, contradicted_usb_map, usb_map

MOST_BYTES = 200 * 1024


@pytest.fixture
def page(db):
    return Client().get("/api/v1/").content.decode()


def test_it_tells_every_operation_and_shape(page):
    for path, methods in document()["paths"].items():
        for method, operation in methods.items():
            assert f'id="{operation["operationId"]}"' in page
            assert f"{method.upper()} {path}" in page
    assert all(f'id="shape-{name}"' in page for name in document()["components"]["schemas"])


def test_its_links_lead_to_places_on_it(page):
    places = set(re.findall(r'id="([^"]+)"', page))
    assert set(re.findall(r'href="#([^"]+)"', page)) <= places
    assert len(places) == len(re.findall(r'id="', page))


def test_it_is_small_and_needs_no_script(page):
    assert len(page.encode()) <= MOST_BYTES
    assert "<script" not in page
    assert " style=" not in page


def test_who_has_it_already_is_not_sent_it_again(db):
    tag = Client().get("/api/v1/")["ETag"]
    assert Client().get("/api/v1/", headers={"If-None-Match": tag}).status_code == 304


def test_its_examples_name_this_site(db):
    content = Client().get("/api/v1/", headers={"Host": "localhost:8016"}).content.decode()
    assert "SITE=http://localhost:8016/api/v1" in content
    assert "127.0.0.1" not in content


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("language", ["shell", "python"])
def test_its_examples_work_as_printed(live_server, tmp_path, capsys, language):
    call_command("demo")
    password = re.search(r"demo-wren with the password (\S+)", capsys.readouterr().out)
    assert password
    for name, body in {
        "map": usb_map(),
        "contradicted": contradicted_usb_map(),
        "corrected": usb_map(meter={"lead_ohms": 0.1}),
    }.items():
        (tmp_path / f"{name}.json").write_bytes(as_json(body))
    before, reports = MapRevision.objects.count(), FailureReport.objects.count()
    script = "\n".join(getattr(step, language) for step in steps(live_server.url)).replace(
        ":PASSWORD", f":{password[1]}"
    )
    program = ["bash", "-c", f"set -euo pipefail\n{script}"] if language == "shell" else [sys.executable, "-c", script]
    run = subprocess.run(program, cwd=tmp_path, capture_output=True, text=True, timeout=120, check=False)
    assert run.returncode == 0, run.stderr
    assert "304" in run.stdout
    assert (tmp_path / "rail.svg").read_bytes().startswith(b"<?xml")
    assert MapRevision.objects.count() == before + 2  # the one sent twice, and the corrected one
    assert FailureReport.objects.count() == reports + 1
    if language == "shell":
        assert json.loads((tmp_path / "refused.json").read_text())["code"] == "map-refused"
        assert json.loads((tmp_path / "page.json").read_text())["next"] is None
