"""Standard cables from the tables against what the signal names and the standards say they must be."""

import re

import pytest

from catalogue.core.document import Role
from catalogue.core.reference import StandardCable, StandardContact
from catalogue.tables import reference

CABLES = {cable.key: cable for cable in reference().cables}
PAIR_LEGS = (Role.PAIR_POSITIVE, Role.PAIR_NEGATIVE)


def ends(cable: StandardCable) -> list[tuple[StandardContact, StandardContact]]:
    """The two contacts of each join, in full."""
    near = reference().connectors[cable.connector_a].by_contact
    far = reference().connectors[cable.connector_b].by_contact
    return [(near[a], far[b]) for a, b in sorted(cable.joins)]


def of_pairs(cable: StandardCable) -> list[tuple[StandardContact, StandardContact]]:
    return [(a, b) for a, b in ends(cable) if a.role in PAIR_LEGS]


@pytest.mark.parametrize("key", sorted(CABLES))
def test_roles_agree_at_both_ends_of_every_join(key: str) -> None:
    """No supply on a ground, no leg of a pair turned over, in any published cable.

    RS-232 contacts are single or control; in every form of null modem like meets like.
    """
    assert [(a.contact, b.contact) for a, b in ends(CABLES[key]) if a.role is not b.role] == []


@pytest.mark.parametrize("key", sorted(CABLES))
def test_supplies_joined_have_one_voltage(key: str) -> None:
    assert [(a.contact, b.contact) for a, b in ends(CABLES[key]) if a.volts != b.volts] == []


@pytest.mark.parametrize("key", sorted(CABLES))
def test_a_pair_arrives_as_a_pair(key: str) -> None:
    """The two legs of a pair at one end are the two legs of one pair at the other."""
    arrives: dict[str, set[str]] = {}
    for a, b in of_pairs(CABLES[key]):
        arrives.setdefault(a.pair, set()).add(b.pair)
    assert all(len(pairs) == 1 for pairs in arrives.values())


@pytest.mark.parametrize("key", sorted(CABLES))
def test_only_contacts_that_are_there_are_joined(key: str) -> None:
    assert all(a.present and b.present for a, b in ends(CABLES[key]))


def test_displayport_reverses_contacts_1_to_12() -> None:
    """VESA DisplayPort: n meets 13 - n up to 12, the rest are straight, and 20 (the supply) is not wired."""
    assert CABLES["displayport"].joins == {
        *((str(n), str(13 - n)) for n in range(1, 13)),
        *((str(n), str(n)) for n in range(13, 20)),
        ("Shell", "Shell"),
    }


def test_displayport_lanes_meet_by_name() -> None:
    """The signal names at source and sink were published apart; the reversal must bring them together."""
    lanes = [(a.signal, b.signal) for a, b in ends(CABLES["displayport"]) if a.signal.startswith("ML_Lane")]
    assert len(lanes) == 8
    assert all(near == far for near, far in lanes)


def test_usb_c_crosses_transmit_with_receive() -> None:
    """Pair-level crossing TX1-RX1, TX2-RX2, SBU1-SBU2: https://dasenic.com/blog/details/usb-type-c"""
    assert {(a.pair, b.pair) for a, b in of_pairs(CABLES["usb-c-full"])} == {
        ("TX1", "RX1"),
        ("RX1", "TX1"),
        ("TX2", "RX2"),
        ("RX2", "TX2"),
        ("D1", "D1"),
    }
    sideband = {(a.signal, b.signal) for a, b in ends(CABLES["usb-c-full"]) if a.signal.startswith("SBU")}
    assert sideband == {("SBU1", "SBU2"), ("SBU2", "SBU1")}


def test_usb_c_carries_no_vconn_from_end_to_end() -> None:
    """USB Type-C: B5 feeds the electronics of its own plug."""
    assert "B5" not in {contact for join in CABLES["usb-c-full"].joins for contact in join}


def test_usb_c_ties_its_four_grounds_and_its_four_supplies() -> None:
    tied: dict[str, set[str]] = {}
    for side, first, other in CABLES["usb-c-full"].local:
        tied.setdefault(side + first, {first}).add(other)
    grounds, supplies = {"A1", "A12", "B1", "B12"}, {"A4", "A9", "B4", "B9"}
    assert tied == {"aA1": grounds, "bA1": grounds, "aA4": supplies, "bA4": supplies}


@pytest.mark.parametrize("key", ["usb3-a-b", "usb3-a-micro-b"])
def test_usb3_crosses_in_the_names(key: str) -> None:
    """USB 3.1 ch. 5: what one end receives the other transmits, with the polarity kept."""

    def way(contact: StandardContact) -> str:
        return re.sub(r"^(StdA|StdB|MicB)_", "", contact.signal)

    crossed = {(way(a), way(b)) for a, b in of_pairs(CABLES[key]) if "_SS" in a.signal}
    assert crossed == {("SSRX-", "SSTX-"), ("SSRX+", "SSTX+"), ("SSTX-", "SSRX-"), ("SSTX+", "SSRX+")}


@pytest.mark.parametrize("key", ["usb2-a-b", "usb2-a-mini-b", "usb2-a-micro-b"])
def test_usb2_joins_like_signals_and_leaves_id_open(key: str) -> None:
    """USB 2.0 ch. 6: VBUS, D-, D+, GND and the braid; ID is no core of the cable."""
    assert {(a.signal, b.signal) for a, b in ends(CABLES[key])} == {
        (signal, signal) for signal in ("VBUS", "D-", "D+", "GND", "Shield")
    }


@pytest.mark.parametrize("key", ["hdmi-a", "vga", "sata", "network-t568a", "network-t568b", "xlr", "midi"])
def test_these_cables_are_straight(key: str) -> None:
    assert all(a == b for a, b in CABLES[key].joins)


@pytest.mark.parametrize("key", ["network-crossover", "network-crossover-gigabit"])
def test_crossover_meets_transmit_with_receive(key: str) -> None:
    """100BASE-TX sends on 1 and 2 (BI_DA) and receives on 3 and 6 (BI_DB): IEEE 802.3 clause 25."""
    met = {(a.signal, b.signal) for a, b in ends(CABLES[key])}
    assert {("BI_DA+", "BI_DB+"), ("BI_DA-", "BI_DB-"), ("BI_DB+", "BI_DA+"), ("BI_DB-", "BI_DA-")} < met


def test_crossover_keeps_each_coloured_pair_whole() -> None:
    """T568A at one end and T568B at the other: TIA-568 numbers pairs by colour, so pair meets pair."""
    assert all(a.pair == b.pair for a, b in of_pairs(CABLES["network-crossover"]))


def test_gigabit_crossover_crosses_all_four_pairs() -> None:
    met = {(a.signal[:5], b.signal[:5]) for a, b in ends(CABLES["network-crossover-gigabit"])}
    assert met == {("BI_DA", "BI_DB"), ("BI_DB", "BI_DA"), ("BI_DC", "BI_DD"), ("BI_DD", "BI_DC")}


@pytest.mark.parametrize("key", [key for key in sorted(CABLES) if key.startswith("null-modem")])
def test_null_modem_joins_every_output_to_inputs_only(key: str) -> None:
    """TIA-574 gives each contact's direction at the terminal, kept in the notes of the table."""

    def direction(contact: StandardContact) -> str:
        return contact.notes.removeprefix("direction at the DTE: ")

    for a, b in ends(CABLES[key]):
        assert {direction(a), direction(b)} in ({"in", "out"}, {""})


def test_null_modem_is_the_same_from_either_end() -> None:
    for key, cable in CABLES.items():
        if key.startswith("null-modem"):
            assert {(b, a) for a, b in cable.joins} == cable.joins


def test_null_modem_forms_build_on_each_other() -> None:
    """http://hitmen.c02.at/files/hardware/RS232_Cable.txt: data; then RTS and CTS; then DTR and DSR."""
    three, rts, dtr, local = (CABLES[f"null-modem-{form}"] for form in ("three-wire", "rts-cts", "dtr-dsr", "local"))
    assert three.joins < rts.joins < dtr.joins
    assert local.joins == rts.joins
    assert {(side, *sorted(bridge)) for side, *bridge in local.local} == {
        (side, *bridge) for side in "ab" for bridge in (("4", "6"), ("1", "4"))
    }


def test_xlr_leaves_the_shell_apart_from_contact_1() -> None:
    """AES14 and IEC 60268-12: the shell is not joined to contact 1 by default."""
    assert "Shell" not in {contact for join in CABLES["xlr"].joins for contact in join}
