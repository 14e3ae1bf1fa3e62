"""The places of a cable laid on a line, held against networkx and against trying everything."""

from __future__ import annotations

from itertools import combinations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.document import End, MapDocument, Module, Section
from catalogue.drawing.header import in_lanes
from catalogue.drawing.places import LEAST, POINTS_PER_METRE, Plan, lay_out
from catalogue.drawing.tree import Side, arrange
from tests.drawing.documents import CABLE, documents

BAND = 40.0
EXAMPLES = 40
"""Whole documents are slow to draw by chance; as many as a few seconds allow."""


def cable(ends: str, *sections: tuple[str, str, float | None], splits: str = "", modules: str = "") -> MapDocument:
    """A cable whose places have one letter each; sections are named by their two places."""
    return MapDocument(
        CABLE,
        tuple(End(name, "custom") for name in ends),
        tuple(Module(name) for name in modules),
        tuple(splits),
        tuple(Section(start + finish, start, finish, length_m) for start, finish, length_m in sections),
    )


def laid(document: MapDocument) -> Plan:
    tree = arrange(document, {})
    return lay_out(tree, 100.0, dict.fromkeys(document.place_names, BAND), {})


def graph_of(plan: Plan) -> nx.Graph:
    graph = nx.Graph()
    graph.add_nodes_from(plan.bands)
    for link in plan.tree.links:
        graph.add_edge(link.near, link.far)
    return graph


@settings(max_examples=EXAMPLES)
@given(document=documents())
def test_every_place_is_on_one_tree_whatever_the_sections(document: MapDocument) -> None:
    plan = laid(document)
    graph = graph_of(plan)
    assert nx.is_tree(graph)
    assert set(graph) >= set(document.place_names)
    assert len(plan.tree.links) == len(graph) - 1


@settings(max_examples=EXAMPLES)
@given(document=documents())
def test_the_trunk_is_the_longest_way_between_two_ends(document: MapDocument) -> None:
    known = [section.length_m for section in document.sections if section.length_m]
    usual = sum(known) / len(known) if known else 1.0
    plan = laid(document)
    graph = graph_of(plan)
    for link in plan.tree.links:
        graph.edges[link.near, link.far]["metres"] = link.section.length_m or usual
    between = dict(nx.all_pairs_dijkstra_path_length(graph, weight="metres"))
    trunk = plan.tree.trunk
    ends = [end.name for end in document.ends]
    longest = max((between[a][b] for a, b in combinations(ends, 2)), default=None)
    if longest is not None:
        assert between[trunk[0]][trunk[-1]] == pytest.approx(longest, abs=1e-5)
        assert ends.index(trunk[0]) < ends.index(trunk[-1])


@settings(max_examples=EXAMPLES)
@given(document=documents(), data=st.data())
def test_the_way_between_places_is_every_section_that_parts_them(document: MapDocument, data: st.DataObject) -> None:
    plan = laid(document)
    places = frozenset(data.draw(st.lists(st.sampled_from(sorted(plan.bands)), min_size=1, max_size=4)))
    graph = graph_of(plan)
    needed = []
    for number, link in enumerate(plan.tree.links):
        cut = graph.copy()
        cut.remove_edge(link.near, link.far)
        if any(not nx.has_path(cut, a, b) for a, b in combinations(places, 2)):
            needed.append(number)
    assert plan.tree.way(places) == needed


@settings(max_examples=EXAMPLES)
@given(document=documents())
def test_sections_are_long_enough_and_do_not_run_into_each_other(document: MapDocument) -> None:
    plan = laid(document)
    for track in plan.tracks:
        assert track.x1 - track.x0 >= LEAST - 1e-6
        assert plan.bands[track.link.left].x1 == pytest.approx(track.x0)
        assert plan.bands[track.link.right].x0 == pytest.approx(track.x1)
        assert plan.x0 - 1e-6 <= track.x0
        assert track.x1 <= plan.x1 + 1e-6
    for a, b in combinations(plan.tracks, 2):
        assert a.level != b.level or a.x1 <= b.x0 + 1e-6 or b.x1 <= a.x0 + 1e-6


@settings(max_examples=EXAMPLES)
@given(document=documents())
def test_ends_at_a_side_end_at_that_side(document: MapDocument) -> None:
    plan = laid(document)
    assert all(plan.bands[end].x1 == plan.x0 for end in plan.tree.left)
    assert all(plan.bands[end].x0 == pytest.approx(plan.x1) for end in plan.tree.right)


def test_tails_hang_to_the_side_that_they_are_nearer_to() -> None:
    document = cable("ABCD", ("A", "s", 1), ("B", "s", 0.5), ("s", "t", 4), ("t", "C", 1), ("t", "D", 0.7), splits="st")
    plan = laid(document)
    assert plan.tree.trunk == ("A", "s", "t", "C")
    assert plan.tree.left == ("A", "B")
    assert plan.tree.right == ("C", "D")
    assert [link.side for link in plan.tree.links if link.far == "B"] == [Side.LEFT]


def test_an_end_between_two_sections_stands_in_the_line() -> None:
    plan = laid(cable("ABC", ("A", "B", 0.3), ("B", "C", 0.2)))
    assert plan.tree.trunk == ("A", "B", "C")
    assert plan.bands["B"].x1 - plan.bands["B"].x0 == BAND
    assert "B" not in (*plan.tree.left, *plan.tree.right)


def test_islands_meet_at_the_split_or_module_that_is_there() -> None:
    plan = laid(cable("AB", modules="m"))
    assert plan.tree.trunk == ("A", "m", "B")
    assert all(link.section.name == "" for link in plan.tree.links)


def test_sections_that_close_a_loop_are_left_out_and_named() -> None:
    tree = arrange(cable("ABC", ("A", "B", 1), ("B", "C", 1), ("C", "A", 1)), {})
    assert tree.left_out == ("CA",)


def test_between_equal_ways_the_one_with_more_contacts_is_trunk() -> None:
    document = cable("ABC", ("A", "s", 1), ("B", "s", 1), ("C", "s", 1), splits="s")
    assert arrange(document, {"A": 4, "B": 4, "C": 9}).trunk == ("A", "s", "C")
    assert arrange(document, {}).trunk == ("A", "s", "B")


def test_a_cable_without_an_end_is_refused() -> None:
    with pytest.raises(ValueError, match="without an end"):
        arrange(cable("", modules="m"), {})


def test_a_drawing_is_to_scale_when_every_section_is() -> None:
    plan = laid(cable("AB", ("A", "m", 0.5), ("m", "B", 1.0), modules="m"))
    assert plan.scale is not None
    for track in plan.tracks:
        assert track.x1 - track.x0 == pytest.approx((track.length_m or 0) * POINTS_PER_METRE / plan.scale)
    assert laid(cable("AB", ("A", "m", 0.01), ("m", "B", 50.0), modules="m")).scale is None
    assert laid(cable("AB", ("A", "m", None), ("m", "B", 1.0), modules="m")).scale is None


def test_a_very_long_chain_beside_the_trunk_is_laid_out_too() -> None:
    places = [f"m{number}" for number in range(1200)]
    modules = tuple(Module(place) for place in places)
    chain = tuple(
        Section(f"s{number}", start, finish, 1.0)
        for number, (start, finish) in enumerate(zip(["A", *places], places, strict=False))
    )
    document = MapDocument(
        CABLE, (End("A", "custom"), End("B", "custom")), modules, (), (*chain, Section("t", "A", "B"))
    )
    assert len(laid(document).tracks) == 1201


@given(
    spans=st.lists(
        st.tuples(st.integers(0, 300), st.integers(1, 120)).map(lambda span: (float(span[0]), float(sum(span)))),
        max_size=12,
    )
)
def test_no_leader_of_a_flag_runs_through_the_words_of_another(spans: list[tuple[float, float]]) -> None:
    lanes = in_lanes(spans)
    for (a, lane_a), (b, lane_b) in combinations(zip(spans, lanes, strict=True), 2):
        if lane_a == lane_b:
            assert a[1] <= b[0] or b[1] <= a[0]
        else:
            upper, lower = (a, b) if lane_a > lane_b else (b, a)
            assert not lower[0] < upper[0] < lower[1]
