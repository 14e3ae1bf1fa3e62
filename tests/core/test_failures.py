"""Failure reports against a map, and where they gather."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import CableName, End, MapDocument, Mark, MarkKind, Module, Net, Section
from catalogue.core.failures import (
    CLUSTER_M,
    Cause,
    Ending,
    Failure,
    FailureKind,
    PlaceKind,
    Span,
    Spot,
    Symptom,
    connector_of,
    failure_defects,
    failure_points,
    may_be_one_event,
    place_kind,
    spent,
    spots_of,
)
from catalogue.core.words import word

DOCUMENT = MapDocument(
    cable=CableName("Orrin & Vale (invented)", "PL-2"),
    ends=(End("HOST", "usb2-a"), End("PLOTTER", "usb2-b")),
    sections=(Section("main", "HOST", "PLOTTER", 1.8), Section("tail", "PLOTTER", "POD")),
    nets=(Net("VBUS", ("HOST:1", "PLOTTER:1")),),
)


def failure(**told: object) -> Failure:
    return Failure(**{"kind": FailureKind.CORE_OPEN, "ending": Ending.MENDED} | told)


def wheres(**told: object) -> list[str]:
    return [defect.where for defect in failure_defects(failure(**told), DOCUMENT)]


def test_a_report_that_fits_the_map_has_no_defects():
    assert wheres(section="main", at_m=1.8, nets=("VBUS",)) == []
    assert wheres(place="PLOTTER") == []
    assert wheres() == []
    assert wheres(section="tail", at_m=99.0) == []


def test_a_report_names_each_field_that_does_not_fit():
    assert wheres(section="mian") == ["/section"]
    assert wheres(section="main", at_m=1.81) == ["/at_m"]
    assert wheres(at_m=0.3) == ["/at_m"]
    assert wheres(place="CAMERA", nets=("VBUS", "GND")) == ["/place", "/nets"]
    assert wheres(section="main", place="HOST") == ["/place"]
    assert wheres(nets=("VBUS",) * 500) == []
    assert wheres(nets=("VBUS",) * 501) == ["/nets"]


def test_a_defect_says_which_names_there_are():
    (defect,) = failure_defects(failure(section="mian"), DOCUMENT)
    assert "'mian'" in defect.message
    assert "main, tail" in defect.remedy


def test_reports_near_each_other_gather_at_one_point():
    points = failure_points(
        [
            failure(section="main", at_m=0.30, symptoms=(Symptom.NO_POWER,)),
            failure(section="main", at_m=0.38, ending=Ending.GIVEN_UP),
            failure(section="main", at_m=0.34),
            failure(section="main", at_m=1.50),
            failure(place="HOST"),
            failure(place="HOST"),
            failure(),
        ]
    )
    first = points[0]
    assert (first.section, first.count, first.first_m, first.last_m) == ("main", 3, 0.30, 0.38)
    assert abs(first.at_m - 0.34) < 1e-9
    assert first.endings == {Ending.MENDED: 2, Ending.GIVEN_UP: 1}
    assert first.symptoms == {Symptom.NO_POWER: 1}
    assert [(point.section, point.place, point.count) for point in points[1:]] == [
        ("", "HOST", 2),
        ("main", "", 1),
    ]


def test_a_section_told_without_metres_is_a_point_of_its_own():
    points = failure_points([failure(section="main"), failure(section="main", at_m=0.0)])
    assert sorted((point.at_m is None, point.count) for point in points) == [(False, 1), (True, 1)]


@given(st.lists(st.tuples(st.sampled_from(["main", "tail"]), st.floats(0, 5)), max_size=30))
def test_points_part_the_reports_exactly_at_gaps_wider_than_the_reach(told):
    points = failure_points([failure(section=section, at_m=at_m) for section, at_m in told])
    assert sum(point.count for point in points) == len(told)
    for section in ("main", "tail"):
        spans = sorted((point.first_m, point.last_m) for point in points if point.section == section)
        for (_, end_m), (start_m, _) in itertools.pairwise(spans):
            assert start_m - end_m > CLUSTER_M
        places = sorted(at_m for name, at_m in told if name == section)
        gaps = sum(after - before > CLUSTER_M for before, after in itertools.pairwise(places))
        assert len(spans) == gaps + bool(places)


def test_text_that_hides_or_turns_is_named_by_its_field():
    assert wheres(words="a\u202eb", note="fine\nnext line") == ["/words"]
    assert wheres(note="a\u0007b") == ["/note"]
    assert wheres(words="電線 Ω ± naïve ✓") == []


@pytest.mark.parametrize(
    ("told", "kind"),
    [
        ({"place": "HOST"}, PlaceKind.CONNECTOR),
        ({"place": "POD"}, PlaceKind.MODULE),
        ({"place": "FORK"}, PlaceKind.SPLIT),
        ({"section": "main", "at_m": 0.05}, PlaceKind.CONNECTOR),
        ({"section": "main", "at_m": 1.85}, PlaceKind.MODULE),
        ({"section": "main", "at_m": 1.0}, PlaceKind.ALONG),
        ({"section": "main"}, PlaceKind.ALONG),
        ({"section": "tail", "at_m": 0.1}, PlaceKind.MODULE),
        ({"section": "tail", "at_m": 5.0}, PlaceKind.ALONG),
        ({}, None),
        ({"place": "elsewhere"}, None),
        ({"section": "elsewhere", "at_m": 0.0}, None),
    ],
)
def test_a_failure_is_at_the_end_module_or_split_that_it_is_close_to(told, kind):
    document = MapDocument(
        CableName("Invented", "A"),
        ends=(End("HOST", "custom", rows=(("1",),)), End("TOOL", "custom", rows=(("1",),))),
        modules=(Module("POD"),),
        splits=("FORK",),
        sections=(Section("main", "HOST", "POD", 2.0), Section("tail", "POD", "FORK")),
    )
    assert place_kind(Failure(FailureKind.CORE_OPEN, Ending.MENDED, **told), document) is kind


ALONG_THE_WAY = MapDocument(
    CableName("Invented", "A"),
    ends=(End("HOST", "usb2-a"), End("TOOL", "custom", rows=(("1",),))),
    modules=(Module("POD"),),
    sections=(Section("main", "HOST", "POD", 2.0), Section("tail", "POD", "TOOL")),
    marks=(Mark(MarkKind.STRAIN_RELIEF, "main", 0.3), Mark(MarkKind.KINK, "main", 1.0)),
)


@pytest.mark.parametrize(
    ("told", "spots", "connector"),
    [
        ({"place": "HOST"}, {Spot.CONNECTOR}, "usb2-a"),
        ({"section": "main", "at_m": 0.1}, {Spot.CONNECTOR}, "usb2-a"),
        ({"section": "main", "at_m": 0.2}, {Spot.CONNECTOR, Spot.STRAIN_RELIEF}, "usb2-a"),
        ({"place": "TOOL"}, {Spot.CONNECTOR}, ""),
        ({"section": "main", "at_m": 1.9}, {Spot.MODULE}, ""),
        ({"section": "main", "at_m": 0.35}, {Spot.ALONG, Spot.NEAR_AN_END, Spot.STRAIN_RELIEF}, ""),
        ({"section": "main", "at_m": 0.49}, {Spot.ALONG, Spot.NEAR_AN_END}, ""),
        ({"section": "main", "at_m": 0.5}, {Spot.ALONG, Spot.MIDDLE}, ""),
        ({"section": "main", "at_m": 1.0}, {Spot.ALONG, Spot.MIDDLE}, ""),
        ({"section": "main", "at_m": 1.6}, {Spot.ALONG, Spot.NEAR_AN_END}, ""),
        ({"section": "main"}, {Spot.ALONG}, ""),
        ({"section": "tail", "at_m": 0.9}, {Spot.ALONG}, ""),
        ({"section": "tail", "at_m": 0.3}, {Spot.ALONG}, ""),
        ({"cause": Cause.STRAIN_RELIEF}, {Spot.STRAIN_RELIEF}, ""),
        ({"section": "elsewhere", "at_m": 0.9}, set(), ""),
        ({}, set(), ""),
    ],
)
def test_a_failure_is_at_every_spot_that_it_is_told_to_be_at(told, spots, connector):
    failure = Failure(FailureKind.CORE_OPEN, Ending.MENDED, **told)
    assert spots_of(failure, ALONG_THE_WAY) == spots
    assert connector_of(failure, ALONG_THE_WAY) == connector


def test_the_kinds_of_place_are_called_the_same_when_they_are_told_closer():
    assert {kind.value: word(kind) for kind in PlaceKind} == {kind.value: word(Spot(kind.value)) for kind in PlaceKind}


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ({"at_m": 1.0}, {"at_m": 1.09}, True),
        ({"at_m": 1.0}, {"at_m": 1.2}, False),
        ({"at_m": 1.0}, {}, True),
        ({}, {"symptoms": (Symptom.HOT,)}, False),
        ({"section": ""}, {"section": ""}, False),
        ({"section": "", "place": "HOST"}, {"section": "", "place": "HOST"}, True),
        ({"section": "tail"}, {}, False),
    ],
)
def test_two_reports_may_be_of_one_event_at_one_place_with_one_symptom(one, other, expected):
    base = {"kind": FailureKind.CORE_OPEN, "ending": Ending.MENDED, "symptoms": (Symptom.NO_POWER,), "section": "main"}
    first, second = Failure(**base | one), Failure(**base | other)
    assert may_be_one_event(first, second) is expected
    assert may_be_one_event(second, first) is expected


def test_what_an_ending_took_is_told_by_least_middle_and_most_of_those_that_tell_it():
    told = [failure(hours=hours) for hours in (4.0, 1.0, None, 2.5)]
    told += [failure(cost=cost, currency=currency) for cost, currency in ((9.0, "EUR"), (3.0, "EUR"), (500.0, "JPY"))]
    (mended, given_up) = spent([failure(ending=Ending.GIVEN_UP), *told])
    assert (mended.ending, mended.count, mended.hours) == (Ending.MENDED, 7, Span(1.0, 2.5, 4.0))
    assert mended.costs == {"EUR": Span(3.0, 6.0, 9.0), "JPY": Span(500.0, 500.0, 500.0)}
    assert (given_up.count, given_up.hours, given_up.costs) == (1, None, {})
