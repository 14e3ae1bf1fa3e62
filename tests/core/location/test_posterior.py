"""A density on cells that follow it, summed up: against scipy's distributions, and against counting."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from catalogue.core.location.posterior import Posterior, posterior


def normal(length_m, mean_m, deviation_m):
    return posterior(length_m, [], lambda at_m: -0.5 * ((at_m - mean_m) / deviation_m) ** 2)


@given(st.floats(0.05, 10_000), st.floats(0.0, 1.0), st.floats(-4.5, 0.5))
def test_a_peak_of_any_width_anywhere_is_found(length_m, place, width):
    mean_m, deviation_m = place * length_m, max(length_m * 10**width, 1e-4)
    found = normal(length_m, mean_m, deviation_m)
    true = stats.truncnorm(-mean_m / deviation_m, (length_m - mean_m) / deviation_m, mean_m, deviation_m)
    assert found.chances.sum() == pytest.approx(1)
    assert found.mean_m == pytest.approx(true.mean(), abs=0.02 * deviation_m)
    for share in (0.05, 0.5, 0.95):
        assert found.place_m(share) == pytest.approx(true.ppf(share), abs=0.02 * deviation_m)


def test_the_shortest_interval_of_a_normal_density_is_1_645_deviations_to_either_side():
    start_m, end_m = normal(10, 4, 0.1).shortest_interval(0.9)
    assert (4 - start_m, end_m - 4) == (pytest.approx(0.1645, abs=0.003), pytest.approx(0.1645, abs=0.003))


def test_the_shortest_interval_of_a_falling_density_begins_at_the_end():
    start_m, end_m = posterior(10, [], lambda at_m: -at_m).shortest_interval(0.9)
    assert start_m == 0
    assert end_m == pytest.approx(stats.truncexpon(10).ppf(0.9), abs=0.02)


def test_an_even_density_has_its_interval_in_the_middle():
    found = posterior(4, [], np.zeros_like)
    assert found.shortest_interval(0.9) == (pytest.approx(0.2), pytest.approx(3.8))
    assert found.densest_stretches(0.9) == ((pytest.approx(0.2), pytest.approx(3.8)),)


def test_two_peaks_make_two_stretches_and_one_long_interval():
    found = posterior(4, [], lambda at_m: np.logaddexp(-200 * (at_m - 1) ** 2, -200 * (at_m - 3) ** 2))
    (first, second), (start_m, end_m) = found.densest_stretches(0.9), found.shortest_interval(0.9)
    assert first[0] < 1 < first[1] < second[0] < 3 < second[1]
    assert start_m < 1 < 3 < end_m


@st.composite
def any_cells(draw):
    lengths = np.array(draw(st.lists(st.floats(0.01, 1), min_size=1, max_size=30)))
    weights = np.array(draw(st.lists(st.integers(0, 9), min_size=len(lengths), max_size=len(lengths)).filter(any)))
    return Posterior(np.concatenate([[0.0], np.cumsum(lengths)]), weights / weights.sum())


@given(any_cells(), st.floats(0.05, 0.95))
def test_the_shortest_interval_holds_its_share_and_no_other_is_shorter(found, share):
    start_m, end_m = found.shortest_interval(share)
    assert np.diff(found.before(np.array([start_m, end_m])))[0] == pytest.approx(share, abs=1e-9)
    every = found.before(found.edges_m[:, None] + np.array([0.0, (end_m - start_m) * (1 - 1e-6)]))
    assert np.diff(every).max() <= share + 1e-9


@given(any_cells(), st.floats(0.05, 0.95))
def test_stretches_are_apart_and_hold_their_share_and_nothing_denser_is_outside(found, share):
    stretches = np.array(found.densest_stretches(share))
    assert (np.diff(stretches.ravel()) > 0).all()
    inside = ((found.middles_m[:, None] > stretches[:, 0]) & (found.middles_m[:, None] < stretches[:, 1])).any(axis=1)
    assert found.chances[inside].sum() >= share - 1e-9
    if not inside.all():
        assert found.per_m[inside].min() >= found.per_m[~inside].max() * (1 - 1e-8)


@given(any_cells(), st.floats(0, 1), st.floats(0, 1))
def test_what_is_known_to_lie_between_two_places_keeps_its_shape_there(found, one, other):
    start_m, end_m = sorted((one * found.edges_m[-1], other * found.edges_m[-1]))
    total = np.diff(found.before(np.array([start_m, end_m])))[0]
    inner = found.between(start_m, end_m)
    if inner is None:
        assert total < 1e-6
    elif total > 1e-6:
        half_m = (start_m + end_m) / 2
        expected = np.diff(found.before(np.array([start_m, half_m])))[0] / total
        assert inner.before(np.array([half_m]))[0] == pytest.approx(expected, abs=1e-6)


def test_a_density_that_is_nowhere_above_nothing_is_none():
    assert posterior(4, [], lambda at_m: np.full_like(at_m, -np.inf)) is None
