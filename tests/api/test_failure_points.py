"""Known failure points across cables, by the API."""

import pytest

pytestmark = pytest.mark.django_db

SLUG = "orrin-vale-invented-plotter-lead-pl-2"


@pytest.fixture
def told(contributor, stored):
    alike = {"cable": SLUG, "kind": "core-open", "section": "main", "at_m": 0.9, "event": ""}
    for more in (
        {"ending": "mended", "symptoms": ["no-power"], "tried": ["cut-and-spliced"]},
        {"ending": "given-up", "symptoms": ["hot"], "tried": ["cut-and-spliced"], "event": "another"},
        {"ending": "not-ended", "section": "", "at_m": None, "place": "PLOTTER", "event": "another"},
    ):
        assert contributor.send("failures/", alike | more).status_code == 201


def test_a_visitor_reads_where_cables_fail(visitor, told):
    found = visitor.fetch("failure-points/").json()
    everything = {
        "reports": 3,
        "cables": 1,
        "endings": {"mended": 1, "given-up": 1, "not-ended": 1},
        "mending": {"tried": 2, "succeeded": 1},
        "interval": {"lower": pytest.approx(0.0945, abs=5e-5), "upper": pytest.approx(0.9055, abs=5e-5)},
    }
    assert found["all"] == everything
    assert [(place["value"], place["reports"]) for place in found["places"]] == [
        ("along", 2),
        ("middle", 2),
        ("connector", 1),
    ]
    assert [symptom["value"] for symptom in found["symptoms"]] == ["hot", "no-power"]
    assert [(connector["value"], connector["interval"]) for connector in found["connectors"]] == [("usb2-b", None)]
    assert found["rides_on"] == [{"value": "copper"} | everything]


@pytest.mark.parametrize(
    ("query", "reports"),
    [
        ("symptom=hot", 1),
        ("place=along&symptom=no-power", 1),
        ("connector=usb2-b&place=along", 0),
        ("q=plotter&rides_on=copper", 3),
        ("rides_on=fibre", 0),
        ("q=theodolite", 0),
    ],
)
def test_all_that_is_asked_has_to_fit(visitor, told, query, reports):
    assert visitor.fetch(f"failure-points/?{query}").json()["all"]["reports"] == reports


@pytest.mark.parametrize("query", ["symptom=sad", "place=nowhere", "rides_on=air", "q=" + "a" * 300])
def test_a_query_that_makes_no_sense_names_its_field(visitor, query):
    response = visitor.fetch(f"failure-points/?{query}")
    assert response.status_code == 422
    (defect,) = response.json()["defects"]
    assert defect["where"] == "/" + query.partition("=")[0]


def test_counts_are_read_only(contributor):
    assert contributor.send("failure-points/", {}).status_code == 405
