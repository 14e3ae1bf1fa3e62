"""Where a fault is, by one measurement: the formulas of the loop bridges, of capacitance, and of reflection.

Each gives the plain answer, without its uncertainty, and may lie outside the cable; that is a fact about the
measurement (arms of the bridge exchanged, a wrong length) that the caller has to tell. Sources: Hawkins Electrical
Guide, vol. 3 (loop tests of Murray and Varley); R. Hranac, "Velocity of Propagation" (reflection).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

SPEED_OF_LIGHT = 299_792_458.0
"""Metres in a second, in vacuum; exact by the definition of the metre."""


def murray(arm_faulty: float, arm_sound: float, loop: float) -> float:
    """Way from the bridge to the fault along the faulty core, in the unit of `loop` (metres or ohms).

    `loop` is the faulty core and the sound one behind it, the two arms are in any one unit, and `arm_faulty` is the
    one connected to the faulty core.
    """
    return loop * arm_faulty / (arm_faulty + arm_sound)


@dataclass(frozen=True, slots=True)
class VarleyResult:
    """Ohms of the whole loop, and of the faulty core from the bridge to the fault."""

    loop_ohms: float
    fault_ohms: float


def varley(arm_faulty: float, arm_other: float, at_fault_ohms: float, at_far_joint_ohms: float) -> VarleyResult:
    """The two balances of a Varley loop: `arm_faulty` times (fault + resistance box) = `arm_other` times the rest.

    The box balances at `at_fault_ohms` with the battery on the fault, at `at_far_joint_ohms` with it on the far joint.
    Exchanged arms give another place that may well lie in the cable, so nothing can tell them from the readings.
    """
    loop_ohms = arm_faulty * at_far_joint_ohms / arm_other
    fault_ohms = arm_faulty * (at_far_joint_ohms - at_fault_ohms) / (arm_faulty + arm_other)
    return VarleyResult(loop_ohms, fault_ohms)


def varley_equal_arms(core_ohms: float, lead_ohms: float, at_fault_ohms: float) -> float:
    """Ohms to the fault by a Varley loop with equal arms, with leads of `lead_ohms` each, which are taken off.

    The far balance is then the whole loop: two cores and two leads.
    """
    loop_ohms = 2 * core_ohms + 2 * lead_ohms
    return core_ohms * (loop_ohms - at_fault_ohms) / loop_ohms - lead_ohms * at_fault_ohms / loop_ohms


def capacitance_ratio(near: float, far: float, length_m: float) -> float:
    """Metres from the near end to an open, by the capacitance (any unit) of the core from each end."""
    return length_m * near / (near + far)


def capacitance_share(near: float, whole: float, length_m: float) -> float:
    """Metres from the near end to an open, by its capacitance and that of a sound core of the whole length."""
    return length_m * near / whole


def reflection(seconds: float, velocity_factor: float, speed: float = SPEED_OF_LIGHT) -> float:
    """Way to the reflecting place, one way, from the time there and back. In the length unit of `speed`."""
    return speed * velocity_factor * seconds / 2


def velocity_factor(relative_permittivity: float) -> float:
    """Speed on a line as a share of light's, with its field wholly in the insulation."""
    return 1 / math.sqrt(relative_permittivity)
