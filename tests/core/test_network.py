"""The network of resistors behind resistances, with networkx's resistance distance as referee."""

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.network import conductances, network_within, resistances

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
    lower, upper = shown / (1 + error), shown / (1 - error)
    found = network_within(lower, upper)
    assert found is not None
    read = resistances(found)
    apart = ~np.eye(terminals, dtype=bool)
    assert (found >= 0).all()
    assert (read[apart] >= lower[apart] * (1 - 2e-6)).all()
    assert (read[apart] <= upper[apart] * (1 + 2e-6)).all()


RING = 1000.0 * np.array([[0, 1, 2, 1], [1, 0, 1, 2], [2, 1, 0, 1], [1, 2, 1, 0]])


def test_distances_round_a_square_are_those_of_no_resistors():
    """They keep every triangle, but are squares of the sides and diagonals of a square, whose right angles
    would need conductances without limit.
    """
    assert network_within(RING * 0.99, RING * 1.01) is None


def test_the_same_with_room_enough_is_a_ring_of_four_resistors():
    """Four of 1600 Ω have 1200 Ω over one and 1600 Ω over two: 20 % from 1000 and from 2000."""
    assert network_within(RING * 0.79, RING * 1.21) is not None


def test_a_value_below_what_the_others_leave_fits_nothing():
    """Three of 100 Ω in a row have 300 Ω between their ends, and nothing put across makes only that 250."""
    chain = 100.0 * np.abs(np.subtract.outer(range(4), range(4)))
    assert network_within(chain, chain) is not None
    chain[0, 3] = chain[3, 0] = 250.0
    assert network_within(chain * 0.99, chain * 1.01) is None


def test_resistances_of_nothing_known_from_below_still_fit():
    upper = np.full((4, 4), 1e6)
    assert network_within(np.zeros((4, 4)), upper) is not None
