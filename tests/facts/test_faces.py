"""Faces of the standard connectors: a seat for each contact, no two in one place, the published orders."""

from itertools import combinations, pairwise
from math import hypot

import pytest

from catalogue.core.document import Form
from catalogue.core.reference import Face, Outline, StandardConnector
from catalogue.tables import reference

CONNECTORS = sorted(reference().connectors)


def face(key: str) -> Face:
    return reference().connectors[key].face


def connector(key: str) -> StandardConnector:
    return reference().connectors[key]


def place(key: str, contact: str) -> tuple[float, float]:
    (seat,) = (seat for seat in face(key).seats if seat.contact == contact)
    return seat.x_mm, seat.y_mm


@pytest.mark.parametrize("key", CONNECTORS)
def test_every_contact_that_is_there_has_one_seat_and_no_other_has(key: str) -> None:
    present = sorted(contact.contact for contact in connector(key).contacts if contact.present)
    assert sorted(seat.contact for seat in face(key).seats) == present


@pytest.mark.parametrize("key", CONNECTORS)
def test_no_two_contacts_share_a_place(key: str) -> None:
    """The finest pitch among these connectors is the 0.5 mm of USB-C, DisplayPort and HDMI."""
    for one, other in combinations(face(key).seats, 2):
        assert hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm) >= 0.5


@pytest.mark.parametrize("key", CONNECTORS)
def test_contacts_lie_within_the_outline(key: str) -> None:
    for seat in face(key).seats:
        assert abs(seat.x_mm) <= face(key).width_mm / 2
        assert abs(seat.y_mm) <= face(key).height_mm / 2
        if face(key).outline is Outline.CIRCLE:
            assert hypot(seat.x_mm, seat.y_mm) <= face(key).width_mm / 2


@pytest.mark.parametrize("key", CONNECTORS)
def test_rows_run_from_left_to_right_and_from_top_to_bottom(key: str) -> None:
    seats = face(key).seats
    for one, other in combinations(seats, 2):
        assert (one.row, one.x_mm) < (other.row, other.x_mm)
    assert {seat.row for seat in seats} == set(range(len(face(key).rows)))


@pytest.mark.parametrize("key", [key for key in CONNECTORS if "Shell" in reference().connectors[key].by_contact])
def test_the_shell_stands_alone_in_the_last_row(key: str) -> None:
    assert face(key).rows[-1] == ("Shell",)
    assert place(key, "Shell")[1] == pytest.approx(face(key).height_mm / 2)


def test_only_the_usb_c_receptacle_is_seen_as_a_receptacle() -> None:
    seen = [key for key in CONNECTORS if face(key).form is Form.RECEPTACLE]
    assert seen == ["usb-c-receptacle"]


def test_usb_c_plug_and_receptacle_are_mirror_images() -> None:
    """USB Type-C, front views of plug and receptacle: they meet face to face."""
    for contact in connector("usb-c-plug").contacts:
        if contact.present and contact.contact != "Shell":
            x_mm, y_mm = place("usb-c-receptacle", contact.contact)
            assert place("usb-c-plug", contact.contact) == (-x_mm, y_mm)


def test_usb_c_receptacle_reads_a1_at_upper_left() -> None:
    """USB Type-C, receptacle front view: A1 to A12 over B12 to B1."""
    assert face("usb-c-receptacle").rows[0][0] == "A1"
    assert face("usb-c-receptacle").rows[1][0] == "B12"


def test_usb_c_turned_by_half_meets_the_other_row() -> None:
    """The plug goes in either way up: a half turn lays each A contact on the B contact of the same number."""
    for number in range(1, 13):
        x_mm, y_mm = place("usb-c-receptacle", f"A{number}")
        assert place("usb-c-receptacle", f"B{number}") == (-x_mm, -y_mm)


def test_usb_c_supply_meets_supply_and_ground_meets_ground_either_way_up() -> None:
    """Follows from the published contact table; it is what makes a turned plug harmless."""
    contacts = connector("usb-c-receptacle").by_contact
    turned = {"A": "B", "B": "A"}
    for name, contact in contacts.items():
        if contact.signal in ("VBUS", "GND"):
            assert contacts[turned[name[0]] + name[1:]].signal == contact.signal


def test_usb_a_has_wider_gaps_beside_its_outer_contacts() -> None:
    """USB 2.0 ch. 6: pitch 2.5, 2.0, 2.5 mm, the supply at the outside."""
    x_mm = [place("usb2-a", contact)[0] for contact in "1234"]
    assert [one - other for one, other in pairwise(x_mm)] == [2.5, 2.0, 2.5]


def test_usb3_a_keeps_the_usb2_contacts_in_place() -> None:
    """A USB 3 plug works in a USB 2 receptacle: contacts 1 to 4 are in the same places across."""
    assert [place("usb3-a", contact)[0] for contact in "1234"] == [place("usb2-a", contact)[0] for contact in "1234"]


def test_hdmi_has_ten_odd_contacts_over_nine_even_ones() -> None:
    """HDMI type A: 19 contacts, each half a millimetre further along than the one before."""
    odd, even, _ = face("hdmi-a-19").rows
    assert odd == tuple(str(number) for number in range(1, 20, 2))
    assert even == tuple(str(number) for number in range(2, 20, 2))
    steps = [place("hdmi-a-19", str(n + 1))[0] - place("hdmi-a-19", str(n))[0] for n in range(1, 19)]
    assert steps == pytest.approx([0.5] * 18)


def test_both_ends_of_displayport_have_one_numbering() -> None:
    assert face("displayport-20-source").seats == face("displayport-20-sink").seats


def test_modular_plug_reads_one_to_eight_whatever_the_pair_order() -> None:
    """IEC 60603-7 numbers places; T568A and T568B only say which pair goes there. Pitch 1.02 mm."""
    assert face("rj45-t568a").rows[0] == tuple("12345678")
    assert face("rj45-t568a").seats == face("rj45-t568b").seats
    assert place("rj45-t568a", "2")[0] - place("rj45-t568a", "1")[0] == pytest.approx(1.02)


def test_d_subminiature_rows_lie_between_each_other() -> None:
    """DIN 41652: pitch 2.77 mm, each contact of the lower row midway below two of the upper one."""
    assert face("de9-rs232-dte").rows[:2] == (tuple("12345"), tuple("6789"))
    for lower, left, right in zip("6789", "1234", "2345", strict=True):
        middle = (place("de9-rs232-dte", left)[0] + place("de9-rs232-dte", right)[0]) / 2
        assert place("de9-rs232-dte", lower)[0] == pytest.approx(middle)


def test_vga_has_three_rows_of_five() -> None:
    assert [len(row) for row in face("de15-vga").rows] == [5, 5, 5, 1]
    shift = place("de15-vga", "1")[0] - place("de15-vga", "6")[0]
    assert shift == pytest.approx(2.29 / 2, abs=0.001)


def test_din_pins_stand_on_a_circle_in_the_order_1_4_2_5_3() -> None:
    """IEC 60130-9: 3 came first, 4 and 5 were fitted between; seen into the pins, from right to left."""
    assert face("din5-midi").rows == (tuple(reversed("14253")),)
    assert {round(hypot(seat.x_mm, seat.y_mm), 2) for seat in face("din5-midi").seats} == {3.5}


def test_audio_plug_runs_from_tip_to_sleeve() -> None:
    for key in ("trs-audio", "trs-audio-stereo"):
        assert face(key).rows == (("Tip", "Ring", "Sleeve"),)
