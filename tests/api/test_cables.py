"""Searching cables, reading their failures, and reporting one."""

import pytest

from catalogue.models import FailureReport

pytestmark = pytest.mark.django_db

SLUG = "orrin-vale-invented-plotter-lead-pl-2"


def report(**told):
    return {"cable": SLUG, "kind": "core-open", "ending": "mended", "section": "main", "at_m": 1.7} | told


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
    contributor.send("failures/", report(at_m=1.75, ending="given-up"))
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
