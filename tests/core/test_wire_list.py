"""The wire list: which contacts each conductor runs between, along which sections."""

import networkx
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import (
    CableName,
    Core,
    CoreKind,
    End,
    MapDocument,
    Module,
    Net,
    Path,
    Role,
    Section,
    Via,
)
from catalogue.core.wire_list import Side, WireRow, wire_list

ENDS = (End("A", "usb2-a"), End("B", "usb2-b"))
TAIL, MAIN = Section("tail", "A", "POD", 0.1), Section("main", "POD", "B", 0.2)


def cable(**parts: object) -> MapDocument:
    """Two ends with a module between, and whatever else is given."""
    return MapDocument(CableName("m", "c"), ENDS, modules=(Module("POD"),), sections=(TAIL, MAIN), **parts)


def test_a_core_runs_from_place_to_place_of_its_section():
    whole = Section("whole", "A", "B", 1.8)
    core = Core("k1", "whole", CoreKind.COPPER, ("RD",), awg=28.0, carries="VBUS")
    net = Net("VBUS", ("A:1", "B:1", "B:2"), Role.POWER)
    document = MapDocument(CableName("m", "c"), ENDS, sections=(whole,), cores=(core,), nets=(net,))
    expected = WireRow("VBUS", "power", Side("A", ("A:1",)), Side("B", ("B:1", "B:2")), ("whole",), 1.8, core)
    assert wire_list(document) == (expected,)


def test_a_net_without_cores_runs_along_the_sections_between_its_ends():
    document = cable(nets=(Net("GND", ("B:4", "A:4"), Role.GROUND),))
    assert wire_list(document) == (
        WireRow("GND", "ground", Side("B", ("B:4",)), Side("A", ("A:4",)), ("main", "tail"), 0.3),
    )


def test_contacts_that_no_core_reaches_are_joined_to_the_cores():
    core = Core("k1", "main", carries="GND")
    document = cable(cores=(core,), nets=(Net("GND", ("A:4", "B:4"), Role.GROUND),))
    assert wire_list(document) == (
        WireRow("GND", "ground", Side("POD"), Side("B", ("B:4",)), ("main",), 0.2, core),
        WireRow("GND", "ground", Side("POD"), Side("A", ("A:4",)), ("tail",), 0.1),
    )


def test_the_length_is_not_known_when_one_section_was_not_measured():
    sections = (TAIL, Section("main", "POD", "B"))
    document = MapDocument(CableName("m", "c"), ENDS, sections=sections, nets=(Net("GND", ("A:4", "B:4")),))
    (row,) = wire_list(document)
    assert (row.sections, row.length_m) == (("tail", "main"), None)


def test_contacts_joined_within_one_end_are_listed_there():
    rows = wire_list(cable(nets=(Net("DTR", ("A:4", "A:6", "A:1")),)))
    assert rows == (WireRow("DTR", "unknown", Side("A", ("A:4",)), Side("A", ("A:6", "A:1"))),)


def test_a_contact_joined_to_nothing_is_listed_without_a_finish():
    assert wire_list(cable(nets=(Net("ID", ("A:4",)),))) == (WireRow("ID", "unknown", Side("A", ("A:4",)), Side()),)


def test_a_path_says_what_it_goes_through():
    document = cable(paths=(Path("SYNC", Via.FIBRE, "A:1", "B:1"),))
    assert wire_list(document) == (
        WireRow("SYNC", "through fibre", Side("A", ("A:1",)), Side("B", ("B:1",)), ("tail", "main"), 0.3),
    )


def test_nets_come_before_paths_and_cores_of_unknown_purpose_last():
    document = cable(
        cores=(Core("spare", "main"), Core("k2", "main", carries="SYNC"), Core("k1", "main", carries="GND")),
        nets=(Net("GND", ("B:4",)),),
        paths=(Path("SYNC", Via.CHIP, "B:1", "B:2"),),
    )
    assert [row.carries for row in wire_list(document)] == ["GND", "SYNC", ""]


def test_names_that_are_declared_nowhere_give_empty_places():
    core = Core("k1", "nowhere", carries="GND")
    document = cable(cores=(core,), nets=(Net("GND", ("X:1", "Y:1")),))
    rows = wire_list(document)
    assert rows[0] == WireRow("GND", "unknown", Side(), Side(), ("nowhere",), None, core)
    assert [(row.finish, row.sections) for row in rows[1:]] == [
        (Side("X", ("X:1",)), ()),
        (Side("Y", ("Y:1",)), ()),
    ]


@st.composite
def trees(draw: st.DrawFn) -> MapDocument:
    """A cable whose sections form a tree over ends, with nets over them, some with cores in some sections."""
    count = draw(st.integers(2, 7))
    ends = tuple(End(f"E{number}", "custom") for number in range(count))
    sections = tuple(
        Section(f"s{number}", f"E{draw(st.integers(0, number - 1))}", f"E{number}", number / 8)
        for number in range(1, count)
    )
    nets, cores = [], []
    for number in range(draw(st.integers(1, 3))):
        used = draw(st.lists(st.integers(0, count - 1), min_size=1, unique=True))
        nets.append(Net(f"n{number}", tuple(f"E{end}:{number}" for end in used)))
        for section in draw(st.lists(st.sampled_from(sections), max_size=2, unique=True)):
            cores.append(Core(f"k{len(cores)}", section.name, carries=f"n{number}"))
    return MapDocument(CableName("m", "c"), ends, sections=sections, nets=tuple(nets), cores=tuple(cores))


@given(trees())
def test_no_contact_and_no_core_is_left_out(document):
    rows = wire_list(document)
    for net in document.nets:
        listed = [
            contact
            for row in rows
            if row.carries == net.name
            for side in (row.start, row.finish)
            for contact in side.contacts
        ]
        assert set(listed) == set(net.contacts)
    assert sorted(row.core.name for row in rows if row.core) == sorted(core.name for core in document.cores)


@given(trees())
def test_a_row_follows_the_one_way_through_the_tree(document):
    """The referee is networkx: in a tree, the way between two places is its shortest path."""
    graph = networkx.Graph()
    for section in document.sections:
        graph.add_edge(section.start, section.finish, name=section.name, length_m=section.length_m)
    for row in wire_list(document):
        if row.finish.place:
            places = networkx.shortest_path(graph, row.start.place, row.finish.place)
            edges = [graph.edges[edge] for edge in networkx.utils.pairwise(places)]
            assert list(row.sections) == [edge["name"] for edge in edges]
            assert (row.length_m or 0) == sum(edge["length_m"] for edge in edges)
