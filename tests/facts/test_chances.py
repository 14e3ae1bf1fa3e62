"""Intervals and next trials, against figures that others have printed or that follow by exact fractions."""

from fractions import Fraction

import pytest

from catalogue.core.chances import EVEN, wilson_interval


@pytest.mark.parametrize(
    ("succeeded", "tried", "lower", "upper"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_score_intervals_of_newcombe(succeeded, tried, lower, upper):
    """R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3."""
    found = wilson_interval(succeeded, tried)
    assert (found.lower, found.upper) == pytest.approx((lower, upper), abs=0.00005)


def test_the_score_interval_of_23_in_60():
    """Input at http://vassarstats.net/prop1.html; formula at http://www.rossmanchance.com/applets/CIformulas.htm."""
    found = wilson_interval(23, 60)
    assert (found.lower, found.upper) == pytest.approx((0.2709, 0.5098), abs=0.00005)


def test_none_of_twenty_leaves_one_in_22():
    """Laplace's rule of succession: (k + 1) / (n + 2) from a uniform prior."""
    assert EVEN.after(0, 20).mean == pytest.approx(float(Fraction(1, 22)))


def test_none_of_twenty_makes_none_of_the_next_five_likely():
    """B(1, 26) / B(1, 21) = 21/26, the beta-binomial distribution from a uniform prior."""
    assert EVEN.after(0, 20).of_next(5)[0] == pytest.approx(float(Fraction(21, 26)))
