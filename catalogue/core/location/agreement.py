"""Whether observations tell of one break: two that do not are named, for the posterior alone would hide it.

For two observations A and B the evidence that they tell of one place, against two places drawn from the prior each by
itself, is the sum over places of p(place | A)·p(place | B) / p(place). If both tell of one break, it falls below 1/k
with a chance of at most 1/k (Markov's inequality), whatever the methods are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from catalogue.core.location.likelihood import features_m, log_likelihood
from catalogue.core.location.observations import Observation
from catalogue.core.location.posterior import Posterior, posterior
from catalogue.core.location.prior import Prior

Array = npt.NDArray[np.float64]

ODDS = 1000.0
"""Two observations disagree when two places are this much likelier than one."""

CERTAIN = 1e12
"""No greater odds are told."""

COARSE = 0.05
"""Chance that a cell may hold here: the evidence need not be told to a tenth."""


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Two observations, by their numbers from 0, and how much likelier it is that they tell of two places."""

    one: int
    other: int
    odds: float


def disagreements(observations: Sequence[Observation], prior: Prior) -> tuple[Disagreement, ...]:
    """Every two observations that disagree, the worst first. The same observation made twice agrees with itself."""
    firsts = {each: number for number, each in reversed(list(enumerate(observations)))}
    distinct = sorted(firsts, key=firsts.__getitem__)
    if len(distinct) < 2:
        return ()
    chances, before = _alone(distinct, prior)
    odds = 1 / np.maximum((chances / before) @ chances.T, 1 / CERTAIN)
    found = [
        Disagreement(firsts[distinct[a]], firsts[distinct[b]], float(odds[a, b]))
        for a, b in combinations(range(len(distinct)), 2)
        if odds[a, b] >= ODDS
    ]
    return tuple(sorted(found, key=lambda each: (-each.odds, each.one, each.other)))


def _alone(observations: Sequence[Observation], prior: Prior) -> tuple[Array, Array]:
    """Chances of the cells of one grid by each observation alone (rows), and before any."""
    grids = [found.edges_m for each in observations if (found := _likely(each, prior.length_m))]
    edges = np.unique(np.concatenate([*grids, np.clip(prior.features_m, 0.0, prior.length_m)]))
    middles = (edges[1:] + edges[:-1]) / 2
    before = prior.density(middles) * np.diff(edges)
    rows = []
    for each in observations:
        logs = log_likelihood([each], prior.length_m, middles)
        weighed = np.exp(logs - max(logs.max(), np.finfo(float).min)) * before
        rows.append(weighed / (weighed.sum() or 1.0))
    return np.array(rows), before / before.sum()


def _likely(observation: Observation, length_m: float) -> Posterior | None:
    """Where an observation alone puts the break on an even prior."""
    return posterior(
        length_m, features_m([observation]), lambda at_m: log_likelihood([observation], length_m, at_m), COARSE
    )
