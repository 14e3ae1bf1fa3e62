"""How likely the observations are if the break is at a place: log likelihoods, over all that is not known besides.

What several observations have in common is unknown once, not once for each: the cable's capacitance per metre, its
velocity factor, the fringes at its ends, and the percentage by which an instrument is off. So two readings of one
thing with one instrument average the last digits away, but not the percentage. Limits of accuracy enter as
standard uncertainties with normal errors (JCGM 100:2008, 4.3.7).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr, logsumexp

from catalogue.core.line_tests import SPEED_OF_LIGHT
from catalogue.core.location.observations import (
    CapacitanceBothEnds,
    CapacitanceTwin,
    Flexing,
    LoopBridge,
    Observation,
    Opened,
    Reflection,
    Side,
)
from catalogue.core.uncertainty import standard_uncertainty

Array = npt.NDArray[np.float64]

FRINGE_FARADS = 1e-12
FRINGE_FARADS_U = 0.5e-12
"""What a plug and the clip on it add beyond what was zeroed, at one end. Judgement."""

UNEVEN = 0.01
"""Relative standard uncertainty of the capacitance per metre of one stretch of a core against its whole. Judgement."""

TWIN_UNEVEN = 0.02
"""The same of another core of the same kind, which lies elsewhere among its neighbours. Judgement."""

FARADS_PER_M = (5e-12, 1000e-12)
"""Of one core against others; cables have 30 to 200 pF/m between two cores (`dielectrics.csv`), less when the pair is
open to the air, more against a screen and all others. Between these limits any is as likely. Judgement."""

FLEXING_MISLEADS = 0.05
"""Chance that bending one place makes a break elsewhere come and go, by pulling on it. Judgement."""

SPEED_FACTOR_U = 1e-6
"""Nobody knows a velocity factor better than this, and one said to be exact is taken so."""

NODES = np.linspace(-6.0, 6.0, 25)
"""Where a density over the slowness of the line is summed up, in standard deviations from its middle."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and the variance of its error."""

    value: float
    variance: float


def log_likelihood(observations: Sequence[Observation], length_m: float, at_m: Array) -> Array:
    """Natural logarithm of the likelihood at n places strictly between 0 and `length_m`, up to a constant.

    It is minus infinity where an opening rules the place out.
    """
    total = np.zeros_like(at_m)
    capacitances = [each for each in observations if isinstance(each, CapacitanceBothEnds | CapacitanceTwin)]
    reflections = [each for each in observations if isinstance(each, Reflection)]
    bridges = [each for each in observations if isinstance(each, LoopBridge)]
    if capacitances:
        total += _capacitance(capacitances, length_m, at_m)
    if reflections:
        total += _reflection(reflections, length_m, at_m)
    if bridges:
        total += _bridge(bridges, at_m)
    for each in observations:
        if isinstance(each, Opened):
            ruled_out = at_m < each.at_m if each.sound_towards is Side.NEAR else at_m > each.at_m
            total[ruled_out] = -np.inf
        elif isinstance(each, Flexing):
            total += _flexing(each, length_m, at_m)
    return total


def features_m(observations: Iterable[Observation]) -> list[float]:
    """Places where the likelihood jumps."""
    places = []
    for each in observations:
        if isinstance(each, Opened):
            places.append(each.at_m)
        elif isinstance(each, Flexing):
            places += [each.at_m - each.within_m, each.at_m + each.within_m]
    return places


def averaged(readings: Iterable[tuple[float, float, float]]) -> Estimate:
    """Readings of one quantity as one: each a value, its limit in percent, and its limit in last digits, not 0.

    Readings with the same percentage are taken as made with the same instrument.
    """
    instruments: defaultdict[float, list[tuple[float, float]]] = defaultdict(list)
    for value, percent, digits in readings:
        instruments[percent].append((value, standard_uncertainty(digits) ** 2))
    return _weighted(
        Estimate(mean.value, mean.variance + standard_uncertainty(mean.value * percent / 100) ** 2)
        for percent, shown in instruments.items()
        for mean in [_weighted(Estimate(*each) for each in shown)]
    )


def log_arms(bridge: LoopBridge) -> Estimate:
    """Logarithm of the other arm as a multiple of the known one."""
    arm_u = standard_uncertainty(bridge.percent / 100)
    return Estimate(float(np.log(bridge.arm_other / bridge.arm_known)), 2 * arm_u**2)


def _weighted(estimates: Iterable[Estimate]) -> Estimate:
    """Their mean, each weighted by how sure it is."""
    every = list(estimates)
    weights = np.array([1 / each.variance for each in every])
    values = np.array([each.value for each in every])
    return Estimate(float(weights @ values / weights.sum()), float(1 / weights.sum()))


def _capacitance(observations: Sequence[CapacitanceBothEnds | CapacitanceTwin], length_m: float, at_m: Array) -> Array:
    """Each reading is capacitance per metre times a length, and fringes, so that it integrates exactly."""
    near, far, twin = [], [], []
    for each in observations:
        near.append((each.near_farads, each.percent, each.digits_farads))
        if isinstance(each, CapacitanceBothEnds):
            far.append((each.far_farads, each.percent, each.digits_farads))
        else:
            twin.append((each.twin_farads, each.percent, each.digits_farads))
    lines = [(at_m, _without_fringes(averaged(near), 1, UNEVEN))]
    if far:
        lines.append((length_m - at_m, _without_fringes(averaged(far), 1, UNEVEN)))
    if twin:
        lines.append((np.full_like(at_m, length_m), _without_fringes(averaged(twin), 2, TWIN_UNEVEN)))
    weight, total, misfit = np.zeros((3, len(at_m)))
    for metres, reading in lines:
        weight += metres**2 / reading.variance
        total += metres * reading.value / reading.variance
    best = total / weight
    for metres, reading in lines:
        misfit += (reading.value - best * metres) ** 2 / reading.variance
    least, most = ((limit - best) * np.sqrt(weight) for limit in FARADS_PER_M)
    likelihood: Array = -0.5 * misfit - 0.5 * np.log(weight) + _log_normal_between(least, most)
    return likelihood


def _without_fringes(reading: Estimate, ends: int, uneven: float) -> Estimate:
    line = reading.value - ends * FRINGE_FARADS
    return Estimate(line, reading.variance + ends * FRINGE_FARADS_U**2 + (uneven * line) ** 2)


def _log_normal_between(least: Array, most: Array) -> Array:
    """Logarithm of the standard normal chance between two limits, also far out on one side."""
    turned = least > 0
    low, high = np.where(turned, -most, least), np.where(turned, -least, most)
    upper = log_ndtr(high)
    found: Array = upper + np.log1p(-np.exp(np.minimum(log_ndtr(low) - upper, -1e-300)))
    return found


def _reflection(observations: Sequence[Reflection], length_m: float, at_m: Array) -> Array:
    """Summed up over the slowness 1/v of the cable, in which the times are linear.

    The same velocity factor told twice is one piece of knowledge; different ones are several.
    """
    speeds = sorted({(each.velocity_factor, max(each.velocity_factor_u, SPEED_FACTOR_U)) for each in observations})
    echoes = []
    for side, metres in ((Side.NEAR, at_m), (Side.FAR, length_m - at_m)):
        if times := [Estimate(each.seconds, each.seconds_u**2) for each in observations if each.side is side]:
            echoes.append((2 * metres / SPEED_OF_LIGHT, _weighted(times)))
    slowness = _weighted(Estimate(1 / speed, (speed_u / speed**2) ** 2) for speed, speed_u in speeds)
    weight, total = np.full_like(at_m, 1 / slowness.variance), np.full_like(at_m, slowness.value / slowness.variance)
    for light_s, time in echoes:
        weight += light_s**2 / time.variance
        total += light_s * time.value / time.variance
    spread = 1 / np.sqrt(weight)
    slow = np.maximum(total / weight + NODES[:, None] * spread, 1e-9)
    density = -2 * np.log(slow)
    for speed, speed_u in speeds:
        density += _log_normal(Estimate(speed, speed_u**2), 1 / slow)
    for light_s, time in echoes:
        density += _log_normal(time, light_s * slow)
    found: Array = logsumexp(density, axis=0) + np.log(spread)
    return found


def _log_normal(measured: Estimate, expected: Array) -> Array:
    found: Array = -0.5 * (measured.value - expected) ** 2 / measured.variance
    return found


def _bridge(observations: Sequence[LoopBridge], at_m: Array) -> Array:
    """Balances with the same percentage on the same loop are taken as made with the same bridge."""
    bridges: defaultdict[tuple[float, float], list[Estimate]] = defaultdict(list)
    for each in observations:
        bridges[each.loop_m, each.percent].append(log_arms(each))
    total = np.zeros_like(at_m)
    for (loop_m, _), balances in bridges.items():
        mean = Estimate(sum(each.value for each in balances) / len(balances), balances[0].variance)
        total += _log_normal(mean, np.log(at_m / (loop_m - at_m)))
    return total


def _flexing(observation: Flexing, length_m: float, at_m: Array) -> Array:
    """The place that was bent lies evenly within reach of the break, or, misleading, anywhere on the cable."""
    reach_m = np.minimum(at_m + observation.within_m, length_m) - np.maximum(at_m - observation.within_m, 0.0)
    within = np.abs(at_m - observation.at_m) <= observation.within_m
    found: Array = np.log(within * (1 - FLEXING_MISLEADS) / reach_m + FLEXING_MISLEADS / length_m)
    return found
