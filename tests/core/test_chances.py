"""A chance from counts, against scipy's own distributions and against counting by simulation."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from catalogue.core.chances import EVEN, Chance, wilson_interval

COUNTS = st.integers(0, 300).flatmap(lambda tried: st.tuples(st.integers(0, tried), st.just(tried)))
# Belief worth less than one trial crowds below the smallest number there is, where no quantile can be told.
CHANCES = st.builds(Chance, st.floats(0.05, 0.95), st.floats(1, 500))


@given(COUNTS.filter(lambda count: count[1] > 0), st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_the_score_interval_is_that_of_scipy(count, confidence):
    found = wilson_interval(*count, confidence)
    referee = stats.binomtest(*count).proportion_ci(confidence, method="wilson")
    assert (found.lower, found.upper) == pytest.approx((referee.low, referee.high), abs=1e-12)


def test_nothing_tried_leaves_every_chance_open():
    found = wilson_interval(0, 0)
    assert (found.lower, found.upper) == (0, 1)


@given(CHANCES, COUNTS)
def test_trials_move_the_chance_as_bayes_has_it(chance, count):
    succeeded, tried = count
    after = chance.after(succeeded, tried)
    alpha, beta = chance.mean * chance.weight + succeeded, (1 - chance.mean) * chance.weight + tried - succeeded
    assert after.mean == pytest.approx(stats.beta(alpha, beta).mean())
    assert after.weight == pytest.approx(alpha + beta)


@given(CHANCES, st.floats(0.5, 0.99))
def test_the_credible_interval_holds_its_share_of_belief(chance, confidence):
    interval = chance.interval(confidence)
    alpha, beta = chance.mean * chance.weight, (1 - chance.mean) * chance.weight
    referee = stats.beta(alpha, beta)
    for end, share in ((interval.lower, (1 - confidence) / 2), (interval.upper, (1 + confidence) / 2)):
        # Belief can crowd so near to 0 or 1 that neighbouring numbers differ in their share.
        assert referee.cdf(math.nextafter(end, 0)) - 1e-6 <= share <= referee.cdf(math.nextafter(end, 1)) + 1e-6
    ends = np.array([interval.lower, interval.upper])
    assert chance.at_most(ends) == pytest.approx(referee.cdf(ends))


@given(CHANCES, st.integers(0, 40))
def test_the_next_trials_are_beta_binomial(chance, trials):
    alpha, beta = chance.mean * chance.weight, (1 - chance.mean) * chance.weight
    found = chance.of_next(trials)
    assert found.sum() == pytest.approx(1)
    assert found == pytest.approx(stats.betabinom(trials, alpha, beta).pmf(np.arange(trials + 1)), abs=1e-9)


@pytest.mark.parametrize("mean", [0.0, 0.3, 1.0])
def test_a_chance_without_doubt_gives_the_binomial_distribution(mean):
    chance = Chance(mean)
    assert chance.of_next(6) == pytest.approx(stats.binom(6, mean).pmf(np.arange(7)))
    assert (chance.interval().lower, chance.interval().upper) == (mean, mean)
    assert chance.at_most(np.array([mean - 0.1, mean, mean + 0.1])).tolist() == [0, 1, 1]


def test_trials_do_not_move_a_chance_without_doubt():
    assert Chance(0.3).after(4, 4) == Chance(0.3)


def test_the_next_trial_succeeds_with_the_mean():
    chance = EVEN.after(7, 9)
    assert chance.of_next(1)[1] == pytest.approx(chance.mean)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: wilson_interval(3, 2),
        lambda: wilson_interval(-1, 2),
        lambda: EVEN.after(2, 1),
        lambda: Chance(1.1),
        lambda: Chance(0.5, 0),
        lambda: Chance(math.nan),
        lambda: Chance(0.5, math.nan),
    ],
)
def test_what_is_no_count_and_no_chance_is_refused(wrong):
    with pytest.raises(ValueError, match=r"from 0 to all|between 0 and 1"):
        wrong()
