"""A net means one thing at each standard contact and goes where the standard leads: `standard-broken`."""

import pytest

from catalogue.core.document import End, Net, Role
from catalogue.core.findings import Severity
from tests.core.rules.maps import bus_cable, found, ohms, only


def test_a_pair_s_contact_in_a_net_of_the_other_leg_warns():
    finding = only(bus_cable(Net("N", ("A:2", "B:3"), Role.PAIR_NEGATIVE)), "standard-broken")
    assert finding.severity is Severity.WARN
    assert "B:3 is D+ (pair, + leg)" in finding.message
    assert finding.contacts == ("B:3",)
    assert finding.at == ("/nets/0/contacts/1",)


def test_ground_in_a_supply_net_is_refused():
    finding = only(bus_cable(Net("V", ("A:1", "B:4"), Role.POWER)), "standard-broken")
    assert finding.severity is Severity.REJECT


def test_contacts_at_odds_are_told_even_when_the_net_has_no_role():
    finding = only(bus_cable(Net("X", ("A:2", "B:3"))), "standard-broken")
    assert "A:2 is D- (pair, − leg)" in finding.message
    assert "B:3 is D+ (pair, + leg)" in finding.message


@pytest.mark.parametrize(
    "net",
    [
        Net("G", ("A:4", "B:7"), Role.GROUND),
        Net("G", ("A:4", "B:4"), Role.SCREEN),
        Net("I", ("A:6", "B:8"), Role.SINGLE),
        Net("D", ("A:2", "B:2"), Role.UNKNOWN),
        Net("E", ("A:9", "B:9"), Role.CONTROL),
    ],
)
def test_roles_that_go_together_are_fine(net):
    assert not found(bus_cable(net), "standard-broken")


def test_a_signal_that_the_standard_crosses_warns_when_it_runs_straight():
    finding = only(bus_cable(Net("I", ("A:6", "B:6"), Role.CONTROL)), "standard-broken")
    assert "joins A:6 to B:6" in finding.message
    assert "(Bus A to B) A:6 goes to B:8" in finding.message
    assert finding.at == ("/nets/0/contacts/0", "/nets/0/contacts/1")


def test_the_ends_may_be_declared_in_either_order():
    ends = (End("B", "bus-b"), End("A", "bus-a"))
    assert found(bus_cable(Net("I", ("A:6", "B:6")), ends=ends), "standard-broken")
    assert not found(bus_cable(Net("I", ("A:6", "B:8")), ends=ends), "standard-broken")


def test_a_crossing_that_only_readings_show_warns_with_the_reading():
    finding = only(bus_cable(readings=(ohms("r1", "A:8", "B:8", 0.5),)), "standard-broken")
    assert finding.readings == ("r1",)
    assert finding.at == ("/readings/0",)


def test_a_join_that_is_missing_is_fine():
    """A cable for charging alone carries no data."""
    nets = Net("V", ("A:1", "B:1"), Role.POWER, 5.0), Net("G", ("A:4", "B:4"), Role.GROUND)
    assert not found(bus_cable(*nets), "standard-broken")


def test_a_supply_that_the_standard_leaves_free_must_not_be_carried():
    finding = only(bus_cable(Net("AUX", ("A:5", "B:5"), Role.POWER, 12.0)), "standard-broken")
    assert "A:5 goes to no contact of B" in finding.message


def test_an_extra_core_between_contacts_that_the_standard_leaves_free_is_fine():
    assert not found(bus_cable(Net("E", ("A:9", "B:9"))), "standard-broken")


def test_an_end_of_a_connector_of_its_own_is_held_against_no_standard_cable():
    ends = (End("A", "bus-a"), End("L", "custom", rows=(("1", "6"),)))
    assert not found(bus_cable(Net("I", ("A:6", "L:6")), ends=ends), "standard-broken")
