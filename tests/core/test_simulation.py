"""A simulated cable is that of its map, its meter keeps its limits, true readings are never refused."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, reject
from hypothesis import strategies as st
from scipy.sparse.csgraph import shortest_path

from catalogue.core.bounds import bounds, span_ohms, violations
from catalogue.core.document import (
    CUSTOM_CONNECTOR,
    CableName,
    Core,
    CoreKind,
    End,
    Fault,
    FaultKind,
    MapDocument,
    Meter,
    Mode,
    Net,
    Part,
    PartKind,
    Reading,
    Result,
    Section,
)
from catalogue.core.nets import deduce
from catalogue.core.simulation import (
    COPPER_SPREAD,
    HIGH_OHMS,
    JOINT_OHMS,
    SHORT_OHMS,
    Act,
    BenchMeter,
    Specimen,
    flipped,
    mixed_acts,
    random_cable,
    read,
    specimen,
)
from tests.core import strategies

RNG_SEED = 7


def plain_cable(**more: object) -> MapDocument:
    """Two ends of three contacts, 50 m apart on gauge 12."""
    rows = (("1", "2", "3"),)
    document = MapDocument(
        CableName("Invented Works", "Sample"),
        (End("A", CUSTOM_CONNECTOR, rows=rows), End("B", CUSTOM_CONNECTOR, rows=rows)),
        sections=(Section("s", "A", "B", 50.0),),
        cores=(Core("k1", "s", awg=12.0, carries="N"), Core("k2", "s", awg=12.0, carries="M")),
        nets=(Net("N", ("A:1", "B:1")), Net("M", ("A:2", "B:2", "B:3"))),
    )
    return replace(document, **more)


def rng() -> np.random.Generator:
    return np.random.default_rng(RNG_SEED)


# --- the specimen ---


def test_a_conductor_has_the_resistance_of_its_copper():
    # 50 m of AWG 12 is 0.26 ohm one way: https://aionlinecalculator.com/wire-gauge-calculator.html
    found = specimen(plain_cable(), rng()).ohms("A:1", "B:1")
    assert COPPER_SPREAD[0] * 0.26 < found < COPPER_SPREAD[1] * 0.265 + 2 * JOINT_OHMS[1]


def test_contacts_of_one_end_are_joined_by_milliohms_and_other_nets_are_not_joined():
    sample = specimen(plain_cable(), rng())
    assert sample.points == ("A:1", "A:2", "A:3", "B:1", "B:2", "B:3")
    assert 2 * JOINT_OHMS[0] < sample.ohms("B:2", "B:3") < 2 * JOINT_OHMS[1]
    assert sample.ohms("A:1", "A:2") == math.inf
    assert sample.ohms("A:3", "A:2") == math.inf
    assert sample.ohms("A:3", "A:3") == 0.0


def test_two_cores_side_by_side_have_half_the_resistance():
    cores = tuple(Core(f"k{n}", "s", awg=12.0, carries="N") for n in range(2))
    sample = specimen(plain_cable(cores=cores), rng())
    single = specimen(plain_cable(), rng())
    assert sample.ohms("A:1", "B:1") == pytest.approx(single.ohms("A:1", "B:1") / 2, rel=0.05)


def test_a_net_on_fibre_alone_does_not_conduct():
    cores = (Core("f", "s", CoreKind.FIBRE, carries="N"),)
    assert specimen(plain_cable(cores=cores), rng()).ohms("A:1", "B:1") == math.inf


def test_a_resistor_between_nets_is_there_within_its_tolerance():
    parts = (Part(PartKind.RESISTOR, ("N", "M"), 5100.0), Part(PartKind.CAPACITOR, ("N", "M"), 1e-9))
    found = specimen(plain_cable(parts=parts), rng()).ohms("A:1", "A:2")
    assert found == pytest.approx(5100, rel=0.06)


def test_declared_faults_are_there():
    nothing = specimen(plain_cable(), rng())
    cut = specimen(plain_cable(faults=(Fault(FaultKind.OPEN, ("N",), "s"),)), rng())
    assert cut.ohms("A:1", "B:1") == math.inf
    assert cut.ohms("A:2", "B:2") < 1
    high = specimen(plain_cable(faults=(Fault(FaultKind.HIGH, ("N",)),)), rng())
    added = high.ohms("A:1", "B:1") - nothing.ohms("A:1", "B:1")
    assert HIGH_OHMS[0] - 1 < added < HIGH_OHMS[1] + 1
    short = specimen(plain_cable(faults=(Fault(FaultKind.SHORT, ("N", "M")),)), rng())
    assert short.ohms("A:1", "A:2") < SHORT_OHMS[1] + 2 * JOINT_OHMS[1]


def test_an_open_fault_of_a_tail_leaves_the_other_tails_whole():
    ends = tuple(End(name, CUSTOM_CONNECTOR, rows=(("1",),)) for name in "ABC")
    document = MapDocument(
        CableName("Invented Works", "Sample"),
        ends,
        splits=("Y",),
        sections=tuple(Section(f"s{name}", name, "Y", 1.0) for name in "ABC"),
        nets=(Net("N", ("A:1", "B:1", "C:1")),),
        faults=(Fault(FaultKind.OPEN, ("N",), "sB"),),
    )
    sample = specimen(document, rng())
    assert sample.ohms("A:1", "C:1") < 1
    assert sample.ohms("A:1", "B:1") == math.inf


def test_a_cable_without_sections_still_joins_its_ends():
    assert specimen(plain_cable(sections=(), cores=()), rng()).ohms("A:1", "B:1") < 5


@given(strategies.cables(), strategies.generators())
def test_a_specimen_is_joined_exactly_as_its_map_says(document: MapDocument, rng: np.random.Generator):
    sample = specimen(document, rng)
    owner = document.net_of_contact
    tied = {frozenset(part.between) for part in document.parts}
    for one, other in combinations(sample.points, 2):
        nets = frozenset((owner.get(one, one), owner.get(other, other)))
        if len(nets) == 1:
            assert sample.ohms(one, other) < 10
        elif nets in tied:
            assert 60 < sample.ohms(one, other) < 1.1e5
        elif not tied:
            assert sample.ohms(one, other) == math.inf


def test_the_same_seed_gives_the_same_cable_and_the_same_readings():
    def again() -> tuple[MapDocument, tuple[Reading, ...]]:
        chance = np.random.default_rng(11)
        cable = random_cable(chance, (5, 4, 3), resistors=2)
        sample = specimen(cable, chance)
        return cable, read(sample, mixed_acts(sample.points, chance), BenchMeter.of(cable.meter, chance))

    assert again() == again()


def test_an_invented_cable_says_so_and_has_the_contacts_asked_for():
    cable = random_cable(rng(), (38, 24, 4))
    assert "Invented" in cable.cable.maker
    assert "Invented" in cable.cable.summary
    assert [sum(len(row) for row in end.rows) for end in cable.ends] == [38, 24, 4]
    listed = [contact for net in cable.nets for contact in net.contacts]
    assert len(listed) == len(set(listed)) > 30


# --- the meter ---


def one_pair(true_ohms: float) -> Specimen:
    return Specimen(("A:1", "B:1"), np.array([[0.0, true_ohms], [true_ohms, 0.0]]))


@given(
    st.one_of(st.floats(0, 300), st.floats(0, 1e8), st.just(math.inf)),
    strategies.meters(),
    strategies.generators(),
    st.sampled_from([Act(Mode.OHMS, "A:1", ("B:1",)), Act(Mode.OHMS, "A:1", ("B:1",), 2000.0)]),
    st.booleans(),
)
def test_the_truth_always_lies_within_the_bounds_of_what_the_meter_shows(
    true_ohms: float, meter: Meter, rng: np.random.Generator, act: Act, with_digit: bool
):
    for mode in (Mode.OHMS, Mode.BEEP, Mode.SWEEP):
        acts = [replace(act, mode=mode)] * 5
        for reading in read(one_pair(true_ohms), acts, BenchMeter.of(meter, rng)):
            kept = reading if with_digit else replace(reading, digit_ohms=None)
            span = span_ohms(kept, meter)
            assert span is not None
            assert span[0] - 1e-9 <= true_ohms <= span[1] + 1e-9 * max(1.0, span[1])


def test_an_open_pair_is_over_limit_and_a_value_beyond_a_range_chosen_by_hand_too():
    meter = BenchMeter.of(Meter(), rng())
    acts = (Act(Mode.OHMS, "A:1", ("B:1",)), Act(Mode.OHMS, "A:1", ("B:1",), 2000.0))
    results = [[r.result for r in read(one_pair(ohms), acts, meter)] for ohms in (math.inf, 5100.0)]
    assert results == [[Result.OVER, Result.OVER], [Result.VALUE, Result.OVER]]


@pytest.mark.parametrize(("true_ohms", "digit"), [(0.5, 0.1), (250.0, 0.1), (5100.0, 10.0), (3e6, 1000.0)])
def test_the_meter_picks_the_lowest_range_that_holds_the_value(true_ohms: float, digit: float):
    (reading,) = read(one_pair(true_ohms), [Act(Mode.OHMS, "A:1", ("B:1",))], BenchMeter.of(Meter(), rng()))
    assert reading.digit_ohms == pytest.approx(digit)
    assert reading.value is not None
    assert reading.value / digit == pytest.approx(round(reading.value / digit))


def test_what_is_not_resistance_cannot_be_read_from_a_network():
    with pytest.raises(ValueError, match="no diode reading"):
        read(one_pair(1.0), [Act(Mode.DIODE, "A:1", ("B:1",))], BenchMeter.of(Meter(), rng()))


# --- true readings and spoilt ones ---


@given(strategies.cables(), strategies.generators(), st.floats(0, 1))
def test_the_readings_of_a_true_cable_are_never_refused(document: MapDocument, rng: np.random.Generator, share: float):
    sample = specimen(document, rng)
    acts = mixed_acts(sample.points, rng, share) + mixed_acts(sample.points, rng, share)
    readings = read(sample, acts, BenchMeter.of(document.meter, rng))
    assert violations(bounds(readings, document.meter)) == ()
    assert deduce(sample.points, readings, document.meter).impossible_sweeps == ()


def known_by_shortest_paths(readings: tuple[Reading, ...], meter: Meter) -> bool:
    """scipy's dense shortest paths over upper bounds alone: is some lower bound above one of them?"""
    points = sorted({point for reading in readings for point in (reading.red, *reading.black)})
    place = {point: number for number, point in enumerate(points)}
    found = bounds(readings, meter)
    upper = np.full((len(points), len(points)), np.inf)
    for bound in found:
        a, b = place[bound.a], place[bound.b]
        upper[a, b] = upper[b, a] = min(upper[a, b], bound.upper)
    least = shortest_path(np.where(upper == 0, 1e-12, upper), method="FW", directed=False)
    return any(bound.lower > least[place[bound.a], place[bound.b]] + 1e-6 for bound in found)


@given(strategies.cables(), strategies.generators(), st.floats(0.3, 1))
def test_a_spoilt_reading_is_refused_exactly_when_shortest_paths_can_know_it(
    document: MapDocument, rng: np.random.Generator, share: float
):
    sample = specimen(document, rng)
    readings = read(sample, mixed_acts(sample.points, rng, share), BenchMeter.of(document.meter, rng))
    try:
        spoilt, turned = flipped(readings, rng, document.meter)
    except ValueError:
        reject()
    assert [reading.id for reading in spoilt] == [reading.id for reading in readings]
    assert [reading.id for reading in spoilt if reading not in readings] == [turned.id]
    refused = violations(bounds(spoilt, document.meter))
    assert bool(refused) == known_by_shortest_paths(spoilt, document.meter)
    for violation in refused:
        assert turned.id in {violation.bound.reading, *(link.reading for link in violation.path)}


def test_without_a_reading_that_shows_joined_or_open_nothing_can_be_spoilt():
    with pytest.raises(ValueError, match="no reading"):
        flipped([], rng(), Meter())
