"""Declared nets against what the readings prove: `net-split`, `nets-joined`, `unproved-net`."""

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import Core, End, FaultKind, Net, Opening, Part, PartKind, Role
from catalogue.core.findings import Limit, Severity
from tests.core.rules.maps import (
    JOINS,
    NETS,
    SEPARATIONS,
    beep,
    fault,
    found,
    ohms,
    only,
    over,
    silent,
    sound_cable,
    sweep,
)

SPLIT = (*JOINS[:2], over("r7", "L:3", "R:3"))
JOINED = (*JOINS, *SEPARATIONS[:2], ohms("r7", "R:2", "R:3", 0.8))


def test_a_net_that_reads_open_is_refused_with_the_contacts_the_reading_and_the_value():
    finding = only(sound_cable(readings=SPLIT), "net-split")
    assert finding.severity is Severity.REJECT
    assert "L:3 and R:3 are both in net D, but r7 shows at least 39 MΩ between them" in finding.message
    assert finding.contacts == ("L:3", "R:3")
    assert finding.readings == ("r7",)
    assert finding.at == ("/readings/2", "/nets/2")
    assert [(step.reading, step.limit) for step in finding.witness] == [("r7", Limit.AT_LEAST)]


def test_a_net_that_nobody_read_is_not_split():
    assert not found(sound_cable(readings=(*JOINS[:2], *SEPARATIONS)), "net-split")


def test_a_reading_just_at_the_limit_of_a_joint_does_not_split():
    """With the default meter, 10.88 Ω may be 10 Ω: 0.8 % and two digits, 0.2 Ω of leads, 0.5 Ω of contact."""
    assert not found(sound_cable(readings=(*JOINS[:2], ohms("r7", "L:3", "R:3", 10.9))), "net-split")
    assert found(sound_cable(readings=(*JOINS[:2], ohms("r7", "L:3", "R:3", 11.1))), "net-split")


def test_an_open_fault_on_the_net_turns_the_split_into_a_note():
    finding = only(sound_cable(readings=SPLIT, faults=fault(FaultKind.OPEN, "D")), "net-split")
    assert finding.severity is Severity.NOTE
    assert "A fault is declared on this net" in finding.message


def test_a_high_fault_on_the_net_turns_the_split_into_a_note():
    readings = (*JOINS[:2], ohms("r7", "L:3", "R:3", 80.0))
    assert only(sound_cable(readings=readings, faults=fault(FaultKind.HIGH, "D")), "net-split").severity == "note"


def test_an_open_fault_on_another_net_does_not():
    finding = only(sound_cable(readings=SPLIT, faults=fault(FaultKind.OPEN, "V")), "net-split")
    assert finding.severity is Severity.REJECT


def test_a_short_fault_does_not_excuse_a_split():
    finding = only(sound_cable(readings=SPLIT, faults=fault(FaultKind.SHORT, "D", "G")), "net-split")
    assert finding.severity is Severity.REJECT


def test_a_split_that_follows_through_joined_points_names_all_readings():
    """A silent sweep takes R:3 off L:1, and L:1 is joined to L:3 by way of an unlisted contact."""
    readings = (beep("r1", "L:3", "R:1"), sweep("r2", "R:1", "R:3", beeps=False))
    nets = (Net("D", ("L:3", "R:3")),)
    finding = only(sound_cable(nets=nets, cores=(), readings=readings), "net-split")
    assert "r2 shows at least 19 Ω between R:1 and R:3, to which r1 leads" in finding.message
    assert finding.readings == ("r1", "r2")


def test_a_small_part_takes_off_only_what_low_readings_join_to_it():
    """L:1 may be past the 33 Ω, since a beep may be that part; L:2 is joined to R:1 by wire and is not."""
    readings = (beep("r1", "L:1", "L:2"), ohms("r2", "L:2", "R:1", 0.6), ohms("r3", "R:1", "L:3", 33.0))
    nets = (Net("D", ("L:1", "L:2", "L:3")),)
    finding = only(sound_cable(nets=nets, cores=(), readings=readings), "net-split")
    assert finding.contacts == ("L:2", "L:3")
    assert finding.readings == ("r2", "r3")


def test_a_core_point_in_an_opening_belongs_to_the_net_its_core_carries():
    document = sound_cable(readings=(silent("r7", "k3@0.5", "R:3"),), openings=(Opening("main", 0.5),))
    assert only(document, "net-split").contacts == ("k3@0.5", "R:3")


def test_two_nets_that_read_joined_are_refused_with_both_names_and_the_reading():
    finding = only(sound_cable(readings=JOINED), "nets-joined")
    assert finding.severity is Severity.REJECT
    assert "R:2 is in net G and R:3 in net D, but r7 joins them" in finding.message
    assert finding.readings == ("r7",)
    assert finding.at == ("/readings/5", "/nets/1", "/nets/2")


def test_two_nets_with_a_part_between_them_are_not_joined():
    assert not found(sound_cable(readings=(*JOINS, ohms("r7", "R:2", "R:3", 33.0))), "nets-joined")


def test_two_nets_joined_by_way_of_an_unlisted_contact_are_refused():
    nets = (NETS[0], NETS[2])
    readings = (beep("r1", "L:1", "L:2"), beep("r2", "L:2", "L:3"))
    finding = only(sound_cable(nets=nets, cores=(), readings=readings), "nets-joined")
    assert finding.contacts == ("L:1", "L:3")
    assert "r1 and r2 join them" in finding.message


def test_a_short_fault_between_the_two_nets_turns_it_into_a_note():
    document = sound_cable(readings=JOINED, faults=fault(FaultKind.SHORT, "D", "G"))
    assert only(document, "nets-joined").severity is Severity.NOTE


def test_a_short_fault_between_other_nets_does_not():
    document = sound_cable(readings=JOINED, faults=fault(FaultKind.SHORT, "V", "G"))
    assert only(document, "nets-joined").severity is Severity.REJECT


def test_an_open_fault_does_not_excuse_joined_nets():
    document = sound_cable(readings=JOINED, faults=fault(FaultKind.OPEN, "D", "G"))
    assert only(document, "nets-joined").severity is Severity.REJECT


def test_shorts_that_meet_in_one_net_explain_all_of_it():
    readings = (beep("r1", "L:1", "L:2"), beep("r2", "L:2", "L:3"), beep("r3", "L:1", "L:3"))
    faults = fault(FaultKind.SHORT, "V", "G") + fault(FaultKind.SHORT, "G", "D")
    joined = found(sound_cable(readings=readings, faults=faults), "nets-joined")
    assert [finding.severity for finding in joined] == [Severity.NOTE] * 2


@given(st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=12))
def test_every_group_of_joined_nets_is_told_as_networkx_finds_it(links):
    """Eight nets of one contact each: the pairs told of connect what the beeps connect."""
    nets = tuple(Net(f"N{number}", (f"L:{number}",)) for number in range(8))
    readings = tuple(beep(f"r{place}", f"L:{a}", f"L:{b}") for place, (a, b) in enumerate(links) if a != b)
    ends = (End("L", "custom", rows=(tuple("01234567"),)),)
    document = sound_cable(ends=ends, sections=(), cores=(), nets=nets, readings=readings)
    told = nx.Graph([finding.contacts for finding in found(document, "nets-joined")])
    beeped = nx.Graph([(reading.red, reading.black[0]) for reading in readings])
    assert sorted(map(sorted, nx.connected_components(told))) == sorted(map(sorted, nx.connected_components(beeped)))


def test_a_net_that_no_reading_joins_is_noted():
    finding = only(sound_cable(readings=(*JOINS[:2], *SEPARATIONS)), "unproved-net")
    assert finding.severity is Severity.NOTE
    assert "net D" in finding.message
    assert finding.at == ("/nets/2",)


def test_a_net_with_one_reading_behind_it_and_a_net_of_one_contact_are_fine():
    nets = (*NETS[:2], Net("D", ("L:3",), Role.SINGLE))
    assert not found(sound_cable(nets=nets, cores=sound_cable().cores, readings=JOINS[:2]), "unproved-net")


def test_a_map_without_readings_is_told_so_once():
    finding = only(sound_cable(readings=()), "unproved-net")
    assert "There are no readings" in finding.message
    assert finding.at == ("/nets/0", "/nets/1", "/nets/2")


def test_a_core_of_a_net_says_nothing_without_a_reading():
    cores = (Core("k9", "main", carries="D"),)
    assert len(found(sound_cable(readings=(over("r1", "L:1", "L:2"),), cores=cores), "unproved-net")) == 3


def low_resistor(*between: str, value: float = 33.0) -> tuple[Part, ...]:
    return (Part(PartKind.RESISTOR, between, value),)


BEEPED = (*JOINS, beep("r7", "R:2", "R:3"))


def test_a_beep_through_a_declared_resistor_that_is_low_enough_joins_no_nets():
    one, other = sound_cable().net_of_contact["R:2"], sound_cable().net_of_contact["R:3"]
    assert found(sound_cable(readings=BEEPED), "nets-joined")
    assert not found(sound_cable(readings=BEEPED, parts=low_resistor(one, other)), "nets-joined")
    assert not found(sound_cable(readings=BEEPED, parts=low_resistor(one, other, value=74.9)), "nets-joined")


def test_two_declared_resistors_in_a_row_count_as_their_sum():
    names = [sound_cable().net_of_contact[contact] for contact in ("R:2", "R:1", "R:3")]
    halves = (*low_resistor(*names[:2], value=30.0), *low_resistor(*names[1:], value=30.0))
    assert not found(sound_cable(readings=BEEPED, parts=halves), "nets-joined")
    assert found(sound_cable(readings=BEEPED, parts=halves[:1]), "nets-joined")


def test_a_declared_resistor_too_high_to_beep_explains_nothing():
    parts = low_resistor(*(sound_cable().net_of_contact[contact] for contact in ("R:2", "R:3")), value=75.1)
    assert found(sound_cable(readings=BEEPED, parts=parts), "nets-joined")


def test_a_reading_below_the_declared_resistor_still_joins_the_nets_whatever_else_beeps():
    parts = low_resistor(*(sound_cable().net_of_contact[contact] for contact in ("R:2", "R:3")))
    document = sound_cable(readings=(*BEEPED, ohms("r8", "L:2", "L:3", 0.8)), parts=parts)
    assert "r8" in only(document, "nets-joined").readings
