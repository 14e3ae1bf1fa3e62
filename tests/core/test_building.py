"""What a home-built cable keeps of the old one: cores and their return, pairs, screens, and what wire cannot do."""

from dataclasses import replace

import pytest

from catalogue.core.building import Build, Facts, Load, building_advice
from catalogue.core.document import (
    Basis,
    CableName,
    Core,
    CoreKind,
    End,
    Holds,
    MapDocument,
    Module,
    Net,
    Part,
    PartKind,
    Path,
    Role,
    Section,
    Via,
)
from catalogue.core.gauge import Decider
from catalogue.tables import limits, pair_impedances, reference, wires
from tests.published import bare_map

FACTS = Facts(wires(), limits(), pair_impedances())
PLAIN = Build({})


def advice(document, build=PLAIN):
    return building_advice(document, reference(), FACTS, build)


def cores(found):
    return {core.net: core for core in found.cores}


LAMP_LEAD = MapDocument(
    cable=CableName("Invented", "Lamp lead", summary="Invented example."),
    ends=(End("BOX", "custom", rows=(("1", "2", "3", "4", "5"),)), End("LAMP", "custom", rows=(("A", "B", "C"),))),
    modules=(Module("POD", Holds.UNKNOWN),),
    sections=(Section("short", "BOX", "POD", 0.5), Section("long", "POD", "LAMP", 2.5)),
    cores=(
        Core("s1", "short", CoreKind.SCREEN, carries="SHIELD"),
        Core("s2", "long", CoreKind.DRAIN, carries="SHIELD", bundle="talk"),
        Core("x1", "long", CoreKind.COAX_CENTRE, carries="VIDEO"),
    ),
    nets=(
        Net("+12V", ("BOX:1", "BOX:2", "LAMP:A"), Role.POWER, 12.0),
        Net("0V", ("BOX:3", "LAMP:B"), Role.GROUND),
        Net("SHIELD", ("BOX:4",), Role.SCREEN),
        Net("VIDEO", ("BOX:5", "LAMP:C"), Role.SINGLE),
    ),
    paths=(Path("SYNC", Via.FIBRE, "BOX:5", "LAMP:C", Basis.GUESSED),),
    parts=(Part(PartKind.RESISTOR, ("+12V", "0V"), 5100.0),),
)


def test_a_usb_cable_needs_no_word_about_its_currents():
    found = cores(advice(bare_map("usb2-a-b", 1.8)))
    assert set(found) == {"VBUS", "GND"}
    for core in found.values():
        assert core.demand.amperes == 0.5
        assert core.demand.contact_ohms == pytest.approx(0.06)
        # 1.8 m lies between 1.31 m for AWG 26 and 2.08 m for AWG 24 in the length table of USB 2.0.
        assert core.awg.name == "AWG 24"
        assert core.drop_volts <= 0.125
        assert core.decider is Decider.DROP


def test_a_longer_cable_wants_thicker_cores():
    found = advice(bare_map("usb2-a-b", 1.8), Build({}, length_m=4.5))
    assert [core.awg.name for core in found.cores] == ["AWG 20", "AWG 20"]


def test_the_stricter_of_two_standards_holds():
    """Type-C allows 167 mohm, USB 2.0 250 mohm: a cable with one of each keeps the Type-C limit."""
    cable = bare_map("usb2-a-b", 1.0)
    mixed = replace(cable, ends=(replace(cable.ends[0], connector="usb-c-plug"), cable.ends[1]))
    supply = cores(advice(mixed))["VBUS"].demand
    assert (supply.amperes, supply.most_drop_volts) == (3.0, 0.5)


def test_without_a_standard_the_current_is_asked_for():
    found = advice(LAMP_LEAD)
    assert found.cores == ()
    assert [missing.net for missing in found.missing] == ["+12V"]
    assert "amperes" in found.missing[0].what


def test_a_supply_and_its_return_each_get_half_of_the_drop():
    found = cores(advice(LAMP_LEAD, Build({"+12V": Load(2.0)})))
    # 5 % of 12 V, half each way; 3 m in all; two contacts side by side at one end, one at the other.
    assert found["+12V"].demand.most_drop_volts == pytest.approx(0.3)
    assert found["+12V"].demand.length_m == pytest.approx(3.0)
    assert found["+12V"].demand.contact_ohms == pytest.approx(0.03 / 2 + 0.03)
    assert found["0V"].demand.contact_ohms == pytest.approx(0.06)
    assert found["0V"].demand.amperes == 2.0


def test_the_drop_that_the_builder_allows_is_there_and_back():
    found = cores(advice(LAMP_LEAD, Build({"+12V": Load(2.0, 0.8)}, contact_ohms=0.0)))
    assert found["+12V"].demand.most_drop_volts == found["0V"].demand.most_drop_volts == 0.4
    assert found["0V"].demand.contact_ohms == 0


def test_a_ground_carries_all_supplies_together():
    second = Net("+5V", ("BOX:5", "LAMP:C"), Role.POWER, 5.0)
    cable = replace(LAMP_LEAD, nets=(*LAMP_LEAD.nets[:2], second))
    ground = cores(advice(cable, Build({"+12V": Load(2.0), "+5V": Load(1.5)})))["0V"].demand
    assert ground.amperes == 3.5
    assert ground.most_drop_volts == pytest.approx(0.05 * 5 / 2)


def test_contacts_that_use_up_the_drop_are_told_by_a_missing_wire():
    found = cores(advice(LAMP_LEAD, Build({"+12V": Load(10.0, 0.1)})))["+12V"]
    assert found.awg is found.metric is found.drop_volts is None
    assert found.demand.most_core_ohms < 0


def test_an_unknown_length_and_a_missing_return_are_asked_for():
    sections = (replace(LAMP_LEAD.sections[0], length_m=None), LAMP_LEAD.sections[1])
    unmeasured = replace(LAMP_LEAD, sections=sections, nets=(LAMP_LEAD.nets[0],))
    found = advice(unmeasured, Build({"+12V": Load(2.0)}))
    assert found.cores == ()
    assert ["how long" in missing.what for missing in found.missing] == [True, False]
    assert "ground" in found.missing[1].what
    assert len(advice(unmeasured, Build({"+12V": Load(2.0)}, length_m=3)).cores) == 1


def test_volts_that_nobody_knows_leave_the_drop_to_be_asked_for():
    nets = (replace(LAMP_LEAD.nets[0], volts=None), *LAMP_LEAD.nets[1:])
    found = advice(replace(LAMP_LEAD, nets=nets), Build({"+12V": Load(2.0)}))
    assert "how many volts may drop" in found.missing[0].what


def test_pairs_are_twisted_with_the_impedance_of_their_standard():
    (pair,) = advice(bare_map("usb2-a-b")).pairs
    assert pair.legs == ("D-", "D+")
    assert pair.bundle == "D"
    assert (pair.impedance.ohms, pair.impedance.tolerance_ohms) == (90, 13.5)


def test_a_pair_of_a_connector_of_its_own_has_no_impedance_by_standard():
    legs = (
        Net("T+", ("BOX:1", "LAMP:A"), Role.PAIR_POSITIVE, pair="T"),
        Net("T-", ("BOX:2", "LAMP:B"), Role.PAIR_NEGATIVE, pair="T"),
    )
    (pair,) = advice(replace(LAMP_LEAD, nets=legs)).pairs
    assert pair.legs == ("T+", "T-")
    assert pair.impedance is None


def test_screens_stay_joined_where_they_were_and_open_where_they_were():
    overall, of_bundle = advice(LAMP_LEAD).screens
    assert (overall.cores, overall.bundle) == (("s1",), "")
    assert (of_bundle.cores, of_bundle.bundle) == (("s2",), "talk")
    assert overall.joined_at == ("BOX:4",)
    assert overall.open_at == ("LAMP",)


def test_a_braid_from_shell_to_shell_is_kept():
    (screen,) = advice(bare_map("usb2-a-b")).screens
    assert screen.joined_at == ("A:Shell", "B:Shell")
    assert screen.open_at == ()


def test_what_wire_alone_cannot_do_is_told():
    found = advice(LAMP_LEAD)
    assert [module.name for module in found.modules] == ["POD"]
    assert [path.name for path in found.paths] == ["SYNC"]
    assert found.parts == LAMP_LEAD.parts
    assert found.coaxial == ("VIDEO",)
