"""Whether advice holds: plans against every order of attempts, chances against simulated repairers, and its cost."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

import numpy as np
from numpy.random import Generator

from catalogue.core.chances import EVEN, Chance
from catalogue.core.decision import Attempt, Stakes, decide, prospect
from catalogue.core.outcomes import Option
from tests.bench.figure import Figure, seconds

SHOPS = 1_000
REPAIRERS = 20_000
TRIALS = 7
ROUNDING = 1e-6


def figures() -> Iterator[Figure]:
    rng = np.random.default_rng(1)
    yield worse_plans(rng)
    yield coverage(rng)
    yield cost_of_a_decision(rng)


def random_attempts(rng: Generator) -> list[Attempt]:
    """All four attempts, at prices and hours about as high as what a cable adds to the device."""
    ways = [option for option in Option if option is not Option.STOP]
    return [
        Attempt(way, rng.uniform(0, 150), rng.uniform(0, 8), Chance(rng.uniform(0.05, 0.95), rng.uniform(1, 30)))
        for way in ways
    ]


def random_stakes(rng: Generator) -> Stakes:
    return Stakes(rng.uniform(0, 30), rng.uniform(50, 400), rng.uniform(0, 50))


def worse_plans(rng: Generator) -> Figure:
    """How often some order of some of the attempts is better than the plan that is advised."""
    worse = 0
    for _ in range(SHOPS):
        attempts, stakes = random_attempts(rng), random_stakes(rng)
        orders = (order for count in range(len(attempts) + 1) for order in permutations(attempts, count))
        best = max(prospect(order, stakes).net for order in orders)
        worse += decide(attempts, stakes).ranked[0].begun_with.net < best - ROUNDING
    return Figure(f"plans worse than another order, of {SHOPS:,}", str(worse), "0", worse == 0, exact=True)


def coverage(rng: Generator) -> Figure:
    """How often the 95 % interval after a few outcomes holds the chance that they were drawn from."""
    chances = rng.random(REPAIRERS)
    intervals = [EVEN.after(succeeded, TRIALS).interval() for succeeded in range(TRIALS + 1)]
    lower, upper = (np.array([getattr(each, end) for each in intervals]) for end in ("lower", "upper"))
    succeeded = rng.binomial(TRIALS, chances)
    share = float(np.mean((lower[succeeded] <= chances) & (chances <= upper[succeeded])))
    name = f"95 % interval holds the chance behind {TRIALS} outcomes"
    return Figure(name, f"{share:.1%}", "94 % to 96 %", 0.94 <= share <= 0.96, exact=True)


def cost_of_a_decision(rng: Generator) -> Figure:
    attempts, stakes = random_attempts(rng), random_stakes(rng)
    taken = seconds(lambda: decide(attempts, stakes))
    return Figure("ranking four ways and stopping", f"{taken * 1000:.1f} ms", "≤ 100 ms", taken <= 0.1)
