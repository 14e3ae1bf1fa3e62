"""What a map names is declared and lies where it can: `contact-unknown`, `contact-in-two-nets`,
`core-out-of-place`."""

from dataclasses import replace

import pytest

from catalogue.core.check import check
from catalogue.core.document import (
    Core,
    CoreKind,
    End,
    Fault,
    FaultKind,
    Mark,
    MarkKind,
    Module,
    Net,
    Opening,
    Part,
    PartKind,
    Path,
    Section,
    Via,
)
from catalogue.core.findings import Severity
from tests.core.rules.maps import (
    NETS,
    REFERENCE,
    beep,
    bus_cable,
    found,
    ohms,
    only,
    opened_cable,
    over,
    sound_cable,
    sweep,
    with_readings,
)

CORES = sound_cable().cores


def test_a_reading_on_a_contact_that_no_end_has_is_refused_and_named():
    finding = only(with_readings(ohms("r7", "L:1", "R:4", 0.5)), "contact-unknown")
    assert finding.severity is Severity.REJECT
    assert "r7" in finding.message
    assert "the rows of R have no contact 4" in finding.message
    assert finding.contacts == ("R:4",)
    assert finding.readings == ("r7",)
    assert finding.at == ("/readings/6",)


def test_a_reading_on_the_last_contact_of_an_end_is_fine():
    assert not found(with_readings(ohms("r7", "L:3", "R:3", 0.6)), "contact-unknown")


def test_nothing_is_concluded_from_a_reading_on_an_unknown_contact():
    """Were it used, R:1 and L:2 would be joined by way of X:1."""
    document = with_readings(ohms("r7", "L:1", "X:1", 0.5), ohms("r8", "X:1", "L:2", 0.5))
    assert {finding.code for finding in found(document, "contact-unknown")} == {"contact-unknown"}
    assert not found(document, "nets-joined")
    assert not found(document, "readings-contradict")


@pytest.mark.parametrize(
    ("changes", "says", "at"),
    [
        ({"nets": (*NETS, Net("E", ("L:9",)))}, "the rows of L have no contact 9", "/nets/3/contacts/0"),
        ({"nets": (*NETS, Net("E", ("TOOL:1",)))}, "there is no end TOOL", "/nets/3/contacts/0"),
        (
            {"nets": (*NETS, Net("E", ("k1@0.5",)))},
            "a core in an opening is not a contact",
            "/nets/3/contacts/0",
        ),
        ({"sections": (Section("main", "L", "POD"),)}, "there is no end, module or split", "/sections/0/to"),
        ({"cores": (*CORES, Core("k4", "tail"))}, "there is no section of that name", "/cores/3/section"),
        ({"cores": (*CORES, Core("k4", "main", carries="E"))}, "no net or path of that name", "/cores/3"),
        ({"paths": (Path("F", Via.FIBRE, "L:1", "R:9"),)}, "the rows of R have no contact 9", "/paths/0/to"),
        (
            {"parts": (Part(PartKind.RESISTOR, ("V", "E")),)},
            "there is no net of that name",
            "/parts/0/between/1",
        ),
        (
            {"marks": (Mark(MarkKind.KINK, "tail", 0.1),)},
            "there is no section of that name",
            "/marks/0/section",
        ),
        ({"openings": (Opening("tail", 0.1),)}, "there is no section of that name", "/openings/0/section"),
        ({"faults": (Fault(FaultKind.OPEN, ("E",)),)}, "there is no net of that name", "/faults/0"),
        (
            {"faults": (Fault(FaultKind.OPEN, ("V",), "tail"),)},
            "there is no section of that name",
            "/faults/0/section",
        ),
    ],
)
def test_whatever_names_something_undeclared_is_pointed_at(changes, says, at):
    finding = only(sound_cable(**changes), "contact-unknown")
    assert says in finding.message
    assert finding.at == (at,)


def test_a_path_a_net_and_a_core_by_their_names_are_known():
    cores = (*CORES, Core("k4", "main", CoreKind.FIBRE, carries="F"))
    document = sound_cable(cores=cores, paths=(Path("F", Via.FIBRE, "L:1", "R:1"),))
    assert not found(document, "contact-unknown")


def test_a_connector_that_is_no_standard_one_is_named():
    document = bus_cable(ends=(End("A", "bus-a"), End("B", "bus-z")))
    finding = only(document, "contact-unknown")
    assert "bus-z" in finding.message
    assert finding.at == ("/ends/1/connector",)


def test_a_standard_connector_has_no_more_contacts_than_its_standard():
    finding = only(bus_cable(Net("N", ("A:10",))), "contact-unknown")
    assert "A is a bus-a, which has no contact 10" in finding.message


def test_a_core_point_without_such_a_core_is_unknown():
    assert "there is no core k9" in only(opened_cable(beep("r7", "k9@0.5", "L:1")), "contact-unknown").message


def test_a_contact_listed_in_two_nets_is_refused_with_both_places():
    document = sound_cable(nets=(*NETS, Net("E", ("R:3", "L:1"))))
    first, second = found(document, "contact-in-two-nets")
    assert first.severity is Severity.REJECT
    assert "R:3 is listed in net E and in net D" in first.message
    assert first.at == ("/nets/3/contacts/0", "/nets/2/contacts/1")
    assert second.contacts == ("L:1",)


def test_a_contact_listed_in_one_net_is_fine():
    assert not found(sound_cable(), "contact-in-two-nets")


@pytest.mark.parametrize("at_m", [2.02, -0.02])
def test_an_opening_a_mark_and_a_fault_beyond_their_section_are_refused(at_m):
    document = sound_cable(
        openings=(Opening("main", at_m),),
        marks=(Mark(MarkKind.KINK, "main", at_m),),
        faults=(Fault(FaultKind.HIGH, ("V",), "main", at_m),),
    )
    places = found(document, "core-out-of-place")
    assert [finding.at for finding in places] == [
        ("/openings/0/at_m",),
        ("/marks/0/at_m",),
        ("/faults/0/at_m",),
    ]
    assert all("2 m long" in finding.message for finding in places)


@pytest.mark.parametrize("at_m", [0.0, 2.0, 2.009])
def test_an_opening_at_the_very_end_of_a_section_is_fine(at_m):
    assert not found(sound_cable(openings=(Opening("main", at_m),)), "core-out-of-place")


def test_a_section_of_unknown_length_has_room_for_everything():
    document = sound_cable(sections=(Section("main", "L", "R"),), openings=(Opening("main", 50.0),))
    assert not found(document, "core-out-of-place")


def test_a_probe_where_nothing_was_opened_is_refused_and_proves_nothing():
    document = opened_cable(beep("r7", "k1@1.5", "L:2"), at_m=0.5)
    finding = only(document, "core-out-of-place")
    assert "no opening at 1.5 m of section main, where k1 lies, is declared" in finding.message
    assert finding.at == ("/readings/6",)
    assert not found(document, "nets-joined")


def test_a_probe_within_a_centimetre_of_the_opening_is_in_it():
    assert not found(opened_cable(beep("r7", "k1@0.51", "L:1"), at_m=0.5), "core-out-of-place")


def test_a_section_that_closes_a_loop_is_refused():
    document = sound_cable(sections=(Section("main", "L", "R", 2.0), Section("second", "R", "L", 1.0)))
    finding = only(document, "core-out-of-place")
    assert "Section second" in finding.message
    assert finding.at == ("/sections/1",)


def test_a_module_that_no_section_leads_to_is_refused():
    finding = only(sound_cable(modules=(Module("POD"),)), "core-out-of-place")
    assert "POD" in finding.message
    assert finding.at == ("/sections",)


def test_a_chain_of_sections_through_a_module_is_a_sound_cable():
    sections = (Section("tail", "L", "POD"), Section("main", "R", "POD"))
    assert not found(sound_cable(sections=sections, modules=(Module("POD"),)), "core-out-of-place")


def test_a_map_without_sections_says_nothing_about_places():
    assert not found(sound_cable(sections=(), cores=()), "core-out-of-place")


def test_a_sweep_over_an_unknown_contact_is_told_once_with_all_of_them():
    document = with_readings(sweep("r7", "L:1", "R:2", "R:8", "R:9", beeps=False), over("r8", "L:1", "R:2"))
    assert only(document, "contact-unknown").contacts == ("R:8", "R:9")


def test_a_seat_that_a_plug_leaves_empty_is_no_contact():
    plug = REFERENCE.connectors["bus-a"]
    contacts = tuple(replace(contact, present=contact.contact != "9") for contact in plug.contacts)
    reference = replace(REFERENCE, connectors={"bus-a": replace(plug, contacts=contacts)})
    told = check(bus_cable(Net("N", ("A:9",)), ends=(End("A", "bus-a"),)), reference)
    assert [finding.message for finding in told if finding.code == "contact-unknown"] == [
        "Net N lists A:9, but the plug of bus-a leaves contact 9 of A empty."
    ]
