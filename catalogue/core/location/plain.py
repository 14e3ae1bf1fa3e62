"""What each measurement says by itself: the formula's answer with its uncertainty, whether or not it can be.

Where such an answer lies outside the conductor, or a capacitance per metre outside what cables have, the measurement
or the length is wrong, and no posterior over the conductor shows that.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from catalogue.core.line_tests import capacitance_ratio, capacitance_share, murray, reflection
from catalogue.core.location.likelihood import (
    FARADS_PER_M,
    FRINGE_FARADS,
    FRINGE_FARADS_U,
    TWIN_UNEVEN,
    UNEVEN,
    averaged,
    log_arms,
)
from catalogue.core.location.observations import (
    CapacitanceBothEnds,
    CapacitanceTwin,
    LoopBridge,
    Observation,
    Reflection,
    Side,
)
from catalogue.core.uncertainty import propagated

Array = npt.NDArray[np.float64]

OUTSIDE_U = 4.0
"""Standard uncertainties outside the conductor before a measurement is called impossible."""


@dataclass(frozen=True, slots=True)
class PlainAnswer:
    """Metres from the near end with the standard uncertainty, and what is impossible about it, or empty text."""

    at_m: float
    at_m_u: float
    impossible: str = ""


def plain_answer(observation: Observation, length_m: float) -> PlainAnswer | None:
    """None for an opening and for flexing, which measure no place, and where the reading is no more than fringes."""
    match observation:
        case CapacitanceBothEnds(near, far, percent, digits):
            return _capacitance((near, far), percent, digits, length_m, capacitance_ratio, 1)
        case CapacitanceTwin(near, twin, percent, digits):
            return _capacitance((near, twin), percent, digits, length_m, capacitance_share, 2)
        case Reflection():
            return _reflection(observation, length_m)
        case LoopBridge():
            return _bridge(observation, length_m)
        case _:
            return None


def _capacitance(
    readings: tuple[float, float],
    percent: float,
    digits: float,
    length_m: float,
    formula: Callable[[float, float, float], float],
    ends: int,
) -> PlainAnswer | None:
    """`ends` of the second reading bring fringes: 1 from the far end of the broken core, 2 over a sound one."""
    known = [averaged([(reading, percent, digits)]) for reading in readings]
    lines = np.array([known[0].value - FRINGE_FARADS, known[1].value - ends * FRINGE_FARADS])
    whole = lines[1] if ends == 2 else lines.sum()
    per_m, limits = whole / length_m, f"{FARADS_PER_M[0] * 1e12:g} to {FARADS_PER_M[1] * 1e12:g} pF"
    if whole <= 0:
        return None
    uneven = np.array([UNEVEN, UNEVEN if ends == 1 else math.hypot(UNEVEN, TWIN_UNEVEN)]) * lines
    variances = [each.variance for each in known] + np.array([1, ends]) * FRINGE_FARADS_U**2 + uneven**2
    impossible = ""
    if not FARADS_PER_M[0] <= per_m <= FARADS_PER_M[1]:
        impossible = (
            f"The readings come to {per_m * 1e12:.3g} pF per metre; cables have {limits}. Check them and the length."
        )
    return _answer(lambda two: formula(two[0], two[1], length_m), lines, variances, length_m, impossible)


def _reflection(observation: Reflection, length_m: float) -> PlainAnswer:
    values = np.array([observation.seconds, observation.velocity_factor])
    variances = np.array([observation.seconds_u, observation.velocity_factor_u]) ** 2

    def place(two: Array) -> float:
        way_m = reflection(two[0], two[1])
        return way_m if observation.side is Side.NEAR else length_m - way_m

    return _answer(place, values, variances, length_m, "")


def _bridge(observation: LoopBridge, length_m: float) -> PlainAnswer:
    arms = log_arms(observation)
    plain = _answer(
        lambda ratio: murray(float(np.exp(ratio[0])), 1.0, observation.loop_m),
        np.array([arms.value]),
        np.array([arms.variance]),
        length_m,
        "",
    )
    turned_m = murray(observation.arm_known, observation.arm_other, observation.loop_m)
    if plain.impossible and 0 <= turned_m <= length_m:
        hint = f"{plain.impossible} With the arms exchanged it would be {turned_m:.4g} m: were they?"
        return PlainAnswer(plain.at_m, plain.at_m_u, hint)
    return plain


def _answer(
    formula: Callable[[Array], float], values: Array, variances: Array, length_m: float, impossible: str
) -> PlainAnswer:
    places, covariance = propagated(lambda given: np.array([formula(given)]), values, np.diag(variances))
    at_m, at_m_u = float(places[0]), math.sqrt(float(covariance[0, 0]))
    outside_m = max(-at_m, at_m - length_m)
    if not impossible and outside_m > OUTSIDE_U * at_m_u:
        impossible = f"It points to {at_m:.4g} m ± {at_m_u:.2g} m, outside the conductor's 0 to {length_m:g} m."
    return PlainAnswer(at_m, at_m_u, impossible)
