"""Readings that say less than they seem to: `beep-too-coarse`, `range-too-low`, `intermittent`."""

import pytest

from catalogue.core.findings import Severity
from tests.core.rules.maps import (
    beep,
    found,
    ohms,
    only,
    opened_cable,
    over,
    silent,
    sound_cable,
    sweep,
    with_readings,
)

BEEPS = (beep("r1", "L:1", "R:1"), beep("r2", "R:1", "R:2"))


def test_a_net_of_beeps_with_a_value_that_hints_at_a_part_is_noted():
    finding = only(sound_cable(nets=(), cores=(), readings=(*BEEPS, ohms("r3", "L:1", "R:2", 34.0))), "beep-too-coarse")
    assert finding.severity is Severity.NOTE
    assert "because r1 and r2 beeped, but r3 shows 34 Ω" in finding.message
    assert "read L:1 to R:1 in ohms" in finding.message
    assert finding.readings == ("r3", "r1", "r2")


def test_a_net_of_beeps_whose_value_is_that_of_wire_is_fine():
    readings = (*BEEPS, ohms("r3", "L:1", "R:2", 1.2))
    assert not found(sound_cable(nets=(), cores=(), readings=readings), "beep-too-coarse")


def test_a_value_above_the_joint_limit_is_no_doubt_about_ohms_readings():
    """The chain itself was read in ohms, so that this is a contradiction and no matter of the buzzer."""
    readings = (ohms("r1", "L:1", "R:1", 0.6), ohms("r2", "R:1", "R:2", 0.6), ohms("r3", "L:1", "R:2", 34.0))
    document = sound_cable(nets=(), cores=(), readings=readings)
    assert not found(document, "beep-too-coarse")
    assert found(document, "readings-contradict")


def test_a_beep_beside_low_readings_that_join_as_well_is_no_doubt():
    """The beep is the shorter chain, but the conductor does not rest on it."""
    low = (ohms("r4", "L:1", "L:2", 9.0), ohms("r5", "L:2", "R:2", 9.0))
    readings = (beep("r1", "L:1", "R:2"), *low, ohms("r3", "L:1", "R:2", 14.0))
    assert not found(sound_cable(nets=(), cores=(), readings=readings), "beep-too-coarse")


def test_a_value_that_no_chain_of_beeps_allows_is_left_to_the_contradiction():
    readings = (*BEEPS, ohms("r3", "L:1", "R:2", 150.0))
    document = sound_cable(nets=(), cores=(), readings=readings)
    assert not found(document, "beep-too-coarse")
    assert found(document, "readings-contradict")


def test_over_limit_on_a_low_range_is_noted_once_for_all_readings_on_it():
    readings = tuple(over(f"r{place}", "L:1", f"R:{place}", range_ohms=200.0) for place in (2, 3))
    finding = only(with_readings(*readings), "range-too-low")
    assert finding.severity is Severity.NOTE
    assert "Over limit on the 200 Ω range (2 readings: r2 and r3)" in finding.message
    assert finding.at == ("/readings/6", "/readings/7")


def test_over_limit_on_a_range_below_the_joint_limit_proves_nothing():
    finding = only(with_readings(over("r7", "L:1", "R:2", range_ohms=10.0)), "range-too-low")
    assert "proves nothing at all" in finding.message


@pytest.mark.parametrize("range_ohms", [2001.0, 20e6, None])
def test_over_limit_on_a_high_range_is_fine(range_ohms):
    assert not found(with_readings(over("r7", "L:1", "R:2", range_ohms=range_ohms)), "range-too-low")


def test_a_value_on_a_low_range_is_fine():
    assert not found(with_readings(ohms("r7", "L:1", "R:1", 0.6, range_ohms=200.0)), "range-too-low")


@pytest.mark.parametrize(
    ("flexed", "says"),
    [
        (
            over("r7", "L:1", "R:1", flexed=True),
            "r7, taken while flexing, showed over limit, but j1 showed 0.6 Ω",
        ),
        (
            silent("r7", "R:1", "L:1", flexed=True),
            "r7, taken while flexing, did not beep, but j1 showed 0.6 Ω",
        ),
        (
            ohms("r7", "L:1", "R:1", 8.0, flexed=True),
            "r7, taken while flexing, showed 8 Ω, but j1 showed 0.6 Ω",
        ),
        (beep("r7", "L:1", "L:2", flexed=True), "r7, taken while flexing, beeped, but s1 showed over limit"),
        (beep("r7", "R:1", "R:2", flexed=True), "beeped, but at rest j1, s1 and j2 prove them apart"),
    ],
)
def test_what_changes_under_flexing_is_noted(flexed, says):
    finding = only(with_readings(flexed), "intermittent")
    assert finding.severity is Severity.NOTE
    assert says in finding.message
    assert finding.at[0] == "/readings/6"


def test_a_break_that_only_a_chain_shows_as_sound_is_noted():
    readings = (*BEEPS, silent("r3", "L:1", "R:2", flexed=True))
    finding = only(sound_cable(nets=(), cores=(), readings=readings), "intermittent")
    assert "at rest r1 and r2 prove them joined" in finding.message


@pytest.mark.parametrize(
    "flexed",
    [
        beep("r7", "L:1", "R:1", flexed=True),
        ohms("r7", "L:1", "R:1", 0.7, flexed=True),
        silent("r7", "L:1", "R:2", flexed=True),
        sweep("r7", "L:1", "R:1", "R:2", beeps=True, flexed=True),
        over("r7", "L:1", "R:1"),
    ],
)
def test_what_stays_the_same_under_flexing_is_not_noted(flexed):
    """The last was taken at rest: that is a contradiction, and nothing that comes and goes."""
    assert not found(with_readings(flexed), "intermittent")


def test_two_readings_while_flexing_that_differ_are_noted():
    readings = (beep("r1", "k1@0.5", "L:1", flexed=True), silent("r2", "k1@0.5", "L:1", flexed=True))
    assert only(opened_cable(*readings), "intermittent").readings == ("r1", "r2")


def test_a_pair_never_read_at_rest_is_not_judged():
    document = opened_cable(silent("r7", "k1@0.5", "L:1", flexed=True))
    assert not found(document, "intermittent")
