"""Each net and path of a specimen gets the state that its readings prove, with the readings."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.random import default_rng

from catalogue.core.diagnosis.expectation import expected
from catalogue.core.diagnosis.states import Rail, State, rails
from catalogue.core.document import CableName, End, Fault, FaultKind, MapDocument, Net, Path, Role, Via
from catalogue.core.rules.context import Context
from catalogue.core.simulation import BenchMeter, every_pair, read, specimen
from catalogue.tables import reference
from tests.core.rules.maps import JOINS, REFERENCE, SEPARATIONS, beep, ohms, over, silent, sound_cable
from tests.core.strategies import cables


def states(document: MapDocument, among=REFERENCE) -> dict[str, Rail]:
    specimen = expected(document, among)
    return {rail.name: rail for rail in rails(Context(specimen.document, among), specimen.leading)}


def proof(rail: Rail) -> list[str]:
    return [step.reading for step in rail.proof]


def test_a_net_that_reads_through_is_sound_and_names_the_reading():
    found = states(sound_cable())
    assert {name: rail.state for name, rail in found.items()} == dict.fromkeys("VGD", State.SOUND)
    assert proof(found["D"]) == ["j3"]


def test_a_net_whose_ends_read_over_limit_is_open():
    found = states(sound_cable(readings=(*JOINS[:2], over("o", "L:3", "R:3"))))
    assert (found["D"].state, proof(found["D"])) == (State.OPEN, ["o"])


def test_a_net_that_reads_some_ohms_is_high_and_not_open():
    found = states(sound_cable(readings=(*JOINS[:2], ohms("h", "L:3", "R:3", 85.0))))
    assert (found["D"].state, proof(found["D"])) == (State.HIGH, ["h"])


def test_a_net_that_reads_megohms_is_open_and_not_high():
    found = states(sound_cable(readings=(*JOINS[:2], ohms("h", "L:3", "R:3", 2.2e6))))
    assert found["D"].state is State.OPEN


def test_a_joined_net_far_above_its_copper_is_high():
    """2 m of gauge 24 have 0.17 Ω by ASTM B258; 6 Ω are a joint that is giving way."""
    found = states(sound_cable(readings=(*JOINS[:2], ohms("h", "L:3", "R:3", 6.0))))
    assert (found["D"].state, proof(found["D"])) == (State.HIGH, ["h"])


def test_a_net_that_nobody_read_is_unread_and_says_what_to_read():
    found = states(sound_cable(readings=JOINS[:2]))
    assert (found["D"].state, found["D"].to_read) == (State.UNREAD, (("L:3", "R:3"),))


def test_two_nets_that_meet_are_shorted_to_each_other():
    found = states(sound_cable(readings=(*JOINS, beep("b", "L:1", "R:3"))))
    assert (found["V"].state, found["V"].others) == (State.SHORTED, ("D",))
    assert (found["D"].state, found["D"].others) == (State.SHORTED, ("V",))
    assert "b" in proof(found["V"])
    assert found["G"].state is State.SOUND


def test_two_nets_whose_ends_are_exchanged_are_crossed():
    crossed = (beep("x1", "L:1", "R:3"), beep("x2", "L:3", "R:1"), over("a", "L:1", "L:3"))
    found = states(sound_cable(readings=(JOINS[1], *crossed)))
    assert (found["V"].state, found["V"].others) == (State.CROSSED, ("D",))
    assert (found["D"].state, found["D"].others) == (State.CROSSED, ("V",))
    assert set(proof(found["V"])) == {"x1", "x2", "a"}


def test_a_resistor_on_which_the_buzzer_sounds_is_no_short():
    from catalogue.core.document import Part, PartKind

    parts = (Part(PartKind.RESISTOR, ("D", "G"), 33.0),)
    found = states(sound_cable(readings=(*JOINS, beep("b", "L:2", "L:3")), parts=parts))
    assert found["D"].state is State.SOUND


def test_a_path_through_glass_is_not_readable_and_a_short_on_it_is_still_seen():
    paths = (Path("LANE", Via.FIBRE, "L:4", "R:4"),)
    ends = tuple(replace(end, rows=(("1", "2", "3", "4"),)) for end in sound_cable().ends)
    silent_lane = states(sound_cable(ends=ends, paths=paths, readings=(*JOINS, over("o", "L:4", "R:4"))))
    assert (silent_lane["LANE"].state, proof(silent_lane["LANE"])) == (State.NOT_READABLE, ["o"])
    shorted = states(sound_cable(ends=ends, paths=paths, readings=(*JOINS, beep("b", "L:4", "L:2"))))
    assert (shorted["LANE"].state, shorted["LANE"].others) == (State.SHORTED, ("G",))


def test_a_reading_that_changes_while_bending_marks_the_net_intermittent():
    at_rest = (*JOINS[:2], over("o", "L:3", "R:3"))
    changing = states(sound_cable(readings=(*at_rest, beep("f", "L:3", "R:3", flexed=True))))["D"]
    assert (changing.state, changing.intermittent, changing.flexed) == (State.OPEN, True, ("f",))
    steady = states(sound_cable(readings=(*at_rest, silent("f", "L:3", "R:3", flexed=True))))["D"]
    assert (steady.intermittent, steady.flexed) == (False, ("f",))


def test_without_a_map_the_standard_cable_says_what_should_be_joined():
    ends = (End("PC", "usb2-a"), End("DEV", "usb2-b"))
    readings = (beep("r1", "PC:1", "DEV:1"), beep("r2", "PC:2", "DEV:2"), silent("r3", "PC:3", "DEV:3"))
    document = MapDocument(CableName("not known", "not known"), ends, readings=readings)
    assert expected(document, reference()).standard == "usb2-a-b"
    found = states(document, reference())
    assert [found[name].state for name in ("VBUS", "D-", "D+", "GND")] == [
        State.SOUND,
        State.SOUND,
        State.OPEN,
        State.UNREAD,
    ]
    assert found["VBUS"].role is Role.POWER


def test_the_standard_cable_is_found_whichever_end_is_named_first():
    ends = (End("DEV", "usb2-b"), End("PC", "usb2-a"))
    document = MapDocument(CableName("not known", "not known"), ends, readings=(beep("r1", "PC:1", "DEV:1"),))
    assert states(document, reference())["VBUS"].contacts == ("DEV:1", "PC:1")


def test_a_standard_contact_that_meets_nothing_at_the_unknown_plug_is_open():
    ends = (End("PC", "usb2-a"), End("TOOL", "custom", rows=(("1", "2"),)))
    readings = (
        beep("r1", "PC:1", "TOOL:1"), silent("r2", "PC:2", "TOOL:1"), silent("r3", "PC:2", "TOOL:2"),
        silent("r4", "PC:3", "TOOL:1"),
    )  # fmt: skip
    found = states(MapDocument(CableName("not known", "not known"), ends, readings=readings), reference())
    assert (found["VBUS"].state, found["VBUS"].contacts) == (State.SOUND, ("PC:1", "TOOL:1"))
    assert (found["D-"].state, set(proof(found["D-"]))) == (State.OPEN, {"r2", "r3"})
    assert (found["D+"].state, found["D+"].to_read) == (State.UNREAD, (("PC:3", "TOOL:2"),))


@pytest.mark.parametrize(
    ("black", "wrong"),
    [("PC:4", {"VBUS", "GND"}), ("PC:3", {"VBUS", "D+"}), ("PC:Shell", {"VBUS"})],
)
def test_without_a_map_what_no_standard_allows_is_a_short_and_no_net(black, wrong):
    """A reading that joins the supply to something else must not make the two one net that reads sound."""
    ends = (End("PC", "usb2-a"), End("TOOL", "custom", rows=(("1", "2"),)))
    readings = (beep("r1", "PC:1", "TOOL:1"), beep("r2", "PC:1", black))
    found = states(MapDocument(CableName("not known", "not known"), ends, readings=readings), reference())
    assert {name for name, rail in found.items() if rail.state is State.SHORTED} == wrong
    assert found["VBUS"].role is Role.POWER


def test_without_a_map_two_signals_that_meet_are_shorted():
    ends = (End("CAM", "usb-c-plug"), End("TOOL", "custom", rows=(("1", "2"),)))
    readings = (beep("r1", "CAM:A2", "TOOL:1"), beep("r2", "CAM:B2", "TOOL:1"))
    found = states(MapDocument(CableName("not known", "not known"), ends, readings=readings), reference())
    assert (found["TX1+"].state, found["TX1+"].others) == (State.SHORTED, ("TX2+", "TOOL:1"))


def test_without_a_map_the_supply_contacts_of_one_plug_are_one_net():
    ends = (End("CAM", "usb-c-plug"), End("TOOL", "custom", rows=(("1", "2"),)))
    readings = (beep("r1", "CAM:A4", "TOOL:1"), silent("r2", "CAM:A9", "TOOL:1"))
    found = states(MapDocument(CableName("not known", "not known"), ends, readings=readings), reference())
    assert set(found["VBUS"].contacts) == {"CAM:A4", "CAM:A9", "CAM:B4", "CAM:B9", "TOOL:1"}
    assert (found["VBUS"].state, proof(found["VBUS"])) == (State.OPEN, ["r1", "r2"])


@given(cables(), st.integers(0, 2**32 - 1))
def test_every_net_of_a_true_cable_is_sound(cable, seed):
    """A second way: the simulation knows that nothing is wrong."""
    rng = default_rng(seed)
    sample = specimen(cable, rng)
    readings = read(sample, every_pair(sample.points), BenchMeter.of(cable.meter, rng))
    found = states(replace(cable, readings=readings))
    assert {rail.state for rail in found.values()} <= {State.SOUND}


@pytest.mark.parametrize(("kind", "state"), [(FaultKind.OPEN, State.OPEN), (FaultKind.HIGH, State.HIGH)])
@pytest.mark.parametrize("seed", range(5))
def test_a_fault_put_into_a_true_cable_is_found_on_its_net_alone(kind, state, seed):
    rng = default_rng(seed)
    faulty = sound_cable(faults=(Fault(kind, ("D",)),))
    sample = specimen(faulty, rng)
    readings = read(sample, every_pair(sample.points), BenchMeter.of(faulty.meter, rng))
    found = states(sound_cable(readings=readings))
    assert {name: rail.state for name, rail in found.items()} == {"V": State.SOUND, "G": State.SOUND, "D": state}


def test_a_short_put_into_a_true_cable_is_found_on_both_nets():
    rng = default_rng(7)
    faulty = sound_cable(faults=(Fault(FaultKind.SHORT, ("V", "G")),))
    sample = specimen(faulty, rng)
    readings = read(sample, every_pair(sample.points), BenchMeter.of(faulty.meter, rng))
    found = states(sound_cable(readings=readings))
    assert {name: rail.state for name, rail in found.items()} == {
        "V": State.SHORTED,
        "G": State.SHORTED,
        "D": State.SOUND,
    }


def test_unlisted_contacts_count_as_something_else():
    nets = (Net("V", ("L:1", "R:1"), Role.POWER, 5.0),)
    found = states(sound_cable(nets=nets, cores=(), readings=(JOINS[0], beep("b", "L:1", "L:3"), *SEPARATIONS[:1])))
    assert (found["V"].state, found["V"].others) == (State.SHORTED, ("L:3",))
