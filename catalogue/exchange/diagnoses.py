"""A diagnosis as JSON values: one shape for the API and for `manage.py diagnose --json`."""

from __future__ import annotations

from collections.abc import Iterable

from catalogue.core.cautions import CAUTIONS, Caution
from catalogue.core.diagnosis.explanations import Contribution, Ranked
from catalogue.core.diagnosis.next_tests import BenchTest
from catalogue.core.diagnosis.states import Rail
from catalogue.core.diagnosis.verdicts import MARGIN_DECIBANS, Diagnosis, Explained, Verdict
from catalogue.core.findings import Step
from catalogue.core.powering import Outcome, Powering, ProofCheck

Json = dict[str, object]

CHECKS_SHOWN = 500
"""Checks before power that are listed, failed and missing ones first; the counts tell of all."""

PAIRS_SHOWN = 20
"""Pairs still to read that are listed for one net or check: reading the first mostly settles others."""


def diagnosis_json(diagnosis: Diagnosis, powering: Powering, against: Json, disputed: Iterable[str]) -> Json:
    """The whole answer. `against` says what the readings were held against, `disputed` are readings at odds."""
    return {
        "against": against,
        "rows": [_rail(rail) for rail in diagnosis.rails],
        "disputed_readings": list(disputed),
        "explanations": [_explained(explained) for explained in diagnosis.explained],
        "margin_decibans": MARGIN_DECIBANS,
        "next_tests": [_test(test) for test in diagnosis.next_tests],
        "verdict": _verdict(diagnosis.verdict),
        "safe_to_power": _powering(powering),
    }


def _rail(rail: Rail) -> Json:
    return {
        "name": rail.name,
        "role": rail.role.value,
        "via": rail.via.value if rail.via else None,
        "contacts": list(rail.contacts),
        "state": rail.state.value,
        "with": list(rail.others),
        "intermittent": rail.intermittent,
        "proof": _steps(rail.proof),
        "to_read": _pairs(rail.to_read),
    }


def _explained(explained: Explained) -> Json:
    return {
        "about": explained.group.kind.value,
        "rows": list(explained.group.names),
        "ranking": [_ranked(ranked) for ranked in explained.ranking],
        "verdict": _verdict(explained.verdict),
    }


def _ranked(ranked: Ranked) -> Json:
    return {
        "explanation": ranked.explanation.value,
        "chance": ranked.chance,
        "decibans": ranked.decibans,
        "contributions": [_contribution(contribution) for contribution in ranked.contributions],
    }


def _contribution(contribution: Contribution) -> Json:
    return {
        "evidence": contribution.source,
        "holds": contribution.holds,
        "decibans": contribution.decibans,
        "because": contribution.because,
        "why": contribution.why,
        "readings": list(contribution.readings),
    }


def _test(test: BenchTest) -> Json:
    return {
        "test": test.evidence.value,
        "harm": test.harm.value,
        "tells_bits": test.tells_bits,
        "how": test.how,
        "about": [kind.value for kind in test.about],
        "cautions": _cautions(test.cautions),
    }


def _verdict(verdict: Verdict) -> Json:
    return {
        "certainty": verdict.certainty.value,
        "text": verdict.text,
        "explanation": verdict.explanation.value if verdict.explanation else None,
        "mendable": verdict.mendable.value if verdict.mendable else None,
        "would_tell": verdict.would_tell.value if verdict.would_tell else None,
    }


def _powering(powering: Powering) -> Json:
    counts = {outcome.value: len(powering.with_outcome(outcome)) for outcome in Outcome}
    return {
        "verdict": "proved" if powering.proved else "not yet proved",
        "text": powering.text,
        "supplies": list(powering.supplies),
        "counts": counts,
        "checks": [_check(check) for check in powering.checks[:CHECKS_SHOWN]],
        "cautions": _cautions((Caution.READING, Caution.POWERING)),
    }


def _check(check: ProofCheck) -> Json:
    return {
        "aim": check.aim.value,
        "net": check.net,
        "other": check.other,
        "outcome": check.outcome.value,
        "needs_ohms": check.needs_ohms,
        "at_least_ohms": check.at_least_ohms,
        "proof": _steps(check.proof),
        "to_read": _pairs(check.to_read),
    }


def _steps(steps: Iterable[Step]) -> list[Json]:
    return [
        {"reading": step.reading, "from": step.start, "to": step.finish, "limit": step.limit.value, "ohms": step.ohms}
        for step in steps
    ]


def _pairs(pairs: Iterable[tuple[str, str]]) -> list[list[str]]:
    return [list(pair) for pair in pairs][:PAIRS_SHOWN]


def _cautions(cautions: Iterable[Caution]) -> list[str]:
    return [CAUTIONS[caution] for caution in cautions]
