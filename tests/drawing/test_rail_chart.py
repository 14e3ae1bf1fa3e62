"""What a repairer reads off a rail chart."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from itertools import combinations

from catalogue.core.document import (
    Basis,
    Core,
    CoreKind,
    End,
    Fault,
    FaultKind,
    Form,
    MapDocument,
    Mark,
    MarkKind,
    Module,
    Net,
    Path,
    Role,
    Section,
    Via,
)
from catalogue.drawing.rail import rail_chart
from catalogue.drawing.rails import rails_of
from catalogue.drawing.title import ReportCount
from catalogue.tables import reference
from tests.drawing.documents import CABLE, TITLE, split_cable, usb
from tests.drawing.reading_dot import Drawing, Node, read_dot


def chart(document: MapDocument, reports: tuple[ReportCount, ...] = ()) -> Drawing:
    return read_dot(rail_chart(document, reference(), TITLE, reports))


def named(drawing: Drawing, words: str) -> Node:
    """The one text that reads so."""
    found = [node for node in drawing.texts if node.words == words]
    assert len(found) == 1, (words, drawing.words)
    return found[0]


def middle(node: Node) -> tuple[float, float]:
    return (node.left + node.right) / 2, (node.top + node.bottom) / 2


def test_the_title_tells_name_revision_date_and_scale() -> None:
    words = chart(usb()).words
    assert TITLE.name in words
    assert "Rail chart · map revision 3 · 2024-05-01 · lengths to scale 1:15" in words


def test_a_chart_with_an_unknown_length_says_that_it_is_not_to_scale() -> None:
    document = replace(usb(), sections=(Section("cable", "HOST", "DEVICE"),))
    words = chart(document).words
    assert "Rail chart · map revision 3 · 2024-05-01 · not to scale" in words
    assert "cable  length not known" in words


def test_lengths_said_to_be_to_scale_are() -> None:
    drawing = chart(usb())
    zero, end = middle(named(drawing, "0"))[0], middle(named(drawing, "1.8"))[0]
    # 1.8 m at 1:15 is 0.12 m on paper; a point is 1/72 inch of 25.4 mm.
    assert abs((end - zero) - 1.8 / 15 / 0.0254 * 72) < 0.1


def test_rails_come_in_the_order_supply_ground_screen_pairs() -> None:
    assert [rail.name for rail in rails_of(usb())] == ["VBUS", "GND", "SHIELD", "D+", "D-"]
    drawing = chart(usb())
    tops = [
        min(node.top for node in drawing.texts if node.words == name) for name in ("VBUS", "GND", "SHIELD", "D+", "D-")
    ]
    assert tops == sorted(tops)


def test_legs_of_a_pair_stand_side_by_side_though_listed_apart() -> None:
    nets = tuple(
        Net(f"{pair}{leg}", (f"A:{pair}{leg}",), role, pair=pair)
        for leg, role in (("-", Role.PAIR_NEGATIVE), ("+", Role.PAIR_POSITIVE))
        for pair in "XYZ"
    )
    assert [rail.name for rail in rails_of(MapDocument(CABLE, (), nets=nets))] == [
        "X+",
        "X-",
        "Y+",
        "Y-",
        "Z+",
        "Z-",
    ]


def test_paths_come_last_and_fibre_first_among_them() -> None:
    names = [rail.name for rail in rails_of(split_cable())]
    assert names == ["+12", "GND", "VIDEO", "LIGHT", "SYNC"]


def test_contacts_stand_at_the_side_of_their_end_on_the_line_of_their_net() -> None:
    drawing = chart(usb())
    left, right = (node for node in drawing.texts if node.words == "Shell")
    name = min((node for node in drawing.texts if node.words == "SHIELD"), key=lambda node: node.left)
    assert left.right < right.left
    assert abs(middle(left)[1] - middle(right)[1]) < 0.1
    assert abs(middle(left)[1] - middle(name)[1]) < 0.1


def test_cores_tell_name_colour_kind_and_gauge() -> None:
    words = chart(usb()).words
    assert {"c1 RD copper AWG 24", "c3 GNWH copper AWG 28", "c4 BK copper 0.2 mm²", "braid screen"} <= set(words)
    assert "Colour letters (IEC 60757): BK black, GN green, RD red, WH white" in words


def test_a_light_core_has_a_dark_edge() -> None:
    drawing = chart(usb())
    white = [node for node in drawing.of_class("net-0") if node.attributes.get("fillcolor") == "#FFFFFF"]
    assert len(white) == 1
    assert white[0].attributes["color"] == "#1a1a1a"


def test_a_core_of_two_colours_shows_both() -> None:
    drawing = chart(usb())
    assert any(node.attributes.get("fillcolor") == "#1E9E4A" for node in drawing.of_class("net-2"))
    assert any(
        line.attributes["color"] == "#FFFFFF" and line.attributes.get("style") == "dashed" for line in drawing.lines
    )


def test_every_stroke_of_a_core_is_of_its_net_so_that_all_of_it_lights_up_or_fades() -> None:
    strokes = [line for line in chart(usb()).lines if line.attributes.get("style") in ("dashed", "dotted")]
    of_nets = {line.attributes["class"] for line in strokes if "class" in line.attributes}
    assert of_nets == {"net net-1", "net net-2"}  # the dots of the screen, the second colour of c3


def test_a_fibre_is_dashed_and_a_chip_stands_in_the_module_on_the_way() -> None:
    drawing = chart(split_cable())
    assert "f1 OG fibre" in drawing.words
    assert any(line.attributes["color"] == "#F07F13" and line.attributes["style"] == "dashed" for line in drawing.lines)
    chips = [node for node in drawing.texts if node.words == "chip"]
    pod = named(drawing, "POD")
    band = next(node for node in drawing.nodes if not node.words and node.covers(pod))
    assert any(band.left < middle(chip)[0] < band.right for chip in chips)


def test_the_legend_explains_what_is_used_and_nothing_else() -> None:
    words = chart(split_cable()).words
    assert {
        "coax centre",
        "drain wire",
        "fibre, no conductor",
        "goes on through a chip",
        "strain relief",
    } <= set(words)
    assert "diode between two nets, direction not told" not in words
    assert "number of failure reports" not in words


def test_parts_between_nets_tell_their_value() -> None:
    assert {"75 Ω", "100 nF"} <= set(chart(split_cable()).words)


def test_a_break_is_a_cross_with_words_at_its_place_within_the_mark() -> None:
    drawing = chart(split_cable())
    words = named(drawing, "open at 2.5 m")
    crosses = [line for line in drawing.lines if line.attributes["color"] == "#b3001b"]
    xs = {round(sum(x for x, _ in line.points) / len(line.points), 1) for line in crosses}
    kink = min(middle(node)[0] for node in drawing.nodes if node.attributes.get("fillcolor", "").startswith("#e0a02e"))
    assert any(abs(x - kink) < 0.2 for x in xs)
    assert "kink 2.5 m" in drawing.words
    assert "opened 2.5 m" in drawing.words
    cross = min(crosses, key=lambda line: abs(line.points[0][1] - words.top))
    assert words.top < sum(y for _, y in cross.points) / len(cross.points) < words.bottom


def test_a_short_names_the_other_net_on_both_rails() -> None:
    words = chart(split_cable()).words
    assert "short to GND somewhere" in words
    assert "short to +12 somewhere" in words


def test_a_fault_on_no_rail_is_told_in_words_below() -> None:
    document = replace(usb(), faults=(Fault(FaultKind.HIGH, ("VBUS",), "gone", 1.0), Fault(FaultKind.OPEN, ("X",))))
    words = chart(document).words
    assert "VBUS: reads high at 1 m" in words
    assert "X: open somewhere" in words


def test_failure_reports_are_counted_along_the_axis() -> None:
    drawing = chart(usb(), (ReportCount("cable", 0.9, 7), ReportCount("HOST", None, 1)))
    halfway = (middle(named(drawing, "0"))[0] + middle(named(drawing, "1.8"))[0]) / 2
    # The disc stands just right of its leader.
    assert abs(named(drawing, "7").left - 3 - halfway) < 1
    assert "reports at 0.9 m" in drawing.words
    assert "report at HOST" in drawing.words


def test_reports_tell_their_mean_place_to_the_centimetre() -> None:
    assert "reports at 0.85 m" in chart(usb(), (ReportCount("cable", 0.846667, 3),)).words


def test_of_many_failure_points_only_the_discs_are_drawn_so_that_they_stay_low() -> None:
    few = tuple(ReportCount("cable", 0.3 * number, 20 + number) for number in range(1, 4))
    many = tuple(ReportCount("cable", 0.2 * number, 20 + number) for number in range(1, 10))
    drawing = chart(usb(), many)
    discs = [named(drawing, str(20 + number)) for number in range(1, 10)]
    assert not any(one.covers(other) for one, other in combinations(discs, 2))
    assert "reports at" not in drawing.words
    assert drawing.paper.bottom <= chart(usb(), few).paper.bottom


def test_a_section_told_from_the_other_end_counts_its_metres_from_there() -> None:
    document = replace(usb(), sections=(Section("cable", "DEVICE", "HOST", 1.8),))
    drawing = chart(document, (ReportCount("cable", 0.2, 5),))
    zero, end = middle(named(drawing, "0"))[0], middle(named(drawing, "1.8"))[0]
    assert end < zero
    assert abs(named(drawing, "5").left - 3 - (zero + (end - zero) * 0.2 / 1.8)) < 1


def test_contacts_on_no_rail_are_listed() -> None:
    document = replace(usb(), nets=usb().nets[:-1])
    drawing = chart(document)
    heading = named(drawing, "Contacts on no rail: not connected, or not read")
    below = [node.words for node in drawing.texts if "contact" in node.classes and node.top > heading.top]
    assert below == ["1", "1"]


def test_what_no_rail_carries_is_told_in_words() -> None:
    words = chart(split_cable()).words
    assert "core spare YE copper in main: on no rail" in words


def test_a_rail_forks_where_the_cable_does() -> None:
    drawing = chart(split_cable())
    ground = drawing.of_class("net-1")
    tags = {
        node.words: middle(node)[1]
        for node in drawing.texts
        if node.words in ("POWER", "SIGNAL") and node.attributes.get("fillcolor")
    }
    bars = [node for node in ground if node.right - node.left < 2 and node.bottom - node.top > 10 and not node.words]
    assert len(tags) == 2
    assert any(bar.top < min(tags.values()) + 15 and bar.bottom > bar.top + 14 for bar in bars)


def test_a_lone_end_and_a_cable_without_sections_are_drawn() -> None:
    rows = (("1", "2"),)
    lone = MapDocument(CABLE, (End("A", "custom", Form.LOOSE, rows),), nets=(Net("loop", ("A:1", "A:2")),))
    assert "loose cores, no connector, 2 contacts" in chart(lone).words
    three = tuple(End(name, "custom", Form.PLUG, rows) for name in "ABC")
    bare = MapDocument(CABLE, three, nets=(Net("N", ("A:1", "B:1", "C:1")),))
    assert chart(bare).words.count("section not described") == 3


def test_a_path_from_an_end_to_itself_is_not_drawn_as_a_conductor() -> None:
    end = End("A", "custom", Form.PLUG, (("1", "2"),))
    for via, words in ((Via.CHIP, "chip"), (Via.UNKNOWN, "?"), (Via.FIBRE, "fibre")):
        document = MapDocument(CABLE, (end,), paths=(Path("P", via, "A:1", "A:2", Basis.GUESSED),))
        assert words in chart(document).words


def test_a_path_that_turns_back_at_a_module_goes_through_the_chip_in_it() -> None:
    document = replace(split_cable(), paths=(Path("P", Via.CHIP, "POWER:1", "SIGNAL:2"),), nets=())
    document = replace(document, modules=(*document.modules, Module("BLOCK")), splits=(), cores=())
    at_block = (("main", "TOOL", "BLOCK"), ("power tail", "BLOCK", "POWER"), ("signal tail", "BLOCK", "SIGNAL"))
    document = replace(document, sections=tuple(Section(*places, 1.0) for places in at_block))
    drawing = chart(document)
    label, chip = named(drawing, "BLOCK"), min(drawing.texts, key=lambda node: (node.words != "chip", node.top))
    band = next(node for node in drawing.nodes if not node.words and node.covers(label))
    assert band.left < middle(chip)[0] < band.right


def test_a_conductor_that_ends_without_a_contact_ends_in_a_ring() -> None:
    document = replace(usb(), nets=(Net("VBUS", ("HOST:1",), Role.POWER, 5.0),))
    assert "ends here" in chart(document).words
    assert "ends here" not in chart(usb()).words


def test_every_core_of_a_net_has_a_line_of_its_own() -> None:
    cores = (*usb().cores, Core("c9", "cable", CoreKind.COPPER, ("RD", "BK"), 24, carries="VBUS"))
    drawing = chart(replace(usb(), cores=cores))
    first, second = named(drawing, "c1 RD copper AWG 24"), named(drawing, "c9 RDBK copper AWG 24")
    assert second.top - first.top == 15


def test_marks_beside_a_parallel_section_show_only_on_its_own_lines() -> None:
    drawing = chart(split_cable())
    relief = [node for node in drawing.nodes if node.attributes.get("fillcolor", "").startswith("#7d8a96")]
    power = [middle(node)[1] for node in drawing.texts if node.words == "POWER" and node.attributes.get("fillcolor")]
    assert relief
    assert not any(node.top < y < node.bottom for node in relief for y in power)


def test_the_same_map_gives_the_same_bytes_in_every_process() -> None:
    script = (
        "from tests.drawing.documents import *; from catalogue.tables import reference\n"
        "from catalogue.drawing.rail import rail_chart; from catalogue.drawing.face import face_chart\n"
        "print(rail_chart(split_cable(), reference(), TITLE) + face_chart(split_cable(), reference(), TITLE))"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "77")
    }
    assert len(runs) == 1


def test_damage_and_strain_relief_look_different_without_colour() -> None:
    marks = (Mark(MarkKind.CUT, "cable", 0.4), Mark(MarkKind.STRAIN_RELIEF, "cable", 1.0))
    drawing = chart(replace(usb(), marks=marks))
    assert {line.attributes.get("style") for line in drawing.lines if line.attributes["color"] == "#5a5a5a"} >= {
        "dashed",
        "dotted",
    }
