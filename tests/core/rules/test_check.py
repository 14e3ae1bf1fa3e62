"""Checking a whole map: order, the cap on repetition, broken documents, and true cables, never refused."""

import cProfile
import pstats
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.check import ENOUGH, MOST, check
from catalogue.core.document import (
    CableName,
    Core,
    CoreKind,
    End,
    Fault,
    FaultKind,
    MapDocument,
    Mark,
    MarkKind,
    Meter,
    Mode,
    Module,
    Net,
    Opening,
    Part,
    PartKind,
    Path,
    Reading,
    Result,
    Role,
    Section,
    Via,
)
from catalogue.core.findings import Finding, Severity, accepted
from catalogue.core.rules.remark import Remark
from catalogue.core.rules.table import RULES
from catalogue.core.simulation import BenchMeter, every_pair, mixed_acts, random_cable, read, specimen
from tests.core.rules.maps import REFERENCE, beep, findings, over, sound_cable, with_readings


def test_a_sound_map_draws_no_finding_at_all():
    assert findings(sound_cable()) == ()


def test_rejections_come_before_warnings_and_warnings_before_notes():
    told = findings(
        sound_cable(
            readings=(*sound_cable().readings[:-1], over("r7", "L:1", "R:1")),
            cores=(Core("k1", "main", colours=("RD",)), Core("k2", "main", colours=("RD",))),
        )
    )
    assert [finding.severity for finding in told] == sorted(
        (finding.severity for finding in told), key=list(Severity).index
    )
    assert {finding.severity for finding in told} == set(Severity)
    assert not accepted(told)


def test_among_equals_the_order_is_that_of_the_table():
    order = [rule.code for rule in RULES]
    rejected = [finding.code for finding in findings(with_readings(over("r7", "L:1", "R:1")))]
    assert rejected == sorted(rejected, key=order.index)
    assert rejected == ["net-split", "readings-contradict"]


def many_joined_nets(count):
    """One contact to a net, the first of them beeping with all others: `count` pairs of joined nets."""
    contacts = [str(number) for number in range(count + 1)]
    return sound_cable(
        ends=(End("L", "custom", rows=(tuple(contacts),)),),
        sections=(),
        cores=(),
        nets=tuple(Net(f"N{contact}", (f"L:{contact}",)) for contact in contacts),
        readings=tuple(beep(f"r{contact}", "L:0", f"L:{contact}") for contact in contacts[1:]),
    )


def test_findings_of_one_kind_are_cut_at_the_limit_and_the_last_says_how_many_more():
    told = [finding for finding in findings(many_joined_nets(MOST + 7)) if finding.code == "nets-joined"]
    assert len(told) == MOST
    assert told[-1].message.endswith("There are 7 more findings of this kind.")
    assert "more findings" not in told[-2].message


def test_no_more_is_proved_than_what_is_enough_to_say_at_least_how_many():
    told = [finding for finding in findings(many_joined_nets(ENOUGH + 7)) if finding.code == "nets-joined"]
    assert told[-1].message.endswith(f"There are at least {ENOUGH - MOST} more findings of this kind.")


def test_exactly_the_limit_is_not_cut():
    told = [finding for finding in findings(many_joined_nets(MOST)) if finding.code == "nets-joined"]
    assert len(told) == MOST
    assert not any("of this kind" in finding.message for finding in told)


def test_cutting_never_drops_a_rejection_for_a_note():
    document = many_joined_nets(ENOUGH + 7)
    shorted = replace(document, faults=(Fault(FaultKind.SHORT, tuple(net.name for net in document.nets[:-1])),))
    told = [finding for finding in findings(shorted) if finding.code == "nets-joined"]
    assert told[0].severity is Severity.REJECT
    assert {finding.severity for finding in told[1:]} == {Severity.NOTE}


def pointed_at(document, pointer):
    """The value that a JSON pointer into the document's JSON leads to, as the frozen value holds it."""
    names = {"from": "start", "to": "finish"}
    value = document
    for step in pointer.split("/")[1:]:
        value = value[int(step)] if step.isdigit() else getattr(value, names.get(step, step))
    return value


NAMES = st.sampled_from(["L", "R", "POD", "main", "tail", "V", "G", "F", "k1", "f1", "nobody"])
POINTS = st.sampled_from(
    [
        "L:1",
        "L:2",
        "L:9",
        "R:1",
        "R:2",
        "A:1",
        "A:2",
        "A:3",
        "A:4",
        "X:1",
        "k1@0.5",
        "k1@9",
        "f1@0.5",
        "no@0.5",
    ]
)
METRES = st.floats(-1, 5)
SIZES = st.sampled_from([0.0, 0.3, 1.0, 9.0, 30.0, 150.0, 1e3, 1e6, 1e12])


@st.composite
def any_reading(draw, place):
    mode = draw(st.sampled_from(Mode))
    result = draw(st.sampled_from([Result.VALUE, Result.OVER]))
    if mode in (Mode.BEEP, Mode.SWEEP):
        result = draw(st.sampled_from([Result.BEEPS, Result.SILENT]))
    black = draw(st.lists(POINTS, min_size=1, max_size=4 if mode is Mode.SWEEP else 1))
    return Reading(
        f"r{place}",
        mode,
        draw(POINTS),
        tuple(black),
        result,
        draw(SIZES) if result is Result.VALUE else None,
        draw(st.none() | st.just(0.1)),
        draw(st.none() | SIZES.filter(bool)),
        draw(st.booleans()),
    )


def several(values, most=4):
    return st.lists(values, max_size=most).map(tuple)


@st.composite
def any_document(draw):
    """Whatever can be written down, with names that may lead nowhere."""
    colour = st.sampled_from([(), ("RD",), ("WH", "BU")])
    return MapDocument(
        cable=CableName("Corvane (invented)", "?"),
        ends=(
            End("L", "custom", rows=(("1", "2", "", "3"), ())),
            End("R", "custom", rows=(("1", "2"),)),
            End("A", draw(st.sampled_from(["bus-a", "bus-b", "unheard-of"]))),
        ),
        modules=draw(several(st.builds(Module, NAMES), 1)),
        splits=draw(several(NAMES, 1)),
        sections=draw(several(st.builds(Section, NAMES, NAMES, NAMES, st.none() | METRES))),
        cores=draw(
            several(
                st.builds(
                    Core,
                    NAMES,
                    NAMES,
                    st.sampled_from(CoreKind),
                    colour,
                    st.none() | st.floats(-3, 60),
                    st.none() | st.floats(0.01, 10),
                    st.just(""),
                    st.just("") | NAMES,
                )
            )
        ),
        nets=draw(
            several(
                st.builds(
                    Net,
                    NAMES,
                    several(POINTS),
                    st.sampled_from(Role),
                    st.none() | st.floats(-48, 48),
                    st.just("") | NAMES,
                )
            )
        ),
        paths=draw(several(st.builds(Path, NAMES, st.sampled_from(Via), POINTS, POINTS), 2)),
        parts=draw(several(st.builds(Part, st.sampled_from(PartKind), st.tuples(NAMES, NAMES)), 2)),
        marks=draw(several(st.builds(Mark, st.sampled_from(MarkKind), NAMES, METRES), 2)),
        openings=(*draw(several(st.builds(Opening, NAMES, METRES), 2)), Opening("main", 0.5)),
        faults=draw(
            several(
                st.builds(
                    Fault,
                    st.sampled_from(FaultKind),
                    several(NAMES, 3),
                    st.just("") | NAMES,
                    st.none() | METRES,
                ),
                2,
            )
        ),
        meter=draw(st.sampled_from([Meter(), Meter(join_ohms=0.0), Meter(beep_ohms=(0.0, 0.0), lead_ohms=5.0)])),
        readings=tuple(draw(any_reading(place)) for place in range(draw(st.integers(0, 12)))),
    )


@given(any_document())
def test_whatever_is_written_down_is_checked_without_a_crash(document):
    told = check(document, REFERENCE)
    assert told == check(document, REFERENCE)
    ids = {reading.id for reading in document.readings}
    for finding in told:
        assert finding.message.rstrip().endswith(".")
        assert set(finding.readings) <= ids
        assert {step.reading for step in finding.witness} <= set(finding.readings)
        assert finding.at or finding.code == "coverage"
        for pointer in finding.at:
            pointed_at(document, pointer)


@given(any_document())
def test_a_reading_on_a_point_that_is_not_declared_concludes_nothing(document):
    """Left out altogether, such readings leave the same findings but for the places of the readings."""
    dropped = {
        finding.readings[0]
        for finding in check(document, REFERENCE)
        if finding.code in ("contact-unknown", "core-out-of-place") and finding.readings
    }
    kept = tuple(reading for reading in document.readings if reading.id not in dropped)
    if not kept:
        return
    with_all, without = (
        [
            finding.message
            for finding in check(each, REFERENCE)
            if finding.code not in ("contact-unknown", "core-out-of-place")
        ]
        for each in (document, replace(document, readings=kept))
    )
    assert with_all == without


@pytest.mark.parametrize("seed", range(12))
def test_a_true_cable_read_with_every_error_the_meter_allows_is_never_refused_nor_warned_of(seed):
    """Simulated as a network of resistances; resistors between nets put `no-network` to the test as well."""
    rng = np.random.default_rng(seed)
    cable = random_cable(rng, contacts=(9, 7, 4), resistors=seed % 7)
    sample = specimen(cable, rng)
    acts = tuple(every_pair(sample.points)) if seed % 2 else mixed_acts(sample.points, rng, share=0.5)
    document = replace(cable, readings=read(sample, acts, BenchMeter.of(cable.meter, rng)))
    assert {finding.severity for finding in check(document, REFERENCE)} <= {Severity.NOTE}


def calls_made(contacts):
    """Readings of a simulated cable of so many contacts at each end, and the calls that checking it takes."""
    rng = np.random.default_rng(5)
    cable = random_cable(rng, contacts=(contacts, contacts))
    sample = specimen(cable, rng)
    document = replace(cable, readings=read(sample, every_pair(sample.points), BenchMeter.of(cable.meter, rng)))
    profile = cProfile.Profile()
    profile.runcall(check, document, REFERENCE)
    return len(document.readings), pstats.Stats(profile).total_calls


def test_ten_times_the_readings_take_about_ten_times_the_work():
    (few, calls_few), (many, calls_many) = calls_made(8), calls_made(25)
    assert 10 < many / few < 11
    assert calls_many <= 1.2 * calls_few * many / few


def test_a_remark_has_every_field_that_a_finding_takes_but_the_code():
    taken = {field.name for field in fields(Finding)} - {"code"}
    assert {field.name for field in fields(Remark)} == taken | {"hint"}, "a hint becomes part of the message"
