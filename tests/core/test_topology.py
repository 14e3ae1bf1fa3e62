"""Places and sections as a tree, with networkx as referee for ways, loops and islands."""

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import CableName, End, MapDocument, Module, Section
from catalogue.core.topology import Spot, Stretch, topology


def cable(*sections: Section, splits=("Y",)) -> MapDocument:
    """Ends A, B and C, a module POD and a split Y, joined by these sections."""
    ends = tuple(End(name, "custom", rows=(("1",),)) for name in "ABC")
    return MapDocument(CableName("Corvane (invented)", "T"), ends, (Module("POD"),), splits, sections)


TREE = cable(
    Section("a", "A", "POD", 0.4),
    Section("trunk", "POD", "Y", 3.0),
    Section("b", "B", "Y", 0.5),
    Section("c", "Y", "C"),
)


def lengths(document, one, other):
    return topology(document).stretches(one, other)


def test_the_way_between_two_ends_names_each_section_with_its_length_in_order():
    assert lengths(TREE, "A", "B") == (Stretch("a", 0.4), Stretch("trunk", 3.0), Stretch("b", 0.5))
    assert lengths(TREE, "B", "A") == (Stretch("b", 0.5), Stretch("trunk", 3.0), Stretch("a", 0.4))


def test_a_section_that_nobody_measured_has_no_length():
    assert lengths(TREE, "Y", "C") == (Stretch("c", None),)


def test_a_place_is_no_way_from_itself():
    assert lengths(TREE, "A", "A") == ()


def test_a_spot_in_a_section_counts_from_where_the_section_starts():
    assert lengths(TREE, Spot("trunk", 1.0), "A") == (Stretch("trunk", 1.0), Stretch("a", 0.4))
    assert lengths(TREE, Spot("trunk", 1.0), "B") == (Stretch("trunk", 2.0), Stretch("b", 0.5))
    assert lengths(TREE, "B", Spot("trunk", 1.0)) == (Stretch("b", 0.5), Stretch("trunk", 2.0))


def test_two_spots_of_one_section_are_as_far_as_their_places():
    assert lengths(TREE, Spot("trunk", 2.5), Spot("trunk", 1.0)) == (Stretch("trunk", 1.5),)


def test_two_spots_of_different_sections_have_all_between_them():
    way = lengths(TREE, Spot("a", 0.1), Spot("b", 0.2))
    assert way == (Stretch("a", pytest.approx(0.3)), Stretch("trunk", 3.0), Stretch("b", pytest.approx(0.3)))


def test_beyond_a_spot_in_an_unmeasured_section_the_length_is_unknown():
    assert lengths(TREE, Spot("c", 1.0), "C") == (Stretch("c", None),)
    assert lengths(TREE, Spot("c", 1.0), "Y") == (Stretch("c", 1.0),)


@pytest.mark.parametrize("nowhere", ["Z", Spot("z", 1.0)])
def test_there_is_no_way_to_what_is_not_declared(nowhere):
    assert lengths(TREE, "A", nowhere) is None
    assert lengths(TREE, nowhere, "A") is None


def test_the_section_that_closes_a_loop_is_named_by_its_place_in_the_list():
    looped = cable(*TREE.sections, Section("again", "A", "B", 1.0), Section("ring", "C", "C", 1.0))
    assert topology(looped).loops == (4, 5)


def test_sections_to_places_that_are_not_declared_are_left_out():
    found = topology(cable(*TREE.sections, Section("stray", "A", "Z", 1.0)))
    assert "stray" not in found.sections
    assert found.islands == (("A", "B", "C", "POD", "Y"),)


def test_places_that_do_not_connect_are_islands_in_the_order_of_the_document():
    found = topology(cable(TREE.sections[0], TREE.sections[2]))
    assert found.islands == (("A", "POD"), ("B", "Y"), ("C",))
    assert found.stretches("A", "B") is None


PLACES = ("A", "B", "C", "POD", "Y")
LINKS = st.lists(st.tuples(st.sampled_from(PLACES), st.sampled_from(PLACES)), max_size=7)


@given(LINKS)
def test_ways_loops_and_islands_are_those_of_networkx(links):
    sections = [Section(f"s{index}", a, b, float(index + 1)) for index, (a, b) in enumerate(links)]
    found = topology(cable(*sections))
    forest = nx.Graph([(section.start, section.finish, {"section": section}) for section in found.sections.values()])
    forest.add_nodes_from(PLACES)
    every = nx.Graph(links)
    every.add_nodes_from(PLACES)
    assert nx.is_forest(forest)
    assert len(found.sections) + len(found.loops) == len(links)
    assert set(map(frozenset, found.islands)) == set(map(frozenset, nx.connected_components(every)))
    for one in PLACES:
        for other in PLACES:
            way = found.stretches(one, other)
            assert (way is not None) == nx.has_path(forest, one, other)
            if way is not None:
                nodes = nx.shortest_path(forest, one, other)
                assert [stretch.section for stretch in way] == [
                    forest.edges[edge]["section"].name for edge in nx.utils.pairwise(nodes)
                ]
