"""Where along one conductor the break is, from what was seen and measured, and where to open next.

The prior (`prior.py`) times the likelihood of the observations (`likelihood.py`) is a posterior over the places
(`posterior.py`). What the posterior cannot show, measurements that cannot be true, is told beside it (`plain.py`,
`agreement.py`), and nothing is advised to be opened then.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from catalogue.core.location.agreement import Disagreement, disagreements
from catalogue.core.location.likelihood import features_m, log_likelihood
from catalogue.core.location.observations import Observation, Opened
from catalogue.core.location.opening import OpenNext, open_next
from catalogue.core.location.plain import PlainAnswer, plain_answer
from catalogue.core.location.posterior import Posterior, posterior
from catalogue.core.location.prior import Prior

Array = npt.NDArray[np.float64]

INTERVAL = 0.9


@dataclass(frozen=True)
class Location:
    """The posterior, and what is to be told beside it.

    `mark_shares` and `plain` go with the marks and the observations in their order. `open_next` is None
    where something is told to be impossible or in disagreement, since a measurement is to be made again first; and
    where the break is located already.
    """

    found: Posterior
    mark_shares: tuple[float, ...]
    plain: tuple[PlainAnswer | None, ...]
    disagreements: tuple[Disagreement, ...]
    open_next: OpenNext | None


class NoPlaceLeft(ValueError):
    """The openings leave no place for a break: they contradict each other. `disagreements` names them."""

    def __init__(self, disagreements: Sequence[Disagreement]) -> None:
        super().__init__("the openings leave no place for a break")
        self.disagreements = tuple(disagreements)


def locate(observations: Sequence[Observation], prior: Prior) -> Location:
    """Where the break is. Raises NoPlaceLeft."""
    told = disagreements(observations, prior)
    found = break_posterior(observations, prior)
    measured = break_posterior([each for each in observations if not isinstance(each, Opened)], prior)
    if found is None or measured is None:
        raise NoPlaceLeft(told)
    plain = tuple(plain_answer(each, prior.length_m) for each in observations)
    shares = prior.mark_shares(found.middles_m) @ found.chances
    doubtful = told or any(each and each.impossible for each in plain)
    return Location(
        found=found,
        mark_shares=tuple(shares.tolist()),
        plain=plain,
        disagreements=told,
        open_next=None if doubtful else open_next(found, measured, observations),
    )


def break_posterior(observations: Sequence[Observation], prior: Prior) -> Posterior | None:
    """The density of the break's place. None when openings leave no place for it."""

    def log_density(at_m: Array) -> Array:
        found: Array = np.log(prior.density(at_m)) + log_likelihood(observations, prior.length_m, at_m)
        return found

    features = [*prior.features_m.tolist(), *features_m(observations)]
    return posterior(prior.length_m, features, log_density)
