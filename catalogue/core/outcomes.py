"""What became of others who tried the same, as a chance of success.

Three things are put together, each worth so many trials: a prior (judgement, with its reason), what became of the
same kind of failure on other cables (a few trials at most, since they are other cables), and what became of it on
this cable, in full. Reports are made by those who cared to write: the counts are of them, not of everybody.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from enum import StrEnum

from catalogue.core.chances import EVEN, Chance
from catalogue.core.failures import Ending, FailureKind, Remedy


class Option(StrEnum):
    """What can be done about a dead cable."""

    MEND = "mend"
    BUILD = "build"
    BUY_USED = "buy-used"
    BUY_NEW = "buy-new"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Outcomes:
    """How many tried, and how many of them succeeded."""

    succeeded: int = 0
    tried: int = 0

    def __post_init__(self) -> None:
        if not 0 <= self.succeeded <= self.tried:
            raise ValueError("successes are counted among the trials, from 0 to all of them")

    def __add__(self, other: Outcomes) -> Outcomes:
        return Outcomes(self.succeeded + other.succeeded, self.tried + other.tried)


@dataclass(frozen=True, slots=True)
class Told:
    """How `count` reports alike in this ended, and what was tried in them."""

    ending: Ending
    tried: Collection[Remedy]
    count: int = 1


@dataclass(frozen=True, slots=True)
class Prior:
    """What is believed of a chance before anybody's outcome is looked at. All of it is judgement."""

    chance: Chance
    reason: str


ELSEWHERE_AT_MOST = 4.0
"""Outcomes on other cables are worth at most so many trials, however many they are: judgement. Such discounting is
the power prior of J. G. Ibrahim and M.-H. Chen, Statistical Science 15 (2000) 46-60."""

REPORTED = frozenset({Option.MEND, Option.BUILD})
"""Whose outcomes reports can tell: of a bought cable they do not say whether it was used, nor whether it worked."""

NO_MENDING = frozenset({Remedy.CABLE_BUILT, Remedy.CABLE_BOUGHT, Remedy.NOTHING})
"""What may have been tried without trying to mend."""

NO_OUTCOMES = Outcomes()
_NOTHING_KNOWN = Prior(EVEN, "Nothing says either way before outcomes are known: worth one success and one failure.")
_PRIORS = {
    Option.BUY_USED: Prior(Chance(0.8, 5), "A used cable may be worn where the first one broke: four of five work."),
    Option.BUY_NEW: Prior(Chance(0.95, 20), "A new cable works, if it is the right one: nineteen of twenty."),
}
_MENDING_PRIORS = {
    FailureKind.FIBRE_BROKEN: Prior(Chance(0.05, 10), "Glass fibre is not joined at a bench: one of twenty."),
    FailureKind.ELECTRONICS_DEAD: Prior(
        Chance(0.1, 10), "A dead chip in a moulded block is seldom replaced: one of ten."
    ),
}


def outcomes_of(option: Option, reports: Iterable[Told]) -> Outcomes:
    """How often mending or building was tried and done with, and how often it succeeded; nothing of other options.

    Only ended reports count. Who bought a cable after a mend that failed has tried to mend; who bought one at
    once has not.
    """
    if option not in REPORTED:
        return NO_OUTCOMES
    success = Ending.MENDED if option is Option.MEND else Ending.BUILT
    total = NO_OUTCOMES
    for report in reports:
        if report.ending is success:
            total += Outcomes(report.count, report.count)
        elif report.ending is not Ending.NOT_ENDED and _has_tried(option, report.tried):
            total += Outcomes(0, report.count)
    return total


def prior_of(option: Option, kind: FailureKind | None = None) -> Prior:
    """What is believed before outcomes are known. Raises ValueError for stopping, which has no chance."""
    if option is Option.STOP:
        raise ValueError("stopping has no chance of success")
    if option is Option.MEND and kind in _MENDING_PRIORS:
        return _MENDING_PRIORS[kind]
    return _PRIORS.get(option, _NOTHING_KNOWN)


def chance_of_success(prior: Prior, here: Outcomes, elsewhere: Outcomes = NO_OUTCOMES) -> Chance:
    """The prior, after the outcomes on this cable in full and those on others discounted to `ELSEWHERE_AT_MOST`."""
    share = min(1.0, ELSEWHERE_AT_MOST / elsewhere.tried) if elsewhere.tried else 0.0
    others = prior.chance.after(elsewhere.succeeded * share, elsewhere.tried * share)
    return others.after(here.succeeded, here.tried)


def _has_tried(option: Option, tried: Collection[Remedy]) -> bool:
    if option is Option.BUILD:
        return Remedy.CABLE_BUILT in tried
    return bool(set(tried) - NO_MENDING)
