"""The way of a conductor: metres along it and metres in its sections are the same places."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import CableName, End, MapDocument, Section
from catalogue.core.location.ways import ways_of
from catalogue.core.topology import Spot, topology


def cable(*sections, splits=("Y",)):
    ends = tuple(End(name, "custom") for name in ("A", "B", "C"))
    return MapDocument(CableName("Invented", "W-1"), ends, splits=splits, sections=sections)


FORKED = cable(Section("lead", "A", "Y", 1.5), Section("coil", "B", "Y", 3.0), Section("tail", "Y", "C", 0.4))


def way(document, near, far):
    return next(way for way in ways_of(document) if (way.near, way.far) == (near, far))


def test_a_way_runs_through_sections_whichever_way_they_were_declared():
    found = way(FORKED, "A", "B")
    assert found.length_m == pytest.approx(4.5)
    assert [(leg.section, leg.near_m, leg.forwards) for leg in found.legs] == [
        ("lead", 0.0, True),
        ("coil", 1.5, False),
    ]
    assert found.along_m("coil", 3.0) == pytest.approx(1.5)
    assert found.spot(1.5 + 0.5) == Spot("coil", 2.5)
    assert found.along_m("tail", 0.1) is None
    assert found.along_m("coil", 3.1) is None


def test_ways_are_those_between_ends_and_single_sections_of_longer_ones():
    assert [(way.near, way.far) for way in ways_of(FORKED)] == [
        ("A", "B"), ("A", "C"), ("B", "C"), ("A", "Y"), ("B", "Y"), ("Y", "C"),
    ]  # fmt: skip
    whole = MapDocument(CableName("Invented", "W-2"), FORKED.ends[:2], sections=(Section("main", "A", "B", 2.0),))
    assert [(way.near, way.far) for way in ways_of(whole)] == [("A", "B")]


def test_no_way_leads_through_what_nobody_measured_or_to_what_is_not_there():
    document = cable(Section("lead", "A", "Y"), Section("coil", "B", "Y", 3.0), Section("loose", "C", "gone", 1.0))
    assert [(way.near, way.far) for way in ways_of(document)] == [("B", "Y")]


@given(st.sampled_from(ways_of(FORKED)), st.floats(0, 1))
def test_there_and_back_is_the_same_place(found, share):
    along_m = share * found.length_m
    spot = found.spot(along_m)
    assert found.along_m(spot.section, spot.at_m) == pytest.approx(along_m, abs=1e-9)
    ahead = topology(FORKED).stretches(found.near, spot)
    assert sum(stretch.length_m for stretch in ahead) == pytest.approx(along_m, abs=1e-9)
