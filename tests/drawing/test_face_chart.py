"""What a repairer with probes in hand reads off a face chart."""

from __future__ import annotations

from dataclasses import replace

import pytest

from catalogue.core.document import End, Form, MapDocument, Net, Role
from catalogue.drawing.face import TINTS, face_chart, key_of
from catalogue.drawing.rail import rail_chart
from catalogue.tables import reference
from tests.drawing.documents import CABLE, TITLE, split_cable, straight, usb
from tests.drawing.reading_dot import Drawing, Node, read_dot


def chart(document: MapDocument, mirrored: bool = False) -> Drawing:
    return read_dot(face_chart(document, reference(), TITLE, mirrored))


def pads(drawing: Drawing) -> dict[str, Node]:
    """Pads by what is written in them; of two alike the later one."""
    return {node.words: node for node in drawing.texts if "contact" in node.classes}


def centre(node: Node) -> tuple[float, float]:
    return (node.left + node.right) / 2, (node.top + node.bottom) / 2


def one_end(connector: str, form: Form) -> MapDocument:
    return MapDocument(CABLE, (End("A", connector, form),))


@pytest.mark.parametrize("key", sorted(reference().connectors))
def test_contacts_of_a_standard_connector_stand_at_their_published_places(key: str) -> None:
    face = reference().connectors[key].face
    drawn = pads(chart(one_end(key, face.form)))
    seats = {seat.contact: seat for seat in face.seats if seat.contact in drawn}
    assert drawn.keys() == seats.keys()
    first, *others = seats
    scales = set()
    for contact in others:
        for axis, told in ((0, "x_mm"), (1, "y_mm")):
            millimetres = getattr(seats[contact], told) - getattr(seats[first], told)
            points = centre(drawn[contact])[axis] - centre(drawn[first])[axis]
            if abs(millimetres) < 1e-9:
                assert abs(points) < 0.1
            else:
                scales.add(round(points / millimetres, 1))
    assert max(scales) - min(scales) < 0.25
    assert min(scales) > 0


def test_the_other_form_of_a_connector_is_its_mirror_image() -> None:
    plug, receptacle = (pads(chart(one_end("usb2-a", form))) for form in (Form.PLUG, Form.RECEPTACLE))
    order = sorted("1234", key=lambda contact: plug[contact].left)
    assert sorted("1234", key=lambda contact: receptacle[contact].left) == order[::-1]


def test_rows_of_a_custom_end_stand_as_they_were_written_and_free_seats_stay_free() -> None:
    end = End("A", "custom", Form.PLUG, (("1", "", "3"), ("4", "5", "6")), 0.8)
    drawing = chart(MapDocument(CABLE, (end,)))
    drawn = pads(drawing)
    assert centre(drawn["1"])[0] == pytest.approx(centre(drawn["4"])[0], abs=0.02)
    assert centre(drawn["3"])[0] == pytest.approx(centre(drawn["6"])[0], abs=0.02)
    assert drawn["1"].bottom < drawn["4"].top
    rings = [node for node in drawing.nodes if node.attributes.get("shape") == "ellipse"]
    assert [round(centre(ring)[0]) for ring in rings] == [round(centre(drawn["5"])[0])]
    assert "plug, 5 contacts, pitch 0.8 mm" in drawing.words


def test_mirrored_turns_left_and_right_and_says_so_plainly() -> None:
    document = one_end("usb2-a", Form.PLUG)
    plain, mirrored = chart(document), chart(document, mirrored=True)
    order = sorted("1234", key=lambda contact: pads(plain)[contact].left)
    assert sorted("1234", key=lambda contact: pads(mirrored)[contact].left) == order[::-1]
    assert "MIRRORED: from the solder side" in mirrored.words
    assert not any("MIRRORED" in words for words in plain.words)
    assert "looking into the mating face" in plain.words


def test_a_pad_is_tinted_by_its_net_and_has_key_and_name_below() -> None:
    drawing = chart(usb())
    vbus = [node for node in drawing.of_class("net-4") if "contact" in node.classes]
    assert {node.attributes["fillcolor"] for node in vbus} == {TINTS[0]}
    for pad in vbus:
        below = [node for node in drawing.texts if node.words == "a VBUS" and abs(centre(node)[0] - centre(pad)[0]) < 1]
        assert min(node.top - pad.bottom for node in below) < 4


def test_the_key_tells_name_role_and_volts() -> None:
    words = chart(usb()).words
    assert {"a", "VBUS", "supply, 5 V", "b", "GND", "ground", "d", "pair, + leg"} <= set(words)


def test_keys_alone_stand_below_the_pads_of_a_dense_face() -> None:
    words = chart(straight(100)).words
    assert "a S1" not in words
    assert words.count("a") == 3
    assert {"a", "S1", key_of(99), "S100"} <= set(words)


def test_no_two_nets_share_a_key() -> None:
    keys = [key_of(number) for number in range(1000)]
    assert len(set(keys)) == 1000
    assert keys[:3] + keys[25:29] == ["a", "b", "c", "z", "aa", "ab", "ac"]


def test_contacts_of_no_net_are_plain_and_marked() -> None:
    drawing = chart(replace(usb(), nets=()))
    assert {node.attributes["fillcolor"] for node in pads(drawing).values()} == {"#ffffff"}
    assert "– below a pad: not connected, or not read." in drawing.words


def test_paths_have_a_dashed_edge() -> None:
    drawing = chart(split_cable())
    light = drawing.of_class("net-3")
    assert {node.attributes["style"] for node in light if "contact" in node.classes} == {"filled,dashed"}
    assert "Dashed edge: goes on through fibre, a part or a chip; a meter may read it open." in drawing.words


def test_a_contact_without_a_seat_is_shown_below_its_face() -> None:
    end = End("A", "custom", Form.PLUG, (("1",),))
    drawing = chart(MapDocument(CABLE, (end,), nets=(Net("N", ("A:1", "A:9"), Role.SINGLE),)))
    assert "seat not known:" in drawing.words
    assert pads(drawing)["9"].top > pads(drawing)["1"].bottom


def test_a_contact_has_the_same_class_in_both_charts() -> None:
    rail = read_dot(rail_chart(usb(), reference(), TITLE))
    for drawing in (rail, chart(usb())):
        (shell,) = (node for node in drawing.nodes if node.attributes.get("id", "").endswith("-contact-9"))
        assert shell.words == "Shell"
        assert {"contact", "contact-9", "net-1"} <= set(shell.classes)
