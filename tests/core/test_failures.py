"""Failure reports against a map, and where they gather."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import CableName, End, MapDocument, Net, Section
from catalogue.core.failures import (
    CLUSTER_M,
    Ending,
    Failure,
    FailureKind,
    Symptom,
    failure_defects,
    failure_points,
)

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
