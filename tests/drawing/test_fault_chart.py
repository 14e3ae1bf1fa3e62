"""What a repairer reads off the fault chart of one specimen."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.diagnosis.states import Rail, State
from catalogue.core.document import MapDocument, Role, Via
from catalogue.core.location.locate import INTERVAL, break_posterior
from catalogue.core.location.observations import Flexing, Observation
from catalogue.core.location.prior import Prior
from catalogue.core.location.ways import ways_of
from catalogue.core.words import word
from catalogue.drawing.density import Break
from catalogue.drawing.fault import fault_chart
from catalogue.drawing.render import Format, render
from catalogue.drawing.symbols import LESS_LIKELY, LIKELY, SIGN_OF_STATE
from catalogue.tables import reference
from tests.drawing.documents import TITLE, documents, nasty_texts, reports, split_cable, straight, usb
from tests.drawing.reading_dot import Drawing, read_dot, svg_texts
from tests.drawing.test_layout import off_the_page, overlapping
from tests.drawing.test_rail_chart import middle, named

KINK_M = 1.2


def read(document: MapDocument, **states: State) -> list[Rail]:
    """All rails sound, but for those named; names are keys with letters only."""
    nets = [Rail(net.name, net.role, None, net.contacts, states.get(net.name, State.SOUND)) for net in document.nets]
    paths = [
        Rail(path.name, Role.UNKNOWN, path.via, (path.start, path.finish), State.NOT_READABLE)
        for path in document.paths
    ]
    return [*nets, *paths]


def located(document: MapDocument, *observations: Observation, open_next_m: float | None = None, way: int = 0) -> Break:
    found_way = ways_of(document)[way]
    found = break_posterior(observations, Prior(found_way.length_m))
    assert found is not None
    return Break(found_way, found, found.densest_stretches(INTERVAL), open_next_m)


def chart(document: MapDocument, rails: list[Rail], where: Break | None = None) -> Drawing:
    return read_dot(fault_chart(document, reference(), TITLE, rails, where))


def bars(drawing: Drawing) -> list[tuple[float, float, str]]:
    """From x to x, and the fill of each bar of the density."""
    return [
        (node.left, node.right, node.attributes["fillcolor"])
        for node in drawing.nodes
        if node.attributes.get("fillcolor") in (LIKELY, LESS_LIKELY) and node.bottom < 130
    ]


@pytest.mark.parametrize("state", State)
def test_every_state_is_told_in_words_beside_its_rail_and_explained_in_the_legend(state: State) -> None:
    document = usb()
    plain = read(document, VBUS=State.SOUND)
    drawing = chart(document, [replace(rail, state=state) if rail.name == "GND" else rail for rail in plain])
    row = next(node for node in drawing.texts if node.words == "GND")
    told = [node for node in drawing.texts if node.words == word(state) and abs(node.top - row.top) < 2]
    assert told
    assert SIGN_OF_STATE[state] in drawing.words


def test_no_two_states_are_drawn_alike() -> None:
    document = usb()
    drawn = set()
    for state in State:
        rails = [replace(rail, state=state) for rail in read(document)]
        dot = fault_chart(document, reference(), TITLE, rails)
        for shown in State:
            dot = dot.replace(word(shown), "")
        drawn.add(dot)
    assert len(drawn) == len(State)


def test_what_it_is_shorted_to_and_that_it_comes_and_goes_is_told() -> None:
    rails = read(usb(), VBUS=State.SHORTED)
    rails = [replace(rail, others=("GND",)) if rail.name == "VBUS" else rail for rail in rails]
    rails = [replace(rail, intermittent=True) if rail.name == "GND" else rail for rail in rails]
    words = chart(usb(), rails).words
    assert "shorted to GND" in words
    assert "sound, comes and goes" in words


def test_the_title_tells_that_it_is_a_fault_chart_with_the_date_of_the_revision() -> None:
    words = chart(usb(), read(usb())).words
    assert "Fault chart · map revision 3 · 2024-05-01 · lengths to scale 1:15" in words


def test_the_cross_stands_at_the_likeliest_place_on_dead_rails_only() -> None:
    where = located(usb(), Flexing(KINK_M, 0.05))
    drawing = chart(usb(), read(usb(), GND=State.OPEN), where)
    zero, end = middle(named(drawing, "0"))[0], middle(named(drawing, "1.8"))[0]
    at = zero + (end - zero) * where.found.likeliest_m / 1.8
    crosses = [line for line in drawing.lines if line.attributes["color"] == "#b3001b" and line.points[0][0] > zero]
    assert len({round(line.points[0][1]) for line in crosses}) == 2, "one on the rail, one in the legend"
    assert any(abs(sum(x for x, _ in line.points) / len(line.points) - at) < 0.5 for line in crosses)
    assert f"open, likeliest at {where.found.likeliest_m:.2f} m" in drawing.words


def test_the_density_is_dark_where_nine_chances_of_ten_are() -> None:
    where = located(usb(), Flexing(KINK_M, 0.05))
    drawing = chart(usb(), read(usb(), GND=State.OPEN), where)
    zero, end = middle(named(drawing, "0"))[0], middle(named(drawing, "1.8"))[0]
    ((start_m, finish_m),) = where.stretches_m
    dark = [bar for bar in bars(drawing) if bar[2] == LIKELY]
    part = (end - zero) * 0.01
    assert abs(min(bar[0] for bar in dark) - (zero + (end - zero) * start_m / 1.8)) < 2.6 + part
    assert abs(max(bar[1] for bar in dark) - (zero + (end - zero) * finish_m / 1.8)) < 2.6 + part
    assert any(words.startswith("90 % from 1.") for words in drawing.words)
    assert any(bar[2] == LESS_LIKELY for bar in bars(drawing))


def test_a_break_on_a_way_of_several_sections_stands_on_each_axis_that_it_may_be_on() -> None:
    document = split_cable()
    where = located(document)
    drawing = chart(document, read(document, **{"+12": State.OPEN}), where)
    assert len(where.way.legs) == 3
    assert any(words.startswith("90 % from main 0.") for words in drawing.words)


def test_where_to_open_next_is_told_only_when_it_is_time() -> None:
    rails = read(usb(), GND=State.OPEN)
    assert not any("open next" in words for words in chart(usb(), rails, located(usb())).words)
    words = chart(usb(), rails, located(usb(), open_next_m=KINK_M)).words
    assert "open next at 1.20 m" in words
    assert "open the jacket here next" in words


def test_a_rail_chart_knows_no_states() -> None:
    words = chart(usb(), []).words
    assert "sound by the readings" not in words


def test_the_same_specimen_gives_the_same_bytes_and_every_format() -> None:
    document = split_cable()
    rails = read(document, VIDEO=State.OPEN)
    dots = {fault_chart(document, reference(), TITLE, rails, located(document, Flexing(1.0, 0.1))) for _ in range(2)}
    assert len(dots) == 1
    dot = dots.pop()
    starts = {Format.SVG: b"<?xml", Format.PNG: b"\x89PNG", Format.PDF: b"%PDF", Format.DOT: b"digraph"}
    for form, start in starts.items():
        assert render(dot, form).startswith(start)
    assert any(words.startswith("Fault chart") for words in svg_texts(render(dot, Format.SVG)))


@st.composite
def specimens(draw: st.DrawFn, document: MapDocument) -> tuple[list[Rail], Break | None]:
    """Any state of any rail, and a break on any way that was measured."""
    every = [(net.name, net.role, None) for net in document.nets]
    every += [(path.name, Role.UNKNOWN, path.via) for path in document.paths]
    others = st.lists(st.sampled_from([name for name, _, _ in every] or ["X"]), max_size=4)
    rails = [
        Rail(name, role, via, (), draw(st.sampled_from(State)), tuple(draw(others)), intermittent=draw(st.booleans()))
        for name, role, via in every
    ]
    ways = ways_of(document)
    if not ways or draw(st.booleans()):
        return rails, None
    number = draw(st.integers(0, len(ways) - 1))
    length_m = ways[number].length_m
    observations = [Flexing(draw(st.floats(0, 1)) * length_m, 0.1)] if draw(st.booleans()) else []
    open_next_m = draw(st.one_of(st.none(), st.floats(0, 1).map(lambda share: share * length_m)))
    return rails, located(document, *observations, open_next_m=open_next_m, way=number)


@settings(max_examples=40)
@given(data=st.data())
def test_a_fault_chart_is_legible_whatever_the_specimen(data: st.DataObject) -> None:
    document = replace(data.draw(documents()), faults=())
    rails, where = data.draw(specimens(document))
    dot = fault_chart(document, reference(), TITLE, rails, where, data.draw(reports(document)))
    drawing = read_dot(dot)
    assert overlapping(drawing) == []
    assert off_the_page(drawing) == []


@settings(max_examples=20)
@given(data=st.data())
def test_whatever_people_write_stays_text(data: st.DataObject) -> None:
    document = replace(data.draw(documents(nasty_texts())), faults=())
    rails, where = data.draw(specimens(document))
    drawing = read_dot(fault_chart(document, reference(), TITLE, rails, where))
    assert not {"URL", "href", "image", "shapefile", "fontpath", "imagepath", "stylesheet"} & drawing.attribute_names


def test_two_hundred_contacts_are_drawn() -> None:
    document = straight(200)
    rails = read(document, S7=State.OPEN)
    assert overlapping(chart(document, rails, located(document, Flexing(1.0, 0.1)))) == []


def test_paths_and_nets_of_one_name_keep_their_own_states() -> None:
    document = split_cable()
    path = replace(document.paths[0], name="GND")
    document = replace(document, paths=(path,))
    rails = [*read(replace(document, paths=())), Rail("GND", Role.UNKNOWN, Via.FIBRE, (), State.NOT_READABLE)]
    words = chart(document, rails).words
    assert words.count("not readable at direct current") == 2, "beside the path, and in the legend"
