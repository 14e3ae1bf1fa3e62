"""The network of resistors behind resistances, with networkx's resistance distance as referee."""

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.network import Network, conductances, resistance_distances, resistances

SEEDS = st.integers(0, 2**32 - 1)


def random_network(seed, hidden=0):
    """A connected networkx graph of 3 to 12 terminals and some hidden nodes, resistors of 10 Ω to 1 MΩ."""
    rng = np.random.default_rng(seed)
    terminals = int(rng.integers(3, 13))
    nodes = terminals + (int(rng.integers(1, 4)) if hidden else 0)
    network = nx.random_labeled_tree(nodes, seed=seed % 1000)
    for _ in range(int(rng.integers(0, 2 * nodes))):
        one, other = rng.choice(nodes, 2, replace=False).tolist()
        network.add_edge(one, other)
    for _, _, link in network.edges(data=True):
        link["ohms"] = 10 ** rng.uniform(1, 6)
    return network, terminals


def referee(network, terminals):
    """Effective resistances between the first nodes, as networkx has them."""
    every = nx.resistance_distance(network, weight="ohms", invert_weight=True)
    return np.array([[every[one][other] for other in range(terminals)] for one in range(terminals)])


@given(SEEDS)
def test_resistances_are_those_of_networkx(seed):
    network, terminals = random_network(seed)
    conductance = 1 / nx.to_numpy_array(network, range(terminals), weight="ohms", nonedge=np.inf)
    assert resistances(conductance) == pytest.approx(referee(network, terminals), rel=1e-6, abs=1e-6)


@given(SEEDS)
def test_the_network_behind_resistances_is_recovered_exactly(seed):
    network, terminals = random_network(seed)
    truth = 1 / nx.to_numpy_array(network, range(terminals), weight="ohms", nonedge=np.inf)
    recovered = conductances(referee(network, terminals))
    assert recovered == pytest.approx(truth, rel=1e-3, abs=1e-6 * truth.max())


@given(SEEDS)
def test_hidden_nodes_leave_a_network_that_has_no_negative_conductance(seed):
    network, terminals = random_network(seed, hidden=1)
    recovered = conductances(referee(network, terminals))
    assert recovered.min() >= -1e-6 * recovered.max()


@settings(max_examples=30)
@given(SEEDS, st.floats(1e-4, 0.05))
def test_what_a_true_network_reads_within_the_meter_s_error_always_fits_one(seed, error):
    network, terminals = random_network(seed, hidden=1)
    truth = referee(network, terminals)
    off = np.triu(np.random.default_rng(seed).uniform(1 - error, 1 + error, truth.shape), 1)
    shown = truth * (off + off.T)
    assert Network(shown / (1 + error), shown / (1 - error)).fits()


@settings(max_examples=30)
@given(SEEDS, st.floats(1e-3, 0.03))
def test_the_resistors_told_read_within_all_bounds(seed, error):
    network, terminals = random_network(seed)
    if terminals > 6:
        return
    truth = referee(network, terminals)
    lower, upper = truth / (1 + error), truth / (1 - error)
    found = Network(lower, upper).spans()
    assert isinstance(found, dict)
    read = resistance_distances(terminals, [(*pair, span.ohms) for pair, span in found.items()])
    apart = ~np.eye(terminals, dtype=bool)
    assert (read[apart] >= lower[apart] * (1 - 1e-5)).all()
    assert (read[apart] <= upper[apart] * (1 + 1e-5)).all()
    assert all(span.least_ohms <= span.ohms <= span.most_ohms for span in found.values())


RING = 1000.0 * np.array([[0, 1, 2, 1], [1, 0, 1, 2], [2, 1, 0, 1], [1, 2, 1, 0]])


def test_distances_round_a_square_are_those_of_no_resistors():
    """They keep every triangle, but are squares of the sides and diagonals of a square, whose right angles
    would need conductances without limit.
    """
    assert not Network(RING * 0.99, RING * 1.01).fits()


def test_the_same_with_room_enough_is_a_ring_of_four_resistors():
    """Four of 1600 Ω have 1200 Ω over one and 1600 Ω over two: 20 % from 1000 and from 2000."""
    assert Network(RING * 0.79, RING * 1.21).fits()


def test_a_value_below_what_the_others_leave_fits_nothing():
    """Three of 100 Ω in a row have 300 Ω between their ends, and nothing put across makes only that 250."""
    chain = 100.0 * np.abs(np.subtract.outer(range(4), range(4)))
    assert Network(chain * 0.999, chain * 1.001).fits()
    chain[0, 3] = chain[3, 0] = 250.0
    assert not Network(chain * 0.99, chain * 1.01).fits()


def test_resistors_that_the_middles_of_the_bounds_would_have_below_nothing_are_found():
    """The middles of these bounds are those of a network with a negative resistor. From there a fit that starts
    with none at all does not find back to the true one.
    """
    rng = np.random.default_rng(5)
    for _ in range(200):
        size = int(rng.integers(4, 7))
        links = [(i, j, 10 ** rng.uniform(2.3, 5.3)) for i in range(size) for j in range(i) if rng.random() < 0.7]
        truth = resistance_distances(size, links) if links else np.full((2, 2), np.inf)
        if np.isfinite(truth).all():
            shown = truth * (1 + 0.03 * np.triu(rng.uniform(-1, 1, truth.shape), 1))
            shown = np.triu(shown, 1) + np.triu(shown, 1).T
            assert Network(shown / 1.0301, shown / 0.9699).fits()
