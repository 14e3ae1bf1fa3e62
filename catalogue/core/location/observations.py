"""What can be observed of the place of a break (an open, or for the loop bridge a short) in one conductor.

Places are metres from the near end of the conductor. A `limit` is the largest error that the instrument's accuracy
allows; `_u` is a standard uncertainty (JCGM 100:2008).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from catalogue.core.document import MarkKind


class Method(StrEnum):
    """How an observation was made, in the words of the API."""

    CAPACITANCE_BOTH_ENDS = "capacitance-both-ends"
    CAPACITANCE_TWIN = "capacitance-twin"
    REFLECTION = "reflection"
    LOOP_BRIDGE = "loop-bridge"
    OPENING = "opening"
    FLEXING = "flexing"


class Side(StrEnum):
    NEAR = "near"
    FAR = "far"


@dataclass(frozen=True, slots=True)
class CapacitanceBothEnds:
    """Capacitance of the broken core from each end, against the same neighbours.

    The limit of each reading is `percent` of it and `digits_farads`.
    """

    method: ClassVar = Method.CAPACITANCE_BOTH_ENDS
    near_farads: float
    far_farads: float
    percent: float
    digits_farads: float


@dataclass(frozen=True, slots=True)
class CapacitanceTwin:
    """Capacitance of the broken core from the near end, and of a sound core of the same kind over the whole length.

    The limit of each reading is `percent` of it and `digits_farads`.
    """

    method: ClassVar = Method.CAPACITANCE_TWIN
    near_farads: float
    twin_farads: float
    percent: float
    digits_farads: float


@dataclass(frozen=True, slots=True)
class Reflection:
    """Time of an echo there and back, sent in at one end, and what is known of the cable's velocity factor."""

    method: ClassVar = Method.REFLECTION
    side: Side
    seconds: float
    seconds_u: float
    velocity_factor: float
    velocity_factor_u: float


@dataclass(frozen=True, slots=True)
class LoopBridge:
    """A balanced loop bridge on a short: the arm at the known sound core, the other arm, and the loop of both cores.

    `percent` is the limit of each arm, in percent of it. The loop is given in metres of the shorted core.
    """

    method: ClassVar = Method.LOOP_BRIDGE
    arm_known: float
    arm_other: float
    loop_m: float
    percent: float


@dataclass(frozen=True, slots=True)
class Opened:
    """The jacket was opened there, and the conductor is sound from there towards one end, so not towards the other."""

    method: ClassVar = Method.OPENING
    at_m: float
    sound_towards: Side


@dataclass(frozen=True, slots=True)
class Flexing:
    """Bending the cable there makes the break come and go, so it is most likely within `within_m` from there."""

    method: ClassVar = Method.FLEXING
    at_m: float
    within_m: float


Observation = CapacitanceBothEnds | CapacitanceTwin | Reflection | LoopBridge | Opened | Flexing


@dataclass(frozen=True, slots=True)
class Suspicion:
    """A mark seen on the conductor's stretch."""

    kind: MarkKind
    at_m: float
