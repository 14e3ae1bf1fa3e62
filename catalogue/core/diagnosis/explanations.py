"""Which explanation of dead rails is how likely, and what moved it there: Bayes' rule with independent evidence.

Each contribution is 10 log10 of the chance of what was found under one explanation, over the plain mean of that
chance under all of them: above 0 it speaks for the explanation, below against it. An explanation's decibans are
the sum of its contributions, and chances are in the ratio of 10^(decibans / 10).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from catalogue.core.diagnosis.evidence import Evidence, Explanation, Weights
from catalogue.core.failures import Failure, FailureKind

BEFORE = "before"
REPORTS = "reports"

REPORTS_OF_JUDGEMENT = 10.0
"""How many failure reports the chances before any evidence are worth: with as many reports of this very cable, the
reports count as much as judgement does (judgement)."""

EXPLAINS: Mapping[FailureKind, tuple[Explanation, ...]] = {
    FailureKind.CORE_OPEN: (Explanation.CORE_BROKEN, Explanation.CORES_BROKEN),
    FailureKind.HIGH_RESISTANCE: (Explanation.CORE_BROKEN, Explanation.BAD_CONTACT),
    FailureKind.INTERMITTENT: (Explanation.CORE_BROKEN, Explanation.BAD_CONTACT),
    FailureKind.FIBRE_BROKEN: (Explanation.FIBRE,),
    FailureKind.ELECTRONICS_DEAD: (Explanation.ACTIVE_ELECTRONICS,),
    FailureKind.CONTACT_WORN: (Explanation.BAD_CONTACT,),
}
"""Which explanations a reported kind of failure speaks for, in equal shares; other kinds speak for none."""

REPORTED_AS: Mapping[Explanation, FailureKind] = {
    Explanation.CORE_BROKEN: FailureKind.CORE_OPEN,
    Explanation.CORES_BROKEN: FailureKind.CORE_OPEN,
    Explanation.BAD_CONTACT: FailureKind.CONTACT_WORN,
    Explanation.ACTIVE_ELECTRONICS: FailureKind.ELECTRONICS_DEAD,
    Explanation.FIBRE: FailureKind.FIBRE_BROKEN,
}
"""The kind of failure that a report would call an explanation; none for what is no failure of the cable."""


@dataclass(frozen=True, slots=True)
class Observed:
    """One evidence that is decided: whether it holds, the sentence that says so, and the readings behind it."""

    evidence: Evidence
    holds: bool
    because: str
    readings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Contribution:
    """How far one evidence moved one explanation. `source` is an evidence, `before` or `reports`."""

    source: str
    holds: bool
    decibans: float
    because: str
    why: str
    readings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ranked:
    """An explanation with its chance (0 to 1), its decibans and the contributions that add up to them."""

    explanation: Explanation
    chance: float
    decibans: float
    contributions: tuple[Contribution, ...]


def ranked(weights: Weights, observations: Sequence[Observed], failures: Iterable[Failure] = ()) -> tuple[Ranked, ...]:
    """All explanations, the likeliest first; of equals in their own order.

    `failures` are the reports that the catalogue holds for this cable and these rails; they shift the chances
    before any evidence towards what was found in other specimens.
    """
    before = _before(weights)
    counts = _counts(failures)
    told = {explanation: [_first(weights, explanation, before)] for explanation in Explanation}
    if counts:
        _add_reports(told, before, counts)
    for seen in observations:
        chances = {each: weights.chance(seen.evidence, each, seen.holds) for each in Explanation}
        mean = math.fsum(chances.values()) / len(chances)
        for each, chance in chances.items():
            moved, why = 10 * math.log10(chance / mean), weights.found[seen.evidence][each].why
            told[each].append(Contribution(seen.evidence, seen.holds, moved, seen.because, why, seen.readings))
    totals = {each: math.fsum(one.decibans for one in contributions) for each, contributions in told.items()}
    chances = _chances(totals)
    order = sorted(Explanation, key=lambda each: -totals[each])
    return tuple(Ranked(each, chances[each], totals[each], tuple(told[each])) for each in order)


def _before(weights: Weights) -> dict[Explanation, float]:
    """The chances before any evidence, adding up to one."""
    plain = {explanation: weights.before[explanation].chance for explanation in Explanation}
    whole = math.fsum(plain.values())
    return {explanation: chance / whole for explanation, chance in plain.items()}


def _first(weights: Weights, explanation: Explanation, before: Mapping[Explanation, float]) -> Contribution:
    moved = 10 * math.log10(before[explanation] * len(before))
    why = weights.before[explanation].why
    return Contribution(BEFORE, True, moved, "This is how often it is so, before anything is known.", why)


def _counts(failures: Iterable[Failure]) -> dict[Explanation, float]:
    counts: dict[Explanation, float] = {}
    for failure in failures:
        explained = EXPLAINS.get(failure.kind, ())
        for explanation in explained:
            counts[explanation] = counts.get(explanation, 0.0) + 1 / len(explained)
    return counts


def _add_reports(
    told: dict[Explanation, list[Contribution]],
    before: Mapping[Explanation, float],
    counts: Mapping[Explanation, float],
) -> None:
    """The mean of a Dirichlet prior worth `REPORTS_OF_JUDGEMENT` reports after those that there are."""
    reports = math.fsum(counts.values())
    for explanation, chance in before.items():
        after = (REPORTS_OF_JUDGEMENT * chance + counts.get(explanation, 0.0)) / (REPORTS_OF_JUDGEMENT + reports)
        because = f"{counts.get(explanation, 0.0):g} of {reports:g} failure reports of this cable speak for it."
        why = "What failed in other specimens of a cable tends to fail again."
        told[explanation].append(Contribution(REPORTS, True, 10 * math.log10(after / chance), because, why))


def _chances(totals: Mapping[Explanation, float]) -> dict[Explanation, float]:
    highest = max(totals.values())
    plain = {explanation: 10 ** ((decibans - highest) / 10) for explanation, decibans in totals.items()}
    whole = math.fsum(plain.values())
    return {explanation: chance / whole for explanation, chance in plain.items()}
