"""Copper, colours and screens: `below-copper`, `above-copper`, `colour-twice`, `drain-adrift`."""

import math
from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.copper import core_ohms_per_m
from catalogue.core.document import Core, CoreKind, FaultKind, Meter, Module, Net, Role, Section
from catalogue.core.findings import Severity
from tests.core.rules.maps import (
    NETS,
    REFERENCE,
    beep,
    fault,
    found,
    ohms,
    only,
    opened_cable,
    sound_cable,
)

NULLED = Meter(lead_ohms=0.0, contact_ohms=0.0, accuracy_pct=0.0, accuracy_digits=1.0)
"""A meter right to a hundredth of an ohm, so that the limits can be reached from both sides."""

LENGTH_M = 20.0
LEAST, MOST = (
    LENGTH_M * limit
    for limit in (
        core_ohms_per_m(Core("k", "main", awg=24), REFERENCE.awg_ohms_per_m).lower,
        core_ohms_per_m(Core("k", "main", awg=24), REFERENCE.awg_ohms_per_m).upper,
    )
)


def long_cable(value, **changes):
    """The sound cable 20 m long, its supply core read at a value with a fine meter."""
    read = ohms("r1", "L:1", "R:1", value, digit_ohms=0.01)
    sections = (Section("main", "L", "R", LENGTH_M),)
    return sound_cable(**{"sections": sections, "readings": (read,), "meter": NULLED, **changes})


def test_less_than_the_copper_can_have_warns():
    finding = only(long_cable(LEAST - 0.02), "below-copper")
    assert finding.severity is Severity.WARN
    assert "along net V from L:1 to R:1" in finding.message
    assert finding.readings == ("r1",)
    assert finding.at == ("/readings/0", "/cores/0")


def test_just_what_the_copper_can_have_is_fine():
    assert not found(long_cable(LEAST), "below-copper")
    assert not found(long_cable(2 * MOST), "above-copper")


def test_far_more_than_the_copper_can_have_warns():
    finding = only(long_cable(2 * MOST + 0.02), "above-copper")
    assert finding.severity is Severity.WARN
    assert "A core or a joint on the way is failing" in finding.message


def test_a_high_fault_on_the_net_turns_it_into_a_note():
    high = long_cable(2 * MOST + 0.02, faults=fault(FaultKind.HIGH, "V"))
    assert only(high, "above-copper").severity is Severity.NOTE
    elsewhere = long_cable(2 * MOST + 0.02, faults=fault(FaultKind.HIGH, "G"))
    assert only(elsewhere, "above-copper").severity is Severity.WARN


def test_what_reads_as_no_joint_at_all_is_not_called_a_bad_joint():
    document = long_cable(80.0)
    assert not found(document, "above-copper")
    assert found(document, "net-split")


@pytest.mark.parametrize(
    "changes",
    [
        {"sections": (Section("main", "L", "R"),)},
        {"cores": (Core("k1", "main", carries="V"),)},
        {"cores": (Core("k1", "main", awg=24, carries="V"), Core("k4", "main", carries="V"))},
        {"cores": ()},
        {"nets": ()},
    ],
)
@pytest.mark.parametrize("value", [LEAST - 0.02, 2 * MOST + 0.02])
def test_nothing_is_said_where_length_gauge_or_core_is_not_known(changes, value):
    document = long_cable(value, **changes)
    assert not found(document, "below-copper")
    assert not found(document, "above-copper")


def test_cores_in_parallel_may_read_half_and_one_of_them_alone():
    cores = (Core("k1", "main", awg=24, carries="V"), Core("k4", "main", awg=24, carries="V"))
    assert not found(long_cable(LEAST / 2, cores=cores), "below-copper")
    assert found(long_cable(LEAST / 2 - 0.02, cores=cores), "below-copper")
    assert not found(long_cable(2 * MOST, cores=cores), "above-copper")


def test_a_coax_centre_may_be_steel_and_reads_as_high_as_it_likes():
    cores = (Core("k1", "main", CoreKind.COAX_CENTRE, awg=24, carries="V"),)
    assert not found(long_cable(2 * MOST + 0.02, cores=cores), "above-copper")
    assert found(long_cable(LEAST - 0.02, cores=cores), "below-copper")


def test_contacts_of_one_end_have_no_copper_between_them():
    nets = (Net("V", ("L:1", "L:2"), Role.POWER),)
    document = sound_cable(nets=nets, readings=(ohms("r1", "L:1", "L:2", 8.0),))
    assert not found(document, "above-copper")


def test_sections_add_up_along_the_way_through_a_module():
    sections = (Section("tail", "L", "POD", LENGTH_M / 4), Section("main", "POD", "R", LENGTH_M * 3 / 4))
    cores = (Core("k1", "tail", awg=24, carries="V"), Core("k2", "main", awg=24, carries="V"))
    two = {"sections": sections, "cores": cores, "modules": (Module("POD"),)}
    assert not found(long_cable(LEAST, **two), "below-copper")
    assert found(long_cable(LEAST - 0.02, **two), "below-copper")


def test_a_probe_in_an_opening_counts_only_the_copper_on_its_side():
    """Half a metre of this copper has at least 0.036 Ω, the metre and a half on the other side 0.11 Ω."""
    near = opened_cable(ohms("r7", "k1@0.5", "L:1", 0.04, digit_ohms=0.01), meter=NULLED)
    assert not found(near, "below-copper")
    far = opened_cable(ohms("r7", "k1@0.5", "R:1", 0.04, digit_ohms=0.01), meter=NULLED)
    assert found(far, "below-copper")


@given(st.integers(0, 2**32 - 1))
def test_no_way_of_joining_cores_along_the_cable_reads_below_the_limit(seed):
    """Referee: networkx solves each network of copper cores in parallel with joints at random places."""
    rng = np.random.default_rng(seed)
    gauges = rng.choice([22.0, 24.0, 26.0], size=rng.integers(1, 4)).tolist()
    cores = tuple(Core(f"c{place}", "main", awg=gauge, carries="V") for place, gauge in enumerate(gauges))
    spans = [core_ohms_per_m(core, REFERENCE.awg_ohms_per_m) for core in cores]
    network = nx.MultiGraph()
    cuts = np.linspace(0, LENGTH_M, 5)
    for core, span in zip(cores, spans, strict=True):
        ohms_per_m = span.lower * rng.uniform(1.0, 1.3)
        for place, length_m in enumerate(np.diff(cuts)):
            network.add_edge((core.name, place), (core.name, place + 1), weight=ohms_per_m * length_m)
    for place in (0, len(cuts) - 1, int(rng.integers(1, 4))):
        for core in cores[1:]:
            network.add_edge(("c0", place), (core.name, place), weight=1e-6)
    true = nx.resistance_distance(network, ("c0", 0), ("c0", len(cuts) - 1), "weight", False)
    assert not found(long_cable(math.ceil(true * 100) / 100, cores=cores), "below-copper")


def test_two_cores_of_one_colour_in_one_bundle_warn():
    cores = tuple(Core(name, "main", colours=("WH", "BU"), bundle="pair 1") for name in ("k1", "k2"))
    finding = only(sound_cable(cores=cores), "colour-twice")
    assert finding.severity is Severity.WARN
    assert "Cores k1 and k2 are all WH-BU in bundle pair 1 of section main" in finding.message
    assert finding.at == ("/cores/0", "/cores/1")


@pytest.mark.parametrize(
    "other",
    [
        Core("k2", "main", colours=("WH",), bundle="pair 2"),
        Core("k2", "main", colours=("WH", "BU"), bundle="pair 1"),
        Core("k2", "tail", colours=("WH",), bundle="pair 1"),
        Core("k2", "main", bundle="pair 1"),
    ],
)
def test_one_colour_in_two_bundles_or_with_a_stripe_is_fine(other):
    white = Core("k1", "main", colours=("WH",), bundle="pair 1")
    assert not found(sound_cable(cores=(white, other)), "colour-twice")


def test_base_colour_and_stripe_changed_over_are_two_colours():
    """In a telephone pair one core is white with a blue stripe, the other blue with a white one."""
    cores = (Core("k1", "main", colours=("WH", "BU")), Core("k2", "main", colours=("BU", "WH")))
    assert not found(sound_cable(cores=cores), "colour-twice")


DRAIN = Core("d1", "main", CoreKind.DRAIN)


def test_a_drain_in_no_net_warns():
    finding = only(sound_cable(cores=(DRAIN,)), "drain-adrift")
    assert finding.severity is Severity.WARN
    assert "Drain d1 is in no net" in finding.message
    assert finding.at == ("/cores/0",)


def test_a_screen_in_a_signal_net_warns():
    cores = (Core("s1", "main", CoreKind.SCREEN, carries="D"),)
    assert "net D, which is joined to no ground" in only(sound_cable(cores=cores), "drain-adrift").message


@pytest.mark.parametrize(
    ("net", "readings"),
    [
        (Net("S", ("L:3",), Role.GROUND), ()),
        (Net("S", ("L:3",), Role.SCREEN), ()),
        (Net("S", ("L:3",), Role.UNKNOWN), ()),
        (Net("S", ("L:3",), Role.SINGLE), (beep("r1", "L:3", "L:2"),)),
    ],
)
def test_a_drain_that_is_joined_to_a_ground_or_a_screen_contact_is_fine(net, readings):
    document = sound_cable(nets=(*NETS[:2], net), cores=(replace(DRAIN, carries="S"),), readings=readings)
    assert not found(document, "drain-adrift")


def test_a_core_of_copper_in_no_net_is_no_drain():
    assert not found(sound_cable(cores=(Core("k1", "main"),)), "drain-adrift")
