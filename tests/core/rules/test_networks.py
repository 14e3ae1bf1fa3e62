"""Resistances between nets must fit some network of resistors: `no-network`."""

from dataclasses import replace
from itertools import combinations

from catalogue.core.document import End, Net
from catalogue.core.findings import Severity
from tests.core.rules.maps import beep, found, ohms, only, over, sound_cable

ENDS = (End("L", "custom", rows=(("1", "2", "3", "4", "5"),)),)
NETS = tuple(Net(f"N{number}", (f"L:{number}",)) for number in range(1, 6))


def four_nets(values, *more):
    """Four nets in a ring with these resistances between 1-2, 1-3, 1-4, 2-3, 2-4 and 3-4."""
    pairs = combinations(("L:1", "L:2", "L:3", "L:4"), 2)
    readings = [
        ohms(f"r{place}", *pair, value, digit_ohms=1.0)
        for place, (pair, value) in enumerate(zip(pairs, values, strict=True))
    ]
    return sound_cable(ends=ENDS, sections=(), cores=(), nets=NETS, readings=(*readings, *more))


def test_a_ring_whose_opposite_corners_are_as_far_as_they_can_be_fits_no_resistors():
    """Each triangle holds, 1000 + 1000 = 2000, but in a ring of resistors current goes round both ways."""
    finding = only(four_nets((1000, 2000, 1000, 1000, 2000, 1000)), "no-network")
    assert finding.severity is Severity.WARN
    assert finding.contacts == ("L:1", "L:2", "L:3", "L:4")
    assert finding.readings == ("r0", "r1", "r2", "r3", "r4", "r5")


def test_a_ring_of_four_equal_resistors_fits():
    """Four of 1333 Ω: 1333 parallel to 4000 is 1000 Ω, and 2667 parallel to 2667 is 1333 Ω."""
    assert not found(four_nets((1000, 1333, 1000, 1000, 1333, 1000)), "no-network")


def test_values_that_the_meter_s_error_makes_fit_are_fine():
    """As the ring, each value 1 % off, which is more than the meter's 0.8 % and less than with two digits."""
    assert not found(four_nets((1010, 1320, 990, 1010, 1346, 990)), "no-network")


def test_three_nets_always_fit():
    readings = (
        ohms("r1", "L:1", "L:2", 1000.0),
        ohms("r2", "L:2", "L:3", 1000.0),
        ohms("r3", "L:1", "L:3", 2000.0),
    )
    assert not found(sound_cable(ends=ENDS, sections=(), cores=(), nets=NETS, readings=readings), "no-network")


def test_a_group_that_is_not_read_through_is_not_judged():
    complete = four_nets((1000, 2000, 1000, 1000, 2000, 1000))
    assert not found(
        sound_cable(ends=ENDS, sections=(), cores=(), nets=NETS, readings=complete.readings[:5]), "no-network"
    )


def test_over_limit_is_no_value():
    readings = (*four_nets((1000, 2000, 1000, 1000, 2000, 1000)).readings[:5], over("r5", "L:3", "L:4"))
    assert not found(sound_cable(ends=ENDS, sections=(), cores=(), nets=NETS, readings=readings), "no-network")


CHAIN = (100, 200, 100, 100, 200, 250)
"""Three resistors of 100 Ω in a row, 3-2-1-4, but for the 300 Ω between its ends, which read as 250."""


def test_a_value_too_low_between_the_ends_of_a_chain_fits_no_resistors():
    assert found(four_nets(CHAIN), "no-network")


def test_a_value_read_by_way_of_a_beep_may_lack_what_a_buzzer_lets_pass():
    """Between L:4 and L:5 there may be up to 60 Ω, so that 250 Ω to L:5 leaves room for 300 Ω to L:4."""
    chain = four_nets(CHAIN)
    readings = (*chain.readings[:5], ohms("r5", "L:3", "L:5", 250.0), beep("r6", "L:4", "L:5"))
    assert not found(replace(chain, nets=(), readings=readings), "no-network")
