"""The best order of looks: published trees, every tree of small rows by brute force, and halving by playing it."""

from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.search_tree import best_tree, halving_looks


@st.composite
def rows(draw, most=8):
    """Chances of places and gaps, many of them nothing, that sum to 1."""
    count = draw(st.integers(1, most))
    weights = draw(st.lists(st.integers(0, 20), min_size=2 * count + 1, max_size=2 * count + 1).filter(any))
    chances = np.array(weights) / sum(weights)
    return chances[:count], chances[count:]


def every_root(keys, gaps):
    """Least cost for each root, by trying all trees."""

    @lru_cache(None)
    def cost(first, last):
        if first == last:
            return gaps[first]
        return min(with_root(first, last, root) for root in range(first, last))

    def with_root(first, last, root):
        return cost(first, root) + cost(root + 1, last) + sum(keys[first:last]) + sum(gaps[first : last + 1])

    return [with_root(0, len(keys), root) for root in range(len(keys))]


def test_the_published_tree_of_cost_2_75_has_the_second_place_as_root():
    """UGC-NET September 2013 III-41, https://gateoverflow.in/59860; a root at the fourth place costs the same."""
    tree = best_tree(np.array([0.15, 0.10, 0.05, 0.10, 0.20]), np.array([0.05, 0.10, 0.05, 0.05, 0.05, 0.10]))
    assert tree.cost == pytest.approx(2.75, abs=1e-12)
    assert tree.roots == (1, 3)


def test_the_textbook_tree_of_cost_3_12_has_the_fifth_place_as_root():
    """Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms, exercise 15.5-2."""
    tree = best_tree(np.array([0.04, 0.06, 0.08, 0.02, 0.10, 0.12, 0.14]), np.array([0.06] * 4 + [0.05] * 4))
    assert tree.cost == pytest.approx(3.12, abs=1e-12)
    assert tree.roots == (4,)


@given(rows())
def test_no_tree_of_all_is_better(row):
    keys, gaps = row
    tree, costs = best_tree(keys, gaps), every_root(tuple(keys), tuple(gaps))
    assert tree.cost == pytest.approx(min(costs), abs=1e-12)
    assert tree.roots == tuple(root for root, cost in enumerate(costs) if cost <= min(costs) + 1e-12)
    assert tree.looks == pytest.approx(tree.cost - sum(gaps), abs=1e-12)


@given(rows(most=40))
def test_a_longer_row_costs_what_the_slow_way_finds(row):
    keys, gaps = row
    assert best_tree(keys, gaps).cost == pytest.approx(min(every_root(tuple(keys), tuple(gaps))), abs=1e-12)


def halved(keys, gaps, place):
    """Looks by halving when the thing is at item `place` of gap, key, gap, key and so on."""
    first, last, looks = 0, len(keys), 0
    while first < last:
        middle, looks = (first + last) // 2, looks + 1
        if place == 2 * middle + 1:
            break
        first, last = (middle + 1, last) if place > 2 * middle + 1 else (first, middle)
    return looks


@given(rows(most=20))
def test_halving_costs_what_playing_it_costs_and_never_less_than_the_best_tree(row):
    keys, gaps = row
    items = np.insert(gaps, range(1, len(gaps)), keys)
    until = np.cumsum(items)
    looks = halving_looks(until[:-1:2], until[1::2])
    played = sum(chance * halved(keys, gaps, place) for place, chance in enumerate(items))
    assert looks == pytest.approx(played, abs=1e-9)
    assert best_tree(keys, gaps).looks <= looks + 1e-9


@pytest.mark.parametrize(("keys", "gaps"), [([], [1.0]), ([1.0], [0.0]), ([0.5, 0.5], [0.0, 0.0])])
def test_a_row_without_places_or_with_gaps_missing_is_refused(keys, gaps):
    with pytest.raises(ValueError, match="gap"):
        best_tree(np.array(keys), np.array(gaps))
