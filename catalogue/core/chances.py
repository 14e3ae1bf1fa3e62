"""How likely something is, from how often it happened, and how well that is known.

A `Chance` is a beta distribution, written as its mean and the number of trials it is worth: every trial seen
adds one to the weight, so `EVEN.after(3, 4)` is what three successes in four tell to somebody who knew nothing
before. Of infinite weight it is a number that somebody stated, without doubt about it.

`wilson_interval` is the interval for a bare count, with no prior in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Interval:
    """Least and most of something, here of a chance between 0 and 1."""

    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class Chance:
    """A chance of success whose expectation is `mean`, known as well as `weight` trials tell it.

    With finite weight and a mean strictly between 0 and 1 it is the beta distribution of parameters
    `mean * weight` and `(1 - mean) * weight`; otherwise it is the one number `mean`.
    """

    mean: float
    weight: float = math.inf

    def __post_init__(self) -> None:
        if not 0 <= self.mean <= 1 or not self.weight > 0:
            raise ValueError("a chance lies between 0 and 1, and its weight is above 0")

    @property
    def is_exact(self) -> bool:
        """Whether it is one number, with no doubt about it."""
        return math.isinf(self.weight) or self.mean in (0, 1)

    def after(self, succeeded: float, tried: float) -> Chance:
        """What is known after more trials (Bayes; the beta distribution is conjugate). An exact chance stays.

        Counts may be fractions, where trials elsewhere count for less than whole ones. Raises ValueError unless
        0 <= succeeded <= tried.
        """
        _check_count(succeeded, tried)
        if self.is_exact:
            return self
        weight = self.weight + tried
        return Chance((self.mean * self.weight + succeeded) / weight, weight)

    def interval(self, confidence: float = CONFIDENCE) -> Interval:
        """The equal-tailed credible interval."""
        lower, upper = self.quantiles(np.array([(1 - confidence) / 2, (1 + confidence) / 2]))
        return Interval(float(lower), float(upper))

    def quantiles(self, shares: Floats) -> Floats:
        """The values below which the chance lies with the given shares of belief; the same shape."""
        if self.is_exact:
            return np.full_like(shares, self.mean)
        found: Floats = special.betaincinv(*self._parameters, shares)
        return found

    def at_most(self, values: Floats) -> Floats:
        """The belief that the chance is not above each value; the same shape."""
        if self.is_exact:
            return (values >= self.mean).astype(float)
        found: Floats = special.betainc(*self._parameters, np.clip(values, 0, 1))
        return found

    def of_next(self, trials: int) -> Floats:
        """The chance of 0, 1, … `trials` successes in the next trials: the beta-binomial distribution.

        An array of `trials + 1` numbers that add up to 1; the binomial distribution for an exact chance.
        """
        successes = np.arange(trials + 1)
        failures = trials - successes
        ways = special.gammaln(trials + 1) - special.gammaln(successes + 1) - special.gammaln(failures + 1)
        if self.is_exact:
            each = special.xlogy(successes, self.mean) + special.xlogy(failures, 1 - self.mean)
        else:
            alpha, beta = self._parameters
            each = special.betaln(alpha + successes, beta + failures) - special.betaln(alpha, beta)
        found: Floats = np.exp(ways + each)
        return found

    @property
    def _parameters(self) -> tuple[float, float]:
        return self.mean * self.weight, (1 - self.mean) * self.weight


EVEN = Chance(0.5, 2)
"""The uniform distribution: worth one success and one failure, and says nothing either way. Judgement."""


def wilson_interval(succeeded: int, tried: int, confidence: float = CONFIDENCE) -> Interval:
    """The score interval for a proportion; all of 0 to 1 when nothing was tried.

    Raises ValueError unless 0 <= succeeded <= tried. Source: E. B. Wilson, Journal of the American Statistical
    Association 22 (1927); method 3 of R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872.
    """
    _check_count(succeeded, tried)
    if tried == 0:
        return Interval(0.0, 1.0)
    squared = float(special.ndtri((1 + confidence) / 2)) ** 2
    share = succeeded / tried
    middle = (share + squared / (2 * tried)) / (1 + squared / tried)
    spread = math.sqrt(squared * (share * (1 - share) / tried + squared / (4 * tried**2))) / (1 + squared / tried)
    return Interval(
        lower=0.0 if succeeded == 0 else middle - spread,
        upper=1.0 if succeeded == tried else middle + spread,
    )


def _check_count(succeeded: float, tried: float) -> None:
    if not 0 <= succeeded <= tried:
        raise ValueError("successes are counted among the trials, from 0 to all of them")
