"""What must never be one conductor: `rail-short` and `pair-short`."""

import pytest

from catalogue.core.document import End, FaultKind, Net, Role
from catalogue.core.findings import Severity
from tests.core.rules.maps import NETS, beep, bus_cable, fault, found, ohms, only, over, sound_cable


def test_a_supply_contact_in_a_ground_net_is_refused():
    finding = only(bus_cable(Net("G", ("A:4", "B:1"), Role.GROUND)), "rail-short")
    assert finding.severity is Severity.REJECT
    assert "Net G is a supply and ground at once" in finding.message
    assert "B:1 is VBUS of 5 V" in finding.message
    assert "A:4 is GND" in finding.message
    assert finding.contacts == ("B:1", "A:4")
    assert finding.at == ("/nets/0",)


def test_a_screen_on_a_supply_is_refused_and_called_a_screen():
    finding = only(bus_cable(Net("V", ("A:1", "B:7"), Role.POWER, 5.0)), "rail-short")
    assert "a supply and a screen at once" in finding.message


def test_a_ground_contact_in_a_net_declared_a_supply_is_refused():
    assert found(bus_cable(Net("V", ("A:4",), Role.POWER)), "rail-short")


def test_supplies_of_different_volts_in_one_net_are_refused():
    finding = only(bus_cable(Net("V", ("A:1", "B:5"), Role.POWER, 5.0)), "rail-short")
    assert "supplies of 5 V and 12 V" in finding.message


def test_declared_volts_that_no_contact_of_the_net_has_are_refused():
    assert found(bus_cable(Net("V", ("A:1", "B:1"), Role.POWER, 12.0)), "rail-short")


def test_a_net_with_volts_and_no_role_counts_as_a_supply():
    assert found(bus_cable(Net("V", ("A:4",), volts=5.0)), "rail-short")


@pytest.mark.parametrize(
    "net",
    [
        Net("V", ("A:1", "B:1"), Role.POWER, 5.0),
        Net("V", ("A:1", "B:1"), Role.POWER),
        Net("G", ("A:4", "B:4", "A:7", "B:7"), Role.GROUND, 0.0),
        Net("S", ("A:7", "B:4"), Role.SCREEN),
        Net("D", ("A:2", "B:2"), Role.PAIR_NEGATIVE),
        Net("I", ("A:6", "B:8"), Role.SINGLE, 3.3),
    ],
)
def test_a_supply_alone_and_a_ground_with_its_screen_are_fine(net):
    assert not found(bus_cable(net), "rail-short")


def test_a_supply_that_devices_agree_on_may_be_declared_higher():
    ends = (End("A", "usb-c-plug"), End("L", "custom", rows=(("1",),)))
    assert not found(bus_cable(Net("V", ("A:A4", "L:1"), Role.POWER, 20.0), ends=ends), "rail-short")


def test_a_supply_of_fixed_volts_on_the_same_plug_may_not():
    ends = (End("A", "usb-c-plug"), End("L", "custom", rows=(("1",),)))
    assert found(bus_cable(Net("V", ("A:B5", "L:1"), Role.POWER, 20.0), ends=ends), "rail-short")


def test_a_reading_that_joins_an_unlisted_ground_contact_to_a_supply_is_refused_with_the_reading():
    document = bus_cable(Net("V", ("A:1", "B:1"), Role.POWER, 5.0), readings=(ohms("r1", "B:1", "B:4", 0.4),))
    finding = only(document, "rail-short")
    assert finding.readings == ("r1",)
    assert [(step.start, step.finish) for step in finding.witness] == [("B:1", "B:4")]


def test_the_same_ground_contact_left_open_is_fine():
    document = bus_cable(Net("V", ("A:1", "B:1"), Role.POWER, 5.0), readings=(over("r1", "B:1", "B:4"),))
    assert not found(document, "rail-short")


def test_readings_alone_are_enough_to_find_a_shorted_supply():
    finding = only(bus_cable(readings=(beep("r1", "A:1", "A:4"),)), "rail-short")
    assert "which readings prove" in finding.message
    assert finding.at == ("/readings/0",)


def test_a_declared_short_of_the_specimen_is_not_held_against_the_model():
    """The unlisted shell is joined to both, but only because of the declared short."""
    document = bus_cable(
        Net("V", ("A:1", "B:1"), Role.POWER, 5.0),
        Net("G", ("A:4", "B:4"), Role.GROUND),
        readings=(beep("r1", "A:1", "A:4"), beep("r2", "A:4", "A:7")),
        faults=fault(FaultKind.SHORT, "V", "G"),
    )
    assert not found(document, "rail-short")


def test_both_standard_legs_in_one_net_warn():
    finding = only(bus_cable(Net("D", ("A:2", "A:3", "B:2", "B:3"))), "pair-short")
    assert finding.severity is Severity.WARN
    assert "A:3 and A:2, the two legs of pair D, are both in net D" in finding.message
    assert finding.at == ("/nets/0",)


def test_each_leg_in_its_own_net_is_fine():
    legs = Net("P", ("A:3", "B:3"), Role.PAIR_POSITIVE), Net("N", ("A:2", "B:2"), Role.PAIR_NEGATIVE)
    assert not found(bus_cable(*legs), "pair-short")


PAIR = (
    Net("P", ("L:1", "R:1"), Role.PAIR_POSITIVE, pair="lane"),
    Net("N", ("L:2", "R:2"), Role.PAIR_NEGATIVE, pair="lane"),
)


def test_declared_legs_that_readings_join_warn_with_the_readings():
    readings = (beep("r1", "L:1", "R:1"), beep("r2", "R:1", "R:2"))
    finding = only(sound_cable(nets=PAIR, cores=(), readings=readings), "pair-short")
    assert "pair lane" in finding.message
    assert finding.readings == ("r1", "r2")


def test_a_charger_s_resistor_between_the_legs_is_fine():
    readings = (ohms("r1", "L:1", "L:2", 120.0),)
    assert not found(sound_cable(nets=PAIR, cores=(), readings=readings), "pair-short")


def test_legs_of_two_different_pairs_joined_are_no_short_of_a_pair():
    nets = (PAIR[0], Net("N", ("L:2", "R:2"), Role.PAIR_NEGATIVE, pair="other"), *NETS[2:])
    readings = (beep("r1", "L:1", "L:2"),)
    assert not found(sound_cable(nets=nets, cores=(), readings=readings), "pair-short")


def test_a_declared_short_between_the_legs_says_it_already():
    readings = (beep("r1", "L:1", "L:2"),)
    document = sound_cable(nets=PAIR, cores=(), readings=readings, faults=fault(FaultKind.SHORT, "P", "N"))
    assert not found(document, "pair-short")
