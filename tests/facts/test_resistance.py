"""Resistance between the nodes of a network, by published values, Foster's theorem, networkx."""

from __future__ import annotations

import math
from itertools import combinations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given

from catalogue.core.bounds import bounds, violations
from catalogue.core.document import Meter
from catalogue.core.simulation import (
    BenchMeter,
    Link,
    Specimen,
    every_pair,
    mixed_acts,
    read,
    resistance_distances,
)
from tests.core import strategies

CUBE: list[Link] = [(n, n ^ bit, 1.0) for n in range(8) for bit in (1, 2, 4) if n < n ^ bit]
BRIDGE: list[Link] = [(0, 1, 100.0), (1, 3, 50.0), (0, 2, 200.0), (2, 3, 150.0), (1, 2, 40.0)]
BALANCED: list[Link] = [link if link[:2] != (2, 3) else (2, 3, 100.0) for link in BRIDGE]


@pytest.mark.parametrize(
    ("node", "ohms"),
    [(0b001, 7 / 12), (0b011, 3 / 4), (0b111, 5 / 6)],
    ids=["along an edge", "across a face", "through the body"],
)
def test_cube_of_twelve_one_ohm_edges(node: int, ohms: float):
    # cases: http://physicstasks.eu/uloha.php?uloha=285; values from memory, confirmed by exact solution
    assert resistance_distances(8, CUBE)[0, node] == pytest.approx(ohms)


@pytest.mark.parametrize("nodes", [2, 3, 4, 10])
def test_complete_network_of_one_ohm_has_two_nths_of_an_ohm_between_any_two(nodes: int):
    # triangle 2/3, four nodes 1/2, general 2/n: exact, by symmetry
    found = resistance_distances(nodes, [(a, b, 1.0) for a, b in combinations(range(nodes), 2)])
    assert found[np.triu_indices(nodes, 1)] == pytest.approx(2 / nodes)


def test_bridge_of_five_resistors():
    # exact solution of the bridge: 835/8 between the far corners, and these across each resistor
    found = resistance_distances(4, BRIDGE)
    assert found[0, 3] == pytest.approx(835 / 8)
    assert [found[a, b] for a, b, _ in BRIDGE] == pytest.approx([70, 39.375, 80, 54.375, 30])


@pytest.mark.parametrize("middle_ohms", [1.0, 40.0, 1e6])
def test_a_balanced_bridge_does_not_depend_on_its_middle(middle_ohms: float):
    links = [(a, b, middle_ohms if (a, b) == (1, 2) else ohms) for a, b, ohms in BALANCED]
    assert resistance_distances(4, links)[0, 3] == pytest.approx(100)


@pytest.mark.parametrize(("nodes", "links"), [(8, CUBE), (4, BRIDGE), (4, BALANCED)])
def test_foster_s_sum_is_one_less_than_the_nodes(nodes: int, links: list[Link]):
    # R. M. Foster, "The average impedance of an electrical network" (1949)
    found = resistance_distances(nodes, links)
    assert sum(found[a, b] / ohms for a, b, ohms in links) == pytest.approx(nodes - 1)


@given(strategies.networks())
def test_foster_s_sum_is_the_nodes_less_the_parts(network: tuple[int, list[Link]]):
    nodes, links = network
    graph = nx.Graph((a, b) for a, b, _ in links)
    graph.add_nodes_from(range(nodes))
    found = resistance_distances(nodes, links)
    expected = nodes - nx.number_connected_components(graph)
    assert sum(found[a, b] / ohms for a, b, ohms in links) == pytest.approx(expected, abs=1e-6)


@given(strategies.networks())
def test_resistances_are_those_of_networkx_and_infinite_between_parts(network: tuple[int, list[Link]]):
    nodes, links = network
    graph = nx.Graph()
    graph.add_nodes_from(range(nodes))
    for a, b, ohms in links:
        siemens = 1 / ohms + (1 / graph.edges[a, b]["ohms"] if graph.has_edge(a, b) else 0)
        graph.add_edge(a, b, ohms=1 / siemens)
    found = resistance_distances(nodes, links)
    for part in nx.connected_components(graph):
        whole = graph.subgraph(part)
        for a in part:
            for b in range(nodes):
                if b not in part:
                    assert found[a, b] == math.inf
                elif a != b:
                    referee = nx.resistance_distance(whole, a, b, weight="ohms", invert_weight=True)
                    assert found[a, b] == pytest.approx(referee, rel=1e-6, abs=1e-6)


@given(strategies.networks())
def test_resistance_is_a_metric(network: tuple[int, list[Link]]):
    # D. J. Klein, M. Randic, J. Math. Chem. 12 (1993) 81-95
    found = resistance_distances(*network)
    assert (np.diagonal(found) == 0).all()
    assert (found == found.T).all()
    way_round = (found[:, :, None] + found[None, :, :]).min(axis=1)
    assert (found <= way_round * (1 + 1e-9) + 1e-7).all()


@pytest.mark.parametrize("network", [(8, CUBE), (4, BRIDGE), (4, BALANCED)])
def test_a_network_read_without_error_is_recovered_from_bounds_as_tight_as_it_is(
    network: tuple[int, list[Link]],
):
    true = resistance_distances(*network)
    sample = Specimen(tuple(f"A:{n}" for n in range(network[0])), true)
    exact = Meter(0.0, 0.0, accuracy_pct=0.0, accuracy_digits=1.0)
    readings = read(sample, every_pair(sample.points), BenchMeter.of(exact, np.random.default_rng(1)))
    for bound in bounds(readings, exact):
        assert bound.lower <= sample.ohms(bound.a, bound.b) <= bound.upper
    assert violations(bounds(readings, exact)) == ()


@given(strategies.networks(), strategies.meters(), strategies.generators())
def test_the_readings_of_a_true_network_never_contradict(
    network: tuple[int, list[Link]], meter: Meter, rng: np.random.Generator
):
    sample = Specimen(tuple(f"A:{n}" for n in range(network[0])), resistance_distances(*network))
    acts = (*mixed_acts(sample.points, rng), *every_pair(sample.points), *every_pair(sample.points[::-1]))
    assert violations(bounds(read(sample, acts, BenchMeter.of(meter, rng)), meter)) == ()
