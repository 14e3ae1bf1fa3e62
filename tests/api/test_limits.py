"""Who asks too often is told when to go on; these tests count by the site's real rates."""

import pytest
from django.conf import settings
from rest_framework.throttling import SimpleRateThrottle

from api.openapi import document
from catalogue.core.problems import NotFound
from catalogue.usecases.people import new_token
from tests.api.conftest import ApiClient
from tests.api.test_maps import problem

pytestmark = pytest.mark.django_db

RATES = settings.REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"]


def rate(scope):
    """Requests a minute."""
    number, _, unit = RATES[scope].partition("/")
    assert unit == "min"
    return int(number)


def ask_often(ask, scope):
    """As often as is taken; then the answer to one more."""
    for _ in range(rate(scope)):
        assert ask().status_code != 429
    response = ask()
    problem(response, 429, "throttled")
    assert 0 < int(response["Retry-After"]) <= 61
    return response


def test_writing_is_limited_by_account(contributor):
    ask_often(lambda: contributor.send("drafts/", b"no document"), "writing")
    other = ApiClient(headers={"Authorization": f"Token {new_token('oren')[0]}"})
    assert other.send("drafts/", {}).status_code == 201
    assert contributor.fetch("drafts/").status_code == 200


def test_searching_is_limited_by_address(visitor):
    ask_often(lambda: visitor.fetch("cables/?q=plotter"), "searching")
    assert visitor.fetch("cables/?q=plotter", REMOTE_ADDR="192.0.2.7").status_code == 200
    assert visitor.fetch("maps/").status_code == 200


def test_computing_is_limited_all_together(visitor):
    for _ in range(rate("computing") // 2):
        visitor.send("checks/", b"")
        visitor.send("inferences/", b"")
    problem(visitor.send("probe-plans/", b""), 429, "throttled")


def test_reading_is_limited(visitor):
    ask_often(lambda: visitor.fetch("maps/999/"), "reading")


def test_drawing_is_limited_by_address(visitor, monkeypatch):
    def none_there(*_):
        raise NotFound("none")

    monkeypatch.setattr("catalogue.usecases.maps.map_by_id", none_there)
    ask_often(lambda: visitor.fetch("maps/1/drawings/rail.svg"), "drawing")


def test_the_document_tells_every_limit():
    told = document()["info"]["description"]
    assert all(f"{rate(scope)} a minute" in told for scope in RATES)


def test_a_bench_may_ask_twice_a_second():
    assert rate("computing") >= 2 * 2 * 60  # inferences and plans
    assert rate("writing") >= 2 * 60


@pytest.mark.parametrize("page", ["/cables/?q=plotter", "/failure-points/?q=plotter"])
def test_pages_that_search_are_counted_with_the_searches_of_the_api(visitor, monkeypatch, page):
    monkeypatch.setitem(SimpleRateThrottle.THROTTLE_RATES, "searching", "2/min")
    assert visitor.fetch("cables/?q=plotter").status_code == 200
    assert visitor.get(page).status_code == 200
    response = visitor.get(page)
    assert response.status_code == 429
    assert 0 < int(response["Retry-After"]) <= 60
    assert f"wait {response['Retry-After']} seconds" in response.content.decode()
    problem(visitor.fetch("failure-points/"), 429, "throttled")
    assert visitor.get(page, REMOTE_ADDR="192.0.2.7").status_code == 200
