"""Every error is a problem document, wherever it comes from."""

from json import loads

import pytest

from tests.api.conftest import ApiClient
from tests.api.contract import assert_documented
from tests.api.test_maps import problem

pytestmark = pytest.mark.django_db

PLAIN = ["maps/{id}/document/", "maps/{id}/drawings/rail.svg", "maps/{id}/wire-list.csv", "schemas/map.json"]


@pytest.mark.parametrize(
    "path",
    [
        "nothing/",
        "maps",  # without the slash
        "maps/x/",
        "maps/-1/",
        "maps/1/drawings/",
        "cables/%00/",
        "cables/%ff%fe/",
        "cables/a%2Fb/",
        "cables/..%2F..%2Fetc/",
        "%00",
        "%ff",
        "maps//",
        "?q=%00",
    ],
)
@pytest.mark.parametrize("method", ["get", "post", "delete"])
def test_an_address_that_is_not(visitor, method, path):
    if path.startswith("?"):
        path = "nothing/" + path
    problem(getattr(visitor, method)(f"/api/v1/{path}"), 404, "not-found")


@pytest.mark.parametrize("rest", ["", "document/", "wire-list.csv", "drawings/rail.svg", "confirmations/"])
@pytest.mark.parametrize("map_id", [2**31, 2**63, 10**26])
def test_a_number_that_no_row_can_have(visitor, map_id, rest):
    problem(visitor.fetch(f"maps/{map_id}/{rest}"), 404, "not-found")


def test_another_site_cannot_have_an_unknown_address_answered_by_a_page():
    careful = ApiClient(enforce_csrf_checks=True)
    for path in ("nothing/", "schemas/map.json"):
        assert careful.send(path, {}).status_code in (404, 405)


@pytest.mark.parametrize(
    "query",
    ["q=%00", "q=" + "x" * 201, "contacts=x", "contacts=0", "symptom=unheard-of", "limit=x", "limit=0", "limit=101"],
)
def test_a_query_that_cannot_be_answered(visitor, query):
    body = problem(visitor.fetch(f"cables/?{query}"), 422, "bad-request")
    assert body["defects"][0]["where"] == "/" + query.partition("=")[0]


@pytest.mark.parametrize("query", ["q=%ff", "q=%f0%9f%92%a1", "unknown=1", "q=&maker="])
def test_a_query_that_can(visitor, query):
    assert visitor.fetch(f"cables/?{query}").status_code == 200


@pytest.mark.parametrize("path", PLAIN)
@pytest.mark.parametrize("method", ["post", "put", "patch", "delete", "options"])
def test_a_file_is_only_read(visitor, stored, path, method):
    response = getattr(visitor, method)("/api/v1/" + path.format(id=stored["id"]))
    problem(response, 405, "method-not-allowed")
    assert response["Allow"] == "GET, HEAD"


@pytest.mark.parametrize(
    ("path", "method"), [("maps/", "delete"), ("checks/", "put"), ("rules/", "post"), ("maps/", "options")]
)
def test_a_method_that_is_not_there(contributor, path, method):
    response = getattr(contributor, method)(f"/api/v1/{path}")
    problem(response, 405, "method-not-allowed")
    assert method.upper() not in response["Allow"]


def test_a_body_in_chunks(visitor):
    problem(visitor.send("checks/", {}, HTTP_TRANSFER_ENCODING="chunked", CONTENT_LENGTH=""), 411, "length-required")


@pytest.mark.parametrize("path", ["maps/{id}/", "maps/{id}/document/", "rules/"])
def test_a_version_that_is_not_there(visitor, stored, path):
    problem(visitor.fetch(path.format(id=stored["id"]), headers={"If-Match": '"another"'}), 412, "stale")


def test_a_word_that_is_not_in_its_list_is_answered_by_the_list(visitor):
    (defect,) = problem(visitor.fetch("cables/?place=nowhere"), 422, "bad-request")["defects"]
    assert defect["message"] == "None of: connector, module, split, along."


@pytest.mark.parametrize("path", ["maps/", "rules/", "cables/", "drafts/"])
def test_a_media_type_that_is_not_given(contributor, path):
    problem(contributor.fetch(path, headers={"Accept": "text/turtle"}), 406, "not-acceptable")


@pytest.mark.parametrize("path", ["maps/", "checks/", "drafts/", "failures/", "decisions/", "readings/"])
def test_a_media_type_that_is_not_taken(contributor, path):
    response = contributor.post(f"/api/v1/{path}", "a=1", content_type="application/x-www-form-urlencoded")
    problem(response, 415, "unsupported-media-type")


@pytest.mark.parametrize("sent", ["Token \xff", "Token \u0661", "Token", "Token a b", "Token 0", "Token -"])
def test_a_token_that_is_none(visitor, sent):
    response = visitor.fetch("maps/", headers={"Authorization": sent.encode().decode("latin1")})
    assert "tokens/" in problem(response, 401, "authentication-failed")["detail"]
    assert response["WWW-Authenticate"] == "Token"


def test_json_that_is_cut_off(contributor):
    problem(contributor.send("failures/", b'{"cable": '), 422, "bad-request")


@pytest.mark.parametrize(
    "path",
    ["maps/", "checks/", "drafts/", "failures/", "decisions/", "inferences/", "probe-plans/", "diagnoses/", "matches/"],
)
def test_a_body_that_is_too_large(contributor, path):
    problem(contributor.send(path, b" " * (4 * 1024 * 1024)), 413, "too-large")


@pytest.mark.parametrize("path", [*PLAIN, "maps/{id}/", "rules/"])
def test_an_error_inside(visitor, stored, path, monkeypatch, caplog):
    def fall(*_):
        raise RuntimeError("the password is hunter2")

    for name in ("maps.document_bytes", "maps.map_by_id", "published.map_schema", "published.rules"):
        monkeypatch.setattr(f"catalogue.usecases.{name}", fall)
    response = visitor.fetch(path.format(id=stored["id"]))
    problem(response, 500, "internal-error")
    assert b"hunter2" not in response.content
    assert "Unexpected error" in caplog.text


def test_a_host_that_is_not_ours(visitor):
    problem(visitor.fetch("maps/", headers={"Host": "elsewhere.example"}), 400, "malformed-request")
    assert b"<html" in visitor.get("/rules/", headers={"Host": "elsewhere.example"}).content


def test_a_field_that_nobody_told_of_would_be_found(visitor):
    response = visitor.fetch("rules/")
    response.content = response.content.replace(b'"code":', b'"codes":', 1)
    response.json = lambda: loads(response.content)
    with pytest.raises(AssertionError, match="codes"):
        assert_documented(response)
