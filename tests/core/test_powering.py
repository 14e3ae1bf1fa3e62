"""A cable is proved safe to power by readings alone, and never while a supply touches something else."""

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from catalogue.core.document import (
    Fault,
    FaultKind,
    Holds,
    MapDocument,
    Meter,
    Mode,
    Module,
    Net,
    Part,
    PartKind,
    Path,
    Role,
    Via,
)
from catalogue.core.powering import Aim, Outcome, Powering, powering
from catalogue.core.rules.context import Context
from catalogue.core.simulation import Act, BenchMeter, every_pair, mixed_acts, random_cable, read, specimen
from tests.core.rules.maps import JOINS, REFERENCE, beep, diode, ohms, over, silent, sound_cable, sweep
from tests.core.strategies import generators

APART = (over("s1", "L:1", "L:2"), over("s2", "L:1", "L:3"))


def proof_of(*readings, **changes) -> Powering:
    return proof(sound_cable(readings=readings, **changes))


def proof(document: MapDocument) -> Powering:
    return powering(Context(document, REFERENCE))


def lacking(found: Powering) -> set[tuple[str, str]]:
    return {(check.net, check.other) for check in found.checks if check.outcome is not Outcome.PROVED}


def check(found: Powering, net: str, other: str):
    (only,) = (each for each in found.checks if (each.net, each.other) == (net, other))
    return only


def test_supply_and_ground_through_and_the_supply_apart_from_all_is_proved():
    found = proof_of(*JOINS, *APART)
    assert found.proved
    assert {(each.net, each.other) for each in found.checks} == {("V", ""), ("G", ""), ("V", "G"), ("V", "D")}
    assert [step.reading for step in check(found, "V", "G").proof] == ["s1"]


def test_without_a_reading_nothing_is_proved_and_all_is_named_that_has_to_be_read():
    found = proof_of()
    assert not found.proved
    assert check(found, "V", "").to_read == (("L:1", "R:1"),)
    assert ("L:1", "L:2") in check(found, "V", "G").to_read
    assert ("R:1", "R:2") in check(found, "V", "G").to_read


def test_one_end_alone_does_not_prove_the_other_behind_a_break():
    """Unread from end to end, each end of the supply may touch something by itself."""
    found = proof_of(JOINS[1], JOINS[2], *APART)
    assert lacking(found) == {("V", ""), ("V", "G"), ("V", "D")}
    assert check(found, "V", "G").to_read == (("R:1", "L:2"),)


@pytest.mark.parametrize(
    "reading",
    [
        silent("s1", "L:1", "L:2"),
        sweep("s1", "L:1", "L:2", beeps=False),
        over("s1", "L:1", "L:2", range_ohms=200.0),
        over("s1", "L:1", "L:2", range_ohms=20_000.0),
    ],
)
def test_a_silent_buzzer_and_a_low_range_prove_no_isolation(reading):
    found = check(proof_of(*JOINS, reading, APART[1]), "V", "G")
    assert found.outcome is Outcome.MISSING
    assert found.at_least_ohms is not None
    assert found.at_least_ohms < found.needs_ohms


@pytest.mark.parametrize(
    "reading",
    [
        ohms("x", "L:1", "L:2", 0.4),
        ohms("x", "R:1", "L:2", 900.0),
        beep("x", "R:1", "R:2"),
        beep("x", "L:1", "R:2", flexed=True),
        ohms("x", "L:1", "R:2", 12.0, flexed=True),
        diode("x", "L:1", "L:2", 0.002),
    ],
)
def test_one_reading_that_shows_a_way_fails_the_cable_whatever_others_say(reading):
    found = proof_of(*JOINS, *APART, reading)
    assert not found.proved
    assert found.checks[0].outcome is Outcome.FAILED
    assert [step.reading for step in check(found, "V", "G").proof] == ["x"]


def test_a_short_by_way_of_another_net_is_seen():
    way_round = (beep("x1", "L:1", "R:3"), beep("x2", "L:3", "R:2"))
    assert check(proof_of(*JOINS, APART[0], *way_round), "V", "G").outcome is Outcome.FAILED
    disputed = proof_of(*JOINS, *APART, *way_round)
    assert (disputed.proved, check(disputed, "V", "D").outcome) == (False, Outcome.FAILED)


def test_crossed_cores_are_seen_though_each_end_by_itself_is_apart():
    crossed = (beep("x1", "L:1", "R:3"), beep("x2", "L:3", "R:1"), over("a", "R:1", "R:3"), over("b", "R:1", "R:2"))
    found = proof_of(JOINS[1], *APART, *crossed)
    assert check(found, "V", "D").outcome is Outcome.FAILED


def test_a_supply_that_one_reading_parts_and_another_joins_is_not_through():
    found = proof_of(*JOINS, *APART, over("x", "L:1", "R:1"))
    assert check(found, "V", "").outcome is Outcome.FAILED


def test_a_contact_that_no_net_lists_is_read_too():
    """A contact that nobody has mapped may be a signal of the device."""
    ends = tuple(replace(end, rows=(("1", "2", "3", "4"),)) for end in sound_cable().ends)
    assert lacking(proof_of(*JOINS, *APART, ends=ends)) == {("V", "L:4"), ("V", "R:4")}


def test_two_supplies_are_held_against_each_other_once():
    nets = (*sound_cable().nets[:2], Net("D", ("L:3", "R:3"), Role.POWER, 12.0))
    found = proof_of(*JOINS, *APART, nets=nets)
    pairs = [(each.net, each.other) for each in found.checks if each.aim is Aim.APART]
    assert sorted(pairs) == [("D", "G"), ("V", "D"), ("V", "G")]


def test_a_cable_of_which_no_supply_is_known_is_never_proved():
    found = proof_of(*JOINS, *APART, nets=(Net("D", ("L:3", "R:3")),))
    assert not found.proved
    assert "No supply is known" in found.text


def test_a_supply_without_a_contact_that_is_there_is_never_proved():
    nets = (*sound_cable().nets, Net("V12", ("L:99",), Role.POWER, 12.0))
    assert lacking(proof_of(*JOINS, *APART, nets=nets)) == {("V12", "")}


def test_a_way_through_another_contact_names_the_whole_chain():
    nets = (Net("V", ("L:1", "R:1"), Role.POWER, 5.0), Net("G", ("L:2", "R:2"), Role.GROUND))
    found = proof_of(*JOINS[:2], beep("x1", "L:1", "L:3"), beep("x2", "L:3", "R:2"), nets=nets, cores=())
    assert [step.reading for step in check(found, "V", "G").proof] == ["x1", "x2", "j2"]


def test_a_path_that_starts_at_a_contact_of_the_supply_is_no_short():
    paths = (Path("AUX", Via.CAPACITOR, "L:1", "R:3"),)
    nets = sound_cable().nets[:2]
    found = proof_of(*JOINS[:2], *APART, over("p", "L:1", "R:3"), nets=nets, cores=(), paths=paths)
    assert found.proved


def test_a_declared_resistor_may_be_read_and_half_of_it_may_not():
    parts = (Part(PartKind.RESISTOR, ("V", "D"), 10_000.0),)
    assert proof_of(*JOINS, APART[0], ohms("p", "L:1", "L:3", 9_900.0, digit_ohms=10), parts=parts).proved
    assert not proof_of(*JOINS, APART[0], ohms("p", "L:1", "L:3", 4_000.0, digit_ohms=10), parts=parts).proved


def test_where_the_map_knows_of_electronics_a_milliampere_may_flow():
    """5 V over 1 mA are 5 kΩ; without electronics that would be dirt, water or a strand."""
    reading = ohms("e", "L:1", "L:2", 20_000.0, digit_ohms=10)
    block = (Module("POD", Holds.ACTIVE),)
    assert proof_of(*JOINS, reading, APART[1], modules=block).proved
    assert not proof_of(*JOINS, reading, APART[1]).proved
    assert not proof_of(*JOINS, ohms("e", "L:1", "L:2", 2_000.0, digit_ohms=1), APART[1], modules=block).proved


def shorted_cable(rng) -> MapDocument:
    """An invented cable with a short between its supply and one other net."""
    cable = random_cable(rng, contacts=(5, 5), resistors=int(rng.integers(0, 2)))
    others = [net.name for net in cable.nets if net.name != "V5"]
    return replace(cable, faults=(Fault(FaultKind.SHORT, ("V5", others[int(rng.integers(len(others)))])),))


@given(generators(), st.floats(0.2, 1.0), st.booleans())
def test_a_simulated_cable_with_a_supply_short_is_never_proved(rng, share, every):
    """Whatever is read of it: all pairs or some, by resistance or by beep. The short itself is not told."""
    cable = shorted_cable(rng)
    assume("V5" in {net.name for net in cable.nets})
    sample = specimen(cable, rng)
    acts = every_pair(sample.points) if every else mixed_acts(sample.points, rng, share)
    readings = read(sample, acts, BenchMeter.of(cable.meter, rng))
    assert not proof(replace(cable, readings=readings, faults=())).proved


@given(generators())
def test_a_sound_simulated_cable_is_proved_by_reading_what_is_named_until_nothing_is(rng):
    """The proof can be had: each round takes the readings that are still named, and no round names one twice."""
    cable = random_cable(rng, contacts=(5, 5))
    sample = specimen(cable, rng)
    meter = BenchMeter.of(Meter(), rng)
    taken: set[tuple[str, str]] = set()
    readings = ()
    for _ in range(4):
        found = proof(replace(cable, readings=readings))
        wanted = dict.fromkeys(pair for each in found.checks for pair in each.to_read)
        assert not taken & wanted.keys()
        taken |= wanted.keys()
        acts = [Act(Mode.OHMS, red, (black,)) for red, black in wanted]
        readings += read(sample, acts, meter, first=len(readings) + 1)
        if not wanted:
            break
    assert found.proved


@given(generators())
def test_every_proved_pair_of_contacts_was_truly_apart(rng):
    """A second way: the true resistance between any contacts of a proved pair is at least what was asked."""
    cable = random_cable(rng, contacts=(5, 5))
    sample = specimen(cable, rng)
    readings = read(sample, mixed_acts(sample.points, rng), BenchMeter.of(cable.meter, rng))
    contacts = {net.name: net.contacts for net in cable.nets}
    for each in proof(replace(cable, readings=readings)).checks:
        if each.aim is Aim.APART and each.outcome is Outcome.PROVED:
            for a in contacts[each.net]:
                for b in contacts.get(each.other, (each.other,)):
                    assert sample.ohms(a, b) >= each.needs_ohms


def test_a_thousand_contacts_are_worked_through():
    names = [f"{end}:{number}" for number in range(1, 501) for end in "LR"]
    nets = tuple(
        Net(f"N{number}", (f"L:{number}", f"R:{number}"), Role.POWER if number % 4 == 0 else Role.SINGLE, 5.0)
        for number in range(1, 501)
    )
    ends = tuple(replace(end, rows=(tuple(str(number) for number in range(1, 501)),)) for end in sound_cable().ends)
    readings = tuple(over(f"r{number}", *pair) for number, pair in enumerate(combinations(names[:200], 2)))
    found = proof(sound_cable(ends=ends, nets=nets, cores=(), readings=readings))
    assert not found.proved
    assert len(found.checks) == 125 + sum(500 - 1 - place for place in range(125))
