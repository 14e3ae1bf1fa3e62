"""What can explain a dead rail, what can be found out about it, and how much each finding weighs.

A weight is the log-odds, in decibans, that a finding is made when an explanation holds: 0 is even, 10 is ten to
one, 20 a hundred to one. That one number gives the chance of the finding and of its absence, so the ranking of
explanations and the choice of the next test rest on the same weights. All of them are judgement, in one file that
`catalogue.tables` reads.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Explanation(StrEnum):
    CORE_BROKEN = "core-broken"
    CORES_BROKEN = "cores-broken-at-one-place"
    BAD_CONTACT = "bad-contact"
    SERIES_CAPACITOR = "series-capacitor"
    ACTIVE_ELECTRONICS = "active-electronics"
    FIBRE = "fibre"
    DEVICE = "device"


class Mendable(StrEnum):
    """What a bench can do when an explanation holds."""

    YES = "yes"
    NO = "no"
    NOTHING_TO_MEND = "nothing-to-mend"


MENDABLE: Mapping[Explanation, Mendable] = {
    Explanation.CORE_BROKEN: Mendable.YES,
    Explanation.CORES_BROKEN: Mendable.YES,
    Explanation.BAD_CONTACT: Mendable.YES,
    Explanation.SERIES_CAPACITOR: Mendable.NOTHING_TO_MEND,
    Explanation.ACTIVE_ELECTRONICS: Mendable.NO,
    Explanation.FIBRE: Mendable.NO,
    Explanation.DEVICE: Mendable.NOTHING_TO_MEND,
}


class Evidence(StrEnum):
    """What is found or not found. The map and the readings tell the first of them, a person's looks the last."""

    MAP_SAYS_COPPER = "map-says-copper"
    MAP_SAYS_FIBRE = "map-says-fibre"
    MAP_SAYS_CAPACITOR = "map-says-capacitor"
    MAP_SAYS_CHIP = "map-says-chip"
    OPTICAL_MODULE = "optical-module"
    ACTIVE_MODULE = "active-module"
    UNOPENED_MODULE = "unopened-module"
    MARK_ON_THE_WAY = "mark-on-the-way"
    SUPPLY_DEAD = "supply-dead"
    READS_OPEN = "reads-open"
    READS_HIGH = "reads-high"
    ONE_DEAD = "one-dead"
    ALL_SIGNALS_OPEN = "all-signals-open"
    ONE_BUNDLE = "one-bundle"
    COMES_AND_GOES = "comes-and-goes"
    JUNCTION_TO_GROUND = "junction-to-ground"
    CAPACITANCE_OF_LENGTH = "capacitance-of-length"
    CAPACITOR_BETWEEN_ENDS = "capacitor-between-ends"
    LAMP_LIGHT = "lamp-light"
    GLASS_SEEN = "glass-seen"
    BLOCK_WARM = "block-warm"
    CONTACT_WORN = "contact-worn"
    OTHER_CABLE_WORKS = "other-cable-works"
    BREAK_SEEN = "break-seen"


LOOKS = (
    Evidence.LAMP_LIGHT,
    Evidence.GLASS_SEEN,
    Evidence.BLOCK_WARM,
    Evidence.CONTACT_WORN,
    Evidence.OTHER_CABLE_WORKS,
    Evidence.BREAK_SEEN,
)
"""What no meter tells: a person looks, and answers yes or no."""


@dataclass(frozen=True, slots=True)
class Weight:
    """Log-odds in decibans that something is found when one explanation holds, and why."""

    decibans: float
    why: str

    @property
    def chance(self) -> float:
        """The chance of the finding, 0 to 1."""
        return float(1 / (1 + 10 ** (-self.decibans / 10)))


@dataclass(frozen=True)
class Weights:
    """All weights: for every evidence and explanation one. `before` holds the chances before anything is known,
    told the same way; they need not add up to one."""

    before: Mapping[Explanation, Weight]
    found: Mapping[Evidence, Mapping[Explanation, Weight]]

    def __post_init__(self) -> None:
        every = set(Explanation)
        lacking = [name for name in Evidence if set(self.found.get(name, ())) != every]
        if set(self.before) != every or lacking:
            raise ValueError(f"no weight for every explanation of: {', '.join(lacking) or 'before'}")

    def chance(self, evidence: Evidence, explanation: Explanation, holds: bool = True) -> float:
        """The chance to find (or, without `holds`, not to find) the evidence when the explanation is true."""
        decibans = self.found[evidence][explanation].decibans
        return Weight(decibans if holds else -decibans, "").chance
