"""How thick a core must be: the thinnest wire whose drop at a current, contacts included, stays within a limit.

A `Demand` says what one conductor has to carry and how far; `thinnest` finds the wire. A supply and its return
are two conductors, each with a demand of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from catalogue.core.copper import temperature_factor

STRANDED = 1.082
"""Resistance of stranded wire of an American gauge against solid: the mean of the five gauges of the power cores in
the cable length table of USB 2.0 ch. 6, which lie between 1.076 and 1.090."""

DENSEST_A_PER_MM2 = 8.0
"""No core is proposed above this current density, however short. Judgement: USB 2.0 itself allows 0.5 A on AWG 28
(6.2 A/mm²) within a bundle, and single wires in air are commonly run at more than twice that."""

SOLD_AWG = frozenset(range(10, 37, 2))
"""Gauges that stranded wire is sold in: the even ones. Common practice."""


class Sizing(StrEnum):
    """How the thickness of a wire is told."""

    AWG = "awg"
    METRIC = "mm2"


class Decider(StrEnum):
    """Which of the two limits made the wire as thick as it is."""

    DROP = "drop"
    CURRENT = "current"


@dataclass(frozen=True, slots=True)
class Wire:
    """A stranded copper wire as it is sold; `ohms_per_m` at 20 °C."""

    name: str
    sizing: Sizing
    area_mm2: float
    ohms_per_m: float
    source: str


@dataclass(frozen=True, slots=True)
class Demand:
    """One conductor: its current, its length one way, the contacts in its way all together, and the most drop."""

    amperes: float
    length_m: float
    contact_ohms: float
    most_drop_volts: float

    def __post_init__(self) -> None:
        if not (self.amperes > 0 and self.length_m > 0 and self.contact_ohms >= 0 and self.most_drop_volts > 0):
            raise ValueError("current, length and drop are above 0, and contacts not below")

    @property
    def most_core_ohms(self) -> float:
        """What the core may have, warm as it is; 0 or below when the contacts alone drop too much."""
        return self.most_drop_volts / self.amperes - self.contact_ohms


def drop_volts(ohms_per_m: float, demand: Demand, celsius: float = 20.0) -> float:
    """The drop along the core and its contacts, in volts."""
    return (ohms_per_m * temperature_factor(celsius) * demand.length_m + demand.contact_ohms) * demand.amperes


def longest_m(ohms_per_m: float, demand: Demand, celsius: float = 20.0) -> float:
    """The greatest length at which the core keeps within the drop, whatever the demand's own; 0 when none does."""
    return max(0.0, demand.most_core_ohms / (ohms_per_m * temperature_factor(celsius)))


def least_area_mm2(demand: Demand) -> float:
    """The least copper that may carry the current, by its density alone."""
    return demand.amperes / DENSEST_A_PER_MM2


def thinnest(wires: Iterable[Wire], sizing: Sizing, demand: Demand, celsius: float = 20.0) -> Wire | None:
    """The thinnest wire that keeps both limits; None when the thickest does not."""
    fitting = [
        wire
        for wire in wires
        if wire.sizing is sizing
        and wire.area_mm2 >= least_area_mm2(demand)
        and drop_volts(wire.ohms_per_m, demand, celsius) <= demand.most_drop_volts
    ]
    return min(fitting, key=lambda wire: wire.area_mm2, default=None)


def decider(wires: Iterable[Wire], wire: Wire, demand: Demand, celsius: float = 20.0) -> Decider:
    """Which limit the next thinner wire of the same sizing would break; the drop, when it would break both."""
    thinner = [other for other in wires if other.sizing is wire.sizing and other.area_mm2 < wire.area_mm2]
    next_thinner = max(thinner, key=lambda other: other.area_mm2, default=None)
    ohms_per_m = next_thinner.ohms_per_m if next_thinner else math.inf
    return Decider.DROP if drop_volts(ohms_per_m, demand, celsius) > demand.most_drop_volts else Decider.CURRENT
