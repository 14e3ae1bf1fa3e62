"""Searching cables, reading their failures, and reporting one."""

import pytest

from catalogue.models import FailureReport
from catalogue.usecases.people import new_token
from tests.api.conftest import ApiClient

pytestmark = pytest.mark.django_db

SLUG = "orrin-vale-invented-plotter-lead-pl-2"


def report(**told):
    return {"cable": SLUG, "kind": "core-open", "ending": "mended", "section": "main", "at_m": 1.7} | told


@pytest.fixture
def neighbour():
    token, _ = new_token("pavel")
    return ApiClient(headers={"Authorization": f"Token {token}"})


def test_a_visitor_finds_a_cable_by_device_and_connector(visitor, stored):
    (cable,) = visitor.fetch("cables/?q=pen+plotter&connector=usb2-b").json()["results"]
    assert cable["slug"] == SLUG
    assert cable["latest_map"]["id"] == stored["id"]
    assert visitor.fetch("cables/?q=theodolite").json()["results"] == []


def test_a_visitor_reads_one_cable(visitor, stored):
    cable = visitor.fetch(f"cables/{SLUG}/").json()
    assert cable["devices"] == ["PL-200 pen plotter (invented)"]
    assert (cable["failures"], cable["latest_map"]["revision"]) == (0, 1)


@pytest.mark.parametrize("query", ["contacts=none", "contacts=0", "symptom=sad", "rides_on=air", "q=" + "a" * 300])
def test_a_query_that_makes_no_sense_names_its_field(visitor, query):
    response = visitor.fetch(f"cables/?{query}")
    assert response.status_code == 422
    (defect,) = response.json()["defects"]
    assert defect["where"] == "/" + query.partition("=")[0]


def test_a_contributor_reports_a_failure_and_everybody_sees_where(contributor, visitor, stored):
    response = contributor.send("failures/", report(symptoms=["no-power"], words="goes dark", nets=["VBUS"]))
    assert response.status_code == 201
    contributor.send("failures/", report(at_m=1.75, ending="given-up", event="another"))
    (second, first) = visitor.fetch(f"cables/{SLUG}/failures/").json()["results"]
    assert (first["words"], first["symptoms"], first["map"]) == ("goes dark", ["no-power"], stored["id"])
    assert second["ending"] == "given-up"
    (point,) = visitor.fetch(f"cables/{SLUG}/failure-points/").json()["results"]
    assert (point["section"], point["count"]) == ("main", 2)
    assert point["endings"] == {"mended": 1, "given-up": 1}
    assert visitor.fetch("cables/?symptom=no-power").json()["results"][0]["failures"] == 2


def test_a_report_draws_its_count_on_the_rail_chart(contributor, visitor, stored):
    path = f"maps/{stored['id']}/drawings/rail.dot"
    before = visitor.fetch(path).content
    contributor.send("failures/", report())
    assert visitor.fetch(path).content != before


def test_a_report_whose_event_may_be_told_already_is_asked_about_and_nothing_is_stored(contributor, neighbour, stored):
    first = contributor.send("failures/", report(symptoms=["hot"], words="goes dark")).json()
    for client, is_own in ((contributor, True), (neighbour, False)):
        answer = client.send("failures/", report(symptoms=["hot"], at_m=1.72))
        assert answer.status_code == 409
        assert answer["Content-Type"] == "application/problem+json"
        asked = answer.json()
        assert asked["code"] == "event-told-already"
        (alike,) = asked["alike"]
        assert (alike["event"], alike["is_own"], alike["told"]["words"]) == (str(first["id"]), is_own, "goes dark")
        assert alike["reported_at"] == first["created_at"]
    assert FailureReport.objects.count() == 1


def test_another_event_is_stored_beside_the_first(contributor, stored):
    contributor.send("failures/", report())
    assert contributor.send("failures/", report(event="another")).status_code == 201
    assert FailureReport.objects.count() == 2


@pytest.mark.parametrize("as_named", [int, str])
def test_ones_own_report_told_anew_says_so_and_keeps_what_it_said(contributor, visitor, stored, as_named):
    first = contributor.send("failures/", report(words="goes dark", ending="not-ended")).json()
    assert first["told_before"] == []
    answer = contributor.send("failures/", report(words="mended it", event=as_named(first["id"])))
    assert answer.status_code == 200
    (listed,) = visitor.fetch(f"cables/{SLUG}/failures/").json()["results"]
    assert answer.json() == listed
    assert (listed["id"], listed["words"], listed["created_at"]) == (first["id"], "mended it", first["created_at"])
    (before,) = listed["told_before"]
    assert before["told_at"] == first["created_at"]
    assert (before["told"]["words"], before["told"]["ending"]) == ("goes dark", "not-ended")
    assert (listed["review"]["standing"], listed["review"]["at"] > first["created_at"]) == ("not-reviewed", True)


def test_an_event_that_somebody_else_told_is_answered_with_their_report(contributor, neighbour, stored):
    first = contributor.send("failures/", report(symptoms=["hot"], words="goes dark")).json()
    answer = neighbour.send("failures/", report(symptoms=["hot"], words="mine", event=str(first["id"])))
    assert (answer.status_code, answer.json()["words"]) == (200, "goes dark")
    assert FailureReport.objects.get().words == "goes dark"


def test_an_event_that_nobody_told_is_named_as_the_mistake(contributor, stored):
    answer = contributor.send("failures/", report(event="7"))
    assert answer.status_code == 422
    assert [defect["where"] for defect in answer.json()["defects"]] == ["/event"]
    assert not FailureReport.objects.exists()


def test_the_reports_of_a_cable_cost_as_many_statements_for_many_as_for_one(
    contributor, visitor, stored, django_assert_num_queries
):
    told = contributor.send("failures/", report()).json()
    contributor.send("failures/", report(words="anew", event=told["id"]))
    with django_assert_num_queries(4):
        visitor.fetch(f"cables/{SLUG}/failures/")
    for number in range(5):
        told = contributor.send("failures/", report(event="another")).json()
        contributor.send("failures/", report(words=f"anew {number}", event=told["id"]))
    with django_assert_num_queries(4):
        visitor.fetch(f"cables/{SLUG}/failures/")


@pytest.mark.parametrize(
    ("told", "where"),
    [
        ({"kind": "sad"}, "/kind"),
        ({"symptom": ["no-power"]}, "/symptom"),
        ({"section": "spine"}, "/section"),
        ({"at_m": 99}, "/at_m"),
        ({"at_m": "NaN"}, "/at_m"),
        ({"nets": ["VBUS", "TX"]}, "/nets"),
        ({"cost": -1}, "/cost"),
        ({"currency": "euros"}, "/currency"),
        ({"cost": 4.2}, "/currency"),
        ({"cost": 4.205, "currency": "EUR"}, "/cost"),
        ({"words": "a\x00b"}, "/words"),
        ({"note": "a\u202eb"}, "/note"),
        ({"note": "a" * 2001}, "/note"),
    ],
)
def test_a_report_with_a_mistake_names_the_field_and_stores_nothing(contributor, stored, told, where):
    response = contributor.send("failures/", report(**told))
    assert response.status_code == 422, response.content
    assert where in {defect["where"] for defect in response.json()["defects"]}
    assert not FailureReport.objects.exists()


def test_a_report_on_an_unknown_cable_is_not_found(contributor, stored):
    assert contributor.send("failures/", report(cable="none")).status_code == 404


@pytest.mark.parametrize("body", [b"{", b"[]", b"3"])
def test_a_report_that_is_no_json_object_is_told_so(contributor, stored, body):
    response = contributor.send("failures/", body)
    assert response.status_code in (400, 422)
    assert response["Content-Type"] == "application/problem+json"


def test_a_visitor_may_not_report(visitor, stored):
    assert visitor.send("failures/", report()).status_code == 401
