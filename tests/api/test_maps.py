"""Checking, submitting, listing and reading maps through the API."""

import csv
import io
from base64 import b64encode

import pytest
from pypdf import PdfReader

from catalogue.models import Draft, MapRevision
from tests.samples import as_json, contradicted_usb_map, usb_map, usb_map_with_reading

pytestmark = pytest.mark.django_db


def problem(response, status, code):
    assert response.status_code == status, response.content
    assert response["Content-Type"] == "application/problem+json"
    body = response.json()
    assert (body["status"], body["code"]) == (status, code)
    assert body["detail"]
    return body


def test_a_visitor_checks_a_map_without_storing_it(visitor):
    body = visitor.send("checks/", usb_map()).json()
    assert body["accepted"] is True
    assert {"code", "severity", "message", "contacts", "readings", "witness", "at"} == set(body["findings"][0])
    assert not MapRevision.objects.exists()


def test_a_contradiction_names_the_pair_the_path_and_the_readings(visitor):
    body = visitor.send("checks/", contradicted_usb_map()).json()
    assert body["accepted"] is False
    (finding,) = [one for one in body["findings"] if one["code"] == "readings-contradict"]
    assert set(finding["contacts"]) == {"HOST:1", "PLOTTER:1"}
    assert set(finding["readings"]) == {"r1", "r6"}
    assert [(step["reading"], step["limit"]) for step in finding["witness"]] == [
        ("r1", "at most"),
        ("r6", "at least"),
    ]
    assert finding["at"][0] == "/readings/5"


def test_a_contributor_submits_a_map(contributor):
    response = contributor.send("maps/", usb_map())
    assert response.status_code == 201
    body = response.json()
    assert (body["cable"], body["revision"]) == ("orrin-vale-invented-plotter-lead-pl-2", 1)
    assert response["Location"] == body["url"] == f"http://testserver/api/v1/maps/{body['id']}/"
    assert isinstance(body["findings"], list)


def test_submitting_the_same_map_again_answers_200_with_the_stored_one(contributor, stored):
    response = contributor.send("maps/", usb_map())
    assert response.status_code == 200
    assert response.json() == stored


def test_a_refused_map_answers_422_with_findings_and_a_draft(contributor):
    body = problem(contributor.send("maps/", contradicted_usb_map()), 422, "map-refused")
    assert "readings-contradict" in {finding["code"] for finding in body["findings"]}
    assert Draft.objects.get().pk == body["draft"]["id"]
    assert body["draft"]["url"] == f"/drafts/{body['draft']['id']}/"
    assert not MapRevision.objects.exists()


def test_a_visitor_may_not_submit(visitor):
    response = visitor.send("maps/", usb_map())
    problem(response, 401, "not-authenticated")
    assert response["WWW-Authenticate"] == "Token"
    assert not MapRevision.objects.exists()


def test_a_wrong_token_is_refused(visitor):
    response = visitor.send("maps/", usb_map(), headers={"Authorization": "Token nonsense"})
    problem(response, 401, "authentication-failed")


def test_every_defect_of_a_bad_document_is_named_at_once(contributor):
    document = usb_map(extra=1)
    document["nets"][0]["role"] = "pwr"
    document["readings"][0]["ohms"] = "low"
    body = problem(contributor.send("maps/", document), 422, "bad-document")
    wheres = [defect["where"] for defect in body["defects"]]
    assert {"/nets/0/role", "/readings/0/ohms"} <= set(wheres)
    assert len(wheres) == 3
    assert all(defect["message"] and defect["remedy"] for defect in body["defects"])


@pytest.mark.parametrize(
    "body",
    [
        b" ",
        b"{",
        b"[]",
        b"null",
        b'"map"',
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"a": NaN}',
        b"1e999",
        b'{"a":1,"a":2}',
    ],
)
def test_a_body_that_is_no_document_is_told_so(visitor, body):
    assert problem(visitor.send("checks/", body), 422, "bad-document")["defects"]


def test_a_body_of_another_type_is_not_taken(visitor):
    response = visitor.post("/api/v1/checks/", {"a": 1})
    problem(response, 415, "unsupported-media-type")


@pytest.mark.parametrize("size", [2 * 1024 * 1024 + 1, 4 * 1024 * 1024])
def test_a_document_that_is_too_large_is_told_so(visitor, size):
    problem(visitor.send("checks/", b" " * size), 413, "too-large")


def test_another_method_is_told_what_is_allowed(visitor):
    problem(visitor.fetch("checks/"), 405, "method-not-allowed")


@pytest.mark.parametrize("path", ["maps/999/", "maps/999/document/", "cables/none/", "nothing/", "maps/x/"])
def test_what_is_not_there_is_a_problem_document(visitor, path):
    problem(visitor.fetch(path), 404, "not-found")


def test_the_document_comes_back_as_submitted(visitor, contributor, stored):
    response = visitor.fetch(f"maps/{stored['id']}/document/")
    assert response["Content-Type"] == "application/json"
    again = contributor.send("maps/", response.content)
    assert again.json()["id"] == stored["id"]


def test_an_unchanged_document_is_not_sent_twice(visitor, stored):
    path = f"maps/{stored['id']}/document/"
    etag = visitor.fetch(path)["ETag"]
    response = visitor.fetch(path, headers={"If-None-Match": etag})
    assert (response.status_code, response.content) == (304, b"")


def test_the_list_pages_by_cursor(visitor, contributor):
    for number in range(5):
        contributor.send("maps/", usb_map(cable={"maker": "Invented", "model": f"M{number}"}))
    first = visitor.fetch("maps/?limit=2").json()
    second = visitor.get(first["next"]).json()
    third = visitor.get(second["next"]).json()
    models = [row["model"] for page in (first, second, third) for row in page["results"]]
    assert models == ["M4", "M3", "M2", "M1", "M0"]
    assert third["next"] is None
    assert visitor.get(second["previous"]).json()["results"] == first["results"]


@pytest.mark.parametrize(
    "inside",
    [b"p=rubbish", b"p=", b"p=\0", b"p=2026-13-01", b"p=2026-01-01", b"p=0001-01-01T00:00%2b14:00", b"o=-1", b"r=x"],
)
def test_a_bad_cursor_is_a_problem(visitor, stored, inside):
    for cursor in (inside.decode(), b64encode(inside).decode()):
        body = problem(visitor.fetch("maps/", data={"cursor": cursor}), 404, "not-found")
        assert body["defects"][0]["where"] == "/cursor"


def test_the_list_takes_two_statements(visitor, contributor, django_assert_num_queries):
    for number in range(4):
        contributor.send("maps/", usb_map(cable={"maker": "Invented", "model": f"M{number}"}))
    with django_assert_num_queries(2):
        visitor.fetch("maps/")


def test_a_document_read_before_takes_one_statement(visitor, stored, django_assert_num_queries):
    visitor.fetch(f"maps/{stored['id']}/document/")
    with django_assert_num_queries(1):
        visitor.fetch(f"maps/{stored['id']}/document/")


@pytest.mark.parametrize("readings", [5, 2145])
def test_submitting_takes_at_most_fifteen_statements_with_the_token(
    contributor, readings, django_assert_max_num_queries
):
    document = usb_map()
    document["readings"] = [
        {"id": f"r{number}", "mode": "beep", "red": "HOST:1", "black": "PLOTTER:1", "beeps": True}
        for number in range(readings)
    ]
    with django_assert_max_num_queries(15):
        assert contributor.send("maps/", document).status_code == 201


def test_the_wire_list_names_every_core(visitor, stored):
    response = visitor.fetch(f"maps/{stored['id']}/wire-list.csv")
    assert response["Content-Type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(response.content.decode())))
    assert len(rows) == 4
    assert "HOST:1" in str(rows[0].values())


@pytest.mark.parametrize("chart", ["rail", "face"])
@pytest.mark.parametrize(
    ("form", "media_type", "start"),
    [
        ("svg", "image/svg+xml", b"<?xml"),
        ("png", "image/png", b"\x89PNG"),
        ("pdf", "application/pdf", b"%PDF"),
        ("dot", "text/vnd.graphviz", b"graph"),
    ],
)
def test_a_drawing_is_served_in_four_formats(visitor, stored, chart, form, media_type, start):
    response = visitor.fetch(f"maps/{stored['id']}/drawings/{chart}.{form}")
    assert response.status_code == 200
    assert response["Content-Type"].startswith(media_type)
    assert start in response.content[:200]
    assert response["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in response["Content-Security-Policy"]


def test_a_cached_drawing_needs_no_graphviz(visitor, stored, monkeypatch):
    path = f"maps/{stored['id']}/drawings/rail.svg"
    first = visitor.fetch(path)
    monkeypatch.setenv("PATH", "")
    assert visitor.fetch(path).content == first.content
    body = problem(visitor.fetch(f"maps/{stored['id']}/drawings/rail.png"), 503, "drawing-unavailable")
    assert "raphviz" in body["detail"]


def test_the_bench_sheet_comes_a_page_at_a_time(visitor, stored):
    address = f"/api/v1/maps/{stored['id']}/drawings/bench-sheet"
    for form, start in (("svg", b"<?xml"), ("pdf", b"%PDF"), ("png", b"\x89PNG"), ("dot", b"digraph bench")):
        answer = visitor.get(f"{address}.{form}")
        assert answer.status_code == 200
        assert answer.content.startswith(start)
    first = visitor.get(f"{address}.dot", {"page": 1})
    assert first.content == visitor.get(f"{address}.dot").content
    beyond = visitor.get(f"{address}.dot", {"page": 99})
    assert (beyond.status_code, beyond.json()["code"]) == (404, "not-found")
    for page in ("x", "-1", "²", "", "1" * 40):
        assert visitor.get(f"{address}.dot", {"page": page}).json()["code"] == "bad-request"


def test_the_pdf_of_a_bench_sheet_has_all_its_pages(visitor, contributor):
    contacts = [str(number) for number in range(1, 25)]
    ends = [{"name": name, "connector": "custom", "rows": [contacts]} for name in ("A", "B")]
    nets = [{"name": f"N{each}", "contacts": [f"A:{each}", f"B:{each}"]} for each in contacts]
    document = usb_map(ends=ends, nets=nets, cores=[], sections=[], readings=[])
    address = f"/api/v1/maps/{contributor.send('maps/', document).json()['id']}/drawings/bench-sheet.pdf"
    whole = visitor.get(address)
    pages = PdfReader(io.BytesIO(whole.content)).pages
    assert len(pages) > 1
    for number, page in enumerate(pages, start=1):
        (alone,) = PdfReader(io.BytesIO(visitor.get(address, {"page": number}).content)).pages
        assert page.mediabox == alone.mediabox
        assert page.get_contents().get_data() == alone.get_contents().get_data()
    again = visitor.get(address)
    assert (again.content, again["ETag"]) == (whole.content, whole["ETag"])
    assert visitor.get(address, {"page": len(pages) + 1}).status_code == 404


def test_the_face_chart_can_be_mirrored(visitor, stored):
    path = f"maps/{stored['id']}/drawings/face.dot"
    assert visitor.fetch(path).content != visitor.fetch(f"{path}?mirrored=1").content


@pytest.mark.parametrize("name", ["rail.gif", "table.svg", "rail.svg.exe", "..svg"])
def test_a_drawing_that_does_not_exist_is_told_so(visitor, stored, name):
    problem(visitor.fetch(f"maps/{stored['id']}/drawings/{name}"), 404, "not-found")


@pytest.mark.parametrize(
    "text",
    [
        '"];x[URL="javascript:alert(1)"]',
        "<b>&lt;</b>",
        r"\N\G\E",
        "</text><script>alert(1)</script>",
        "a" * 40,
    ],
)
def test_hostile_names_are_stored_as_text_and_drawn_as_text(visitor, contributor, text):
    document = usb_map(cable={"maker": text, "model": text, "summary": text, "devices": [text]})
    document["nets"][0]["name"] = document["cores"][0]["net"] = text[:40]
    stored = contributor.send("maps/", document).json()
    svg = visitor.fetch(f"maps/{stored['id']}/drawings/rail.svg").content.decode()
    for forbidden in ("<script", "<a ", "<image", "javascript:alert(1)&quot;]</a>"):
        assert forbidden not in svg


@pytest.mark.parametrize("text", ["a\u202eb", "a\x00b", "a\x07b", "\ud800", "a" * 10_000, "a\u2028b"])
def test_text_that_cannot_be_shown_safely_is_refused_by_its_place(contributor, text):
    document = usb_map()
    document["nets"][0]["name"] = text
    body = problem(contributor.send("maps/", document), 422, "bad-document")
    assert body["defects"][0]["where"] == "/nets/0/name"


def test_a_reading_on_an_unknown_contact_is_refused_by_its_place(contributor):
    document = usb_map_with_reading(id="r6", mode="beep", red="HOST:77", black="HOST:1", beeps=False)
    body = problem(contributor.send("maps/", document), 422, "map-refused")
    (finding,) = [one for one in body["findings"] if one["severity"] == "reject"]
    assert finding["code"] == "contact-unknown"
    assert finding["at"][0].startswith("/readings/5")
    assert "HOST:77" in finding["message"]


def test_an_unexpected_error_is_a_problem_document_that_gives_nothing_away(visitor, monkeypatch, caplog):
    def fall(*_):
        raise RuntimeError("the password is hunter2")

    monkeypatch.setattr("catalogue.usecases.maps.check_map", fall)
    response = visitor.send("checks/", as_json(usb_map()))
    problem(response, 500, "internal-error")
    assert b"hunter2" not in response.content
    assert "Unexpected error" in caplog.text
