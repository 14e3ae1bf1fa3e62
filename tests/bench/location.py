"""How well breaks are located: whether the 90 % interval keeps its word, and how near the mean comes to the bound.

The simulator is written here from the physics and knows nothing of how places are inferred: it draws a break from the
prior, a cable, instruments, and what they show. The bound is the hybrid Cramér-Rao bound: the Fisher information of
place, capacitance per metre and velocity factor in the readings, by numerical derivatives of their noiseless values,
with the prior information on what is not even known; its inverse is taken for each simulated break. It holds for
readings with normal errors and an even prior; openings and flexing, whose likelihoods jump, have no such bound.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from catalogue.core.document import MarkKind
from catalogue.core.location.agreement import ODDS, disagreements
from catalogue.core.location.locate import INTERVAL, break_posterior
from catalogue.core.location.observations import (
    CapacitanceBothEnds,
    CapacitanceTwin,
    Flexing,
    LoopBridge,
    Observation,
    Opened,
    Reflection,
    Side,
    Suspicion,
)
from catalogue.core.location.opening import open_next
from catalogue.core.location.prior import Prior
from tests.bench.figure import Figure

BREAKS = 2000
PLANS = 400
LIGHT = 299_792_458.0
PERCENT_U = 0.01 / math.sqrt(3)

# What the cable and the instruments are taken to be, as documented; retyped, so that a slip on either side shows.
FRINGE, FRINGE_U = 1e-12, 0.5e-12
UNEVEN, TWIN_UNEVEN = 0.01, 0.02
MISLEADING = 0.05
WEIGHTS = {MarkKind.KINK: 4.0, MarkKind.STRAIN_RELIEF: 2.0}
EVEN = 2.0


@dataclass(frozen=True)
class Bench:
    """A specimen with its break, and the instruments on the bench."""

    length_m: float
    break_m: float
    rng: Generator
    per_m: float
    factor: float
    told_factor: float
    factor_u: float

    @classmethod
    def drawn(cls, prior: Prior, rng: Generator) -> Bench:
        factor, factor_u = rng.uniform(0.5, 0.8), rng.uniform(0.005, 0.04)
        told = factor + factor_u * rng.standard_normal()
        return cls(
            prior.length_m, place(prior, rng), rng, rng.uniform(40e-12, 200e-12), factor, float(told), float(factor_u)
        )

    def meter(self) -> tuple[float, float]:
        """Percent and last digits of a capacitance meter."""
        return float(self.rng.choice([0.5, 1.0, 2.5])), float(self.rng.choice([0.3e-12, 2e-12]))

    def shown(self, metres: float, ends: int, uneven: float, meter: tuple[float, float]) -> float:
        """What the meter shows of a core of that length, never below nothing."""
        percent, digits = meter
        fringes = sum(FRINGE + FRINGE_U * self.rng.standard_normal() for _ in range(ends))
        true = self.per_m * metres * (1 + uneven * self.rng.standard_normal()) + fringes
        gain = 1 + percent * PERCENT_U * self.rng.standard_normal()
        return max(0.0, float(true * gain + digits / math.sqrt(3) * self.rng.standard_normal()))


def place(prior: Prior, rng: Generator) -> float:
    """A place from the even part, or from about a mark, drawn again until it is on the conductor."""
    weights = np.array([EVEN, *(WEIGHTS[mark.kind] for mark in prior.marks)])
    part = int(rng.choice(len(weights), p=weights / weights.sum()))
    if part == 0:
        return float(rng.uniform(0, prior.length_m))
    while True:
        at_m = prior.marks[part - 1].at_m + 0.03 * rng.standard_normal()
        if 0 < at_m < prior.length_m:
            return float(at_m)


def both_ends(bench: Bench) -> list[Observation]:
    meter = bench.meter()
    near = bench.shown(bench.break_m, 1, UNEVEN, meter)
    far = bench.shown(bench.length_m - bench.break_m, 1, UNEVEN, meter)
    return [CapacitanceBothEnds(near, far, *meter)]


def twin(bench: Bench) -> list[Observation]:
    meter = bench.meter()
    near = bench.shown(bench.break_m, 1, UNEVEN, meter)
    return [CapacitanceTwin(near, bench.shown(bench.length_m, 2, TWIN_UNEVEN, meter), *meter)]


def echo(bench: Bench, side: Side) -> Reflection:
    metres = bench.break_m if side is Side.NEAR else bench.length_m - bench.break_m
    seconds_u = float(bench.rng.choice([0.1e-9, 0.5e-9]))
    seconds = 2 * metres / (bench.factor * LIGHT) + seconds_u * bench.rng.standard_normal()
    return Reflection(side, float(seconds), seconds_u, bench.told_factor, bench.factor_u)


def near_echo(bench: Bench) -> list[Observation]:
    return [echo(bench, Side.NEAR)]


def far_echo(bench: Bench) -> list[Observation]:
    return [echo(bench, Side.FAR)]


def both_echoes(bench: Bench) -> list[Observation]:
    return [echo(bench, Side.NEAR), echo(bench, Side.FAR)]


def bridge(bench: Bench) -> list[Observation]:
    """Arms in balance, each then read wrong by a part of the bridge's limit."""
    percent, loop_m = float(bench.rng.choice([0.5, 2.0])), bench.length_m * float(bench.rng.uniform(1.2, 2.0))
    known, other = (math.exp(percent * PERCENT_U * bench.rng.standard_normal()) for _ in range(2))
    return [LoopBridge(1000 * known, 1000 * other * bench.break_m / (loop_m - bench.break_m), loop_m, percent)]


def opening(bench: Bench) -> list[Observation]:
    at_m = float(bench.rng.uniform(0, bench.length_m))
    return [Opened(at_m, Side.NEAR if at_m < bench.break_m else Side.FAR)]


def flexing(bench: Bench) -> list[Observation]:
    within_m = float(bench.rng.choice([0.05, 0.2, 1.0]))
    if bench.rng.random() < MISLEADING:
        return [Flexing(float(bench.rng.uniform(0, bench.length_m)), within_m)]
    least, most = max(0.0, bench.break_m - within_m), min(bench.length_m, bench.break_m + within_m)
    return [Flexing(float(bench.rng.uniform(least, most)), within_m)]


def together(*methods: Callable[[Bench], list[Observation]]) -> Callable[[Bench], list[Observation]]:
    return lambda bench: [each for method in methods for each in method(bench)]


MARKS = (Suspicion(MarkKind.KINK, 2.9), Suspicion(MarkKind.KINK, 1.1), Suspicion(MarkKind.STRAIN_RELIEF, 0.05))

FAMILIES: dict[str, tuple[Callable[[Bench], list[Observation]], tuple[Suspicion, ...]]] = {
    "capacitance from both ends": (both_ends, ()),
    "capacitance against a twin": (twin, ()),
    "reflection from near": (near_echo, ()),
    "reflection from far": (far_echo, ()),
    "reflections from both ends": (both_echoes, ()),
    "loop bridge": (bridge, ()),
    "capacitance and reflection": (together(both_ends, near_echo), ()),
    "an opening": (opening, ()),
    "flexing": (flexing, ()),
    "two openings, marks": (together(opening, opening), MARKS),
    "flexing and capacitance, marks": (together(flexing, both_ends), MARKS),
    "reflection, capacitance, flexing, opening, marks": (together(both_echoes, both_ends, flexing, opening), MARKS),
    "loop bridge and opening, marks": (together(bridge, opening), MARKS),
}
BOUNDED = tuple(FAMILIES)[:7]


def figures() -> Iterator[Figure]:
    for number, (name, (observe, marks)) in enumerate(FAMILIES.items()):
        yield from located(name, observe, marks, number)
    yield false_alarms()
    yield openings()


def specimens(marks: tuple[Suspicion, ...], seed: int, count: int) -> Iterator[tuple[Prior, Bench]]:
    for number in range(count):
        rng = np.random.default_rng([seed, number])
        prior = Prior(4.0 if marks else float(rng.choice([0.8, 4.0, 30.0])), marks)
        yield prior, Bench.drawn(prior, rng)


def located(
    name: str, observe: Callable[[Bench], list[Observation]], marks: tuple[Suspicion, ...], seed: int
) -> Iterator[Figure]:
    held = in_stretches = 0
    ratios = []
    for prior, bench in specimens(marks, seed, BREAKS):
        observations = observe(bench)
        found = break_posterior(observations, prior)
        assert found is not None
        start_m, end_m = found.shortest_interval(INTERVAL)
        held += start_m <= bench.break_m <= end_m
        in_stretches += any(a <= bench.break_m <= b for a, b in found.densest_stretches(INTERVAL))
        if name in BOUNDED:
            ratios.append((found.mean_m - bench.break_m) / least_deviation_m(observations, bench))
    for what, count in (("interval holds", held), ("stretches hold", in_stretches)):
        share = count / BREAKS
        yield Figure(
            f"90 % {what} the break, of {BREAKS:,}: {name}",
            f"{share:.1%}",
            "87-93 %",
            0.87 <= share <= 0.93,
            True,
        )
    if ratios:
        error = math.sqrt(np.mean(np.square(ratios)))
        yield Figure(f"RMS error over the Cramér-Rao bound: {name}", f"{error:.3f}", "≤ 1.1", error <= 1.1, True)


def least_deviation_m(observations: list[Observation], bench: Bench) -> float:
    """The hybrid Cramér-Rao bound of the place in metres, at this break."""
    _, deviations = expected(observations, bench, bench.break_m, bench.per_m, bench.factor)
    values = np.array([bench.break_m, bench.per_m, bench.factor])
    steps = 1e-6 * np.array([min(bench.break_m, bench.length_m - bench.break_m), bench.per_m, bench.factor])
    slopes = []
    for step in np.diag(steps):
        after, before = (expected(observations, bench, *(values + turn * step))[0] for turn in (1, -1))
        slopes.append((after - before) / (2 * step.sum()) / deviations)
    # By the logarithms of capacitance and velocity factor, so that the matrix can be inverted.
    scaled = np.array(slopes) * np.array([[1.0], [bench.per_m], [bench.factor]])
    # Nothing is known of the place before, next to nothing of the capacitance.
    information = scaled @ scaled.T + np.diag([0.0, 1e-6, (bench.factor / bench.factor_u) ** 2])
    return float(math.sqrt(np.linalg.inv(information)[0, 0]))


def expected(
    observations: list[Observation], bench: Bench, break_m: float, per_m: float, factor: float
) -> tuple[np.ndarray, np.ndarray]:
    """What instruments without error would show, and the standard deviations of what they do show."""
    rest_m = bench.length_m - break_m
    means: list[float] = []
    deviations: list[float] = []

    def capacitance(metres: float, ends: int, uneven: float, percent: float, digits: float) -> None:
        line = per_m * metres
        means.append(line)
        deviations.append(
            math.hypot(uneven * line, FRINGE_U * math.sqrt(ends), percent * PERCENT_U * line, digits / math.sqrt(3))
        )

    for each in observations:
        match each:
            case CapacitanceBothEnds(_, _, percent, digits):
                capacitance(break_m, 1, UNEVEN, percent, digits)
                capacitance(rest_m, 1, UNEVEN, percent, digits)
            case CapacitanceTwin(_, _, percent, digits):
                capacitance(break_m, 1, UNEVEN, percent, digits)
                capacitance(bench.length_m, 2, TWIN_UNEVEN, percent, digits)
            case Reflection(side, _, seconds_u):
                means.append(2 * (break_m if side is Side.NEAR else rest_m) / (factor * LIGHT))
                deviations.append(seconds_u)
            case LoopBridge(_, _, loop_m, percent):
                means.append(math.log(break_m / (loop_m - break_m)))
                deviations.append(percent * PERCENT_U * math.sqrt(2))
    return np.array(means), np.array(deviations)


def false_alarms() -> Figure:
    """Markov's inequality allows one pair in a thousand; four observations make up to six pairs."""
    observe, marks = FAMILIES["reflection, capacitance, flexing, opening, marks"]
    count = BREAKS // 2
    told = pairs = 0
    for prior, bench in specimens(marks, 100, count):
        observations = observe(bench)
        pairs += math.comb(len(observations), 2)
        told += len(disagreements(observations, prior))
    bound = pairs / ODDS
    return Figure(
        f"pairs of true observations told to disagree, of {pairs:,}", str(told), f"≤ {bound:.0f}", told <= bound, True
    )


def openings() -> Figure:
    """Openings made when the advice is followed to the end, against what it had told, over the same breaks.

    A plan made anew after each opening may stop earlier than the first one thought, so what was told is a bound.
    """
    made, expected_openings, halving = [], [], []
    for prior, bench in specimens(MARKS, 101, PLANS):
        observations = both_ends(bench)
        found = break_posterior(observations, prior)
        assert found is not None
        advice = open_next(found, found, observations)
        expected_openings.append(advice.expected_openings)
        halving.append(advice.halving_openings)
        assert advice is not None
        made.append(followed(observations, prior, bench.break_m))
    mean, error = float(np.mean(made)), float(np.std(made) / math.sqrt(PLANS))
    promised = float(np.mean(expected_openings))
    return Figure(
        f"openings until the break is found, {PLANS} followed to the end",
        f"{mean:.2f} ± {error:.2f} (halving: {np.mean(halving):.2f})",
        f"≤ {promised:.2f} as told",
        mean <= promised,
        True,
    )


def followed(observations: list[Observation], prior: Prior, break_m: float) -> int:
    """Opens where it is best each time, until the break shows in the window or is located."""
    done = list(observations)
    measured = break_posterior(observations, prior)
    assert measured is not None
    while True:
        found = break_posterior(done, prior)
        assert found is not None
        advice = open_next(found, measured, done)
        if advice is None:
            return len(done) - len(observations)
        if abs(advice.at_m - break_m) <= 0.01:
            return len(done) - len(observations) + 1
        done.append(Opened(advice.at_m, Side.NEAR if advice.at_m < break_m else Side.FAR))
