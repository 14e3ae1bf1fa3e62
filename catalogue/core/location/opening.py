"""Where to open the jacket next, so that the fewest openings are expected until the break is found.

Openings lie a step apart. Each bares a window: it finds a break there, or tells towards which end the break is.
Who knows it between the windows of two neighbours has located it, and opens no more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from catalogue.core.location.observations import Observation, Opened, Side
from catalogue.core.location.posterior import Posterior
from catalogue.core.search_tree import best_tree, halving_looks

Array = npt.NDArray[np.float64]

WINDOW_M = 0.02
"""Length of conductor that one opening bares. Judgement: a lengthwise cut that heat-shrink still closes."""

STEP_M = 0.05
"""The break is located when it is known to this length. Judgement: what a splice needs anyway."""

MOST_PLACES = 1000
"""Where the step would make more, it is longer: the time to find the best order grows with their square."""

NEGLECTED = 1e-4
"""Chance at either side that is not planned for, where the break would only be known to be beyond. It is a share of the
chance before anything was opened, so that a plan made anew after an opening neglects what the first one did."""

MOST_NEGLECTED = 0.01
"""The most of what is left that may be neglected, when openings have left little of the chance before."""


@dataclass(frozen=True, slots=True)
class OpenNext:
    """Where to open, the openings expected by the best order and by halving, and the step in metres."""

    at_m: float
    expected_openings: float
    halving_openings: float
    within_m: float


def open_next(found: Posterior, measured: Posterior, observations: Sequence[Observation]) -> OpenNext | None:
    """The first opening of the best order; of several as good, the one nearest to the median.

    `found` is by all observations, `measured` by all but the openings. Halving parts what openings have left over in
    the middle, each time. None when the break is located already, or lies in what openings have bared.
    """
    length_m = float(found.edges_m[-1])
    opened = [each for each in observations if isinstance(each, Opened)]
    last_m = sorted(each.at_m for each in opened if each.sound_towards is Side.NEAR)[-1:]
    first_m = sorted(each.at_m for each in opened if each.sound_towards is Side.FAR)[:1]
    hidden = found.between(
        max((0.0, *(at_m + WINDOW_M / 2 for at_m in last_m))),
        min((length_m, *(at_m - WINDOW_M / 2 for at_m in first_m))),
    )
    if hidden is None:
        return None
    left = float(np.diff(measured.before(hidden.edges_m[[0, -1]]))[0])
    neglected = min(NEGLECTED / max(left, NEGLECTED), MOST_NEGLECTED)
    start_m, end_m = hidden.place_m(neglected), hidden.place_m(1 - neglected)
    if opened and end_m - start_m <= STEP_M - WINDOW_M / 2:
        return None
    step_m = max(STEP_M, (end_m - start_m) / MOST_PLACES)
    plans = []
    for anchor_m in (hidden.likeliest_m, *last_m, *first_m):
        turns = np.arange(np.ceil((hidden.edges_m[0] - anchor_m) / step_m), (hidden.edges_m[-1] - anchor_m) / step_m)
        if len(turns):
            plans.append(_planned(hidden, anchor_m + step_m * turns, step_m, neglected))
    return min(plans, key=lambda plan: plan.expected_openings)


def _planned(hidden: Posterior, places: Array, step_m: float, neglected: float) -> OpenNext:
    """The best order of openings at some of the places."""
    until, after = hidden.before(places - WINDOW_M / 2), hidden.before(places + WINDOW_M / 2)
    worth = (after > neglected) & (until < 1 - neglected)
    worth[np.argmin(np.abs(places - hidden.median_m))] = True
    gaps = np.concatenate([until[worth], [1.0]]) - np.concatenate([[0.0], after[worth]])
    tree = best_tree((after - until)[worth], np.maximum(gaps, 0.0))
    roots_m = places[worth][list(tree.roots)]
    at_m = float(roots_m[np.argmin(np.abs(roots_m - hidden.median_m))])
    return OpenNext(at_m, tree.looks, halving_looks(until, after), step_m)
