"""Checking a map: every rule of the table looks at it, and what they say comes back as findings.

Rejections come first, then warnings, then notes; among equals in the order of the table, and within a rule in
the order of the document. The same map gives the same findings.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import islice
from types import MappingProxyType

from catalogue.core.document import MapDocument
from catalogue.core.findings import Finding, Severity
from catalogue.core.reference import Reference
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import readings_of
from catalogue.core.rules.remark import Remark
from catalogue.core.rules.table import RULES, Rule

MOST = 50
"""Findings kept of one rule, since one wrong reading can contradict hundreds. The last says how many more."""

ENOUGH = 2 * MOST
"""Remarks that one rule is asked for, since proofs cost work. Rules of mixed severity say rejections first."""


def check(
    document: MapDocument, reference: Reference, hints: Mapping[str, str] = MappingProxyType({})
) -> tuple[Finding, ...]:
    """What the rules have to say about a map; `findings.accepted` tells whether that refuses it.

    `hints` take the place of those for the author of the map, by the code of the rule. Takes any document, sound or
    half broken, and never raises for what is in it.
    """
    context = Context(document, reference)
    found = [_finding(rule, remark, hints) for rule in RULES for remark in islice(rule.check(context), ENOUGH)]
    return _shortened(sorted(found, key=lambda finding: list(Severity).index(finding.severity)))


def _finding(rule: Rule, remark: Remark, hints: Mapping[str, str]) -> Finding:
    hint = remark.hint and hints.get(rule.code, remark.hint)
    return Finding(
        code=rule.code,
        severity=remark.severity or rule.severity,
        message=f"{remark.message} {hint}".rstrip(),
        contacts=remark.contacts,
        readings=tuple(dict.fromkeys((*remark.readings, *readings_of(remark.witness)))),
        witness=remark.witness,
        at=remark.at,
    )


def _shortened(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """At most MOST findings of each code, of which the last says how many were left out."""
    total = Counter(finding.code for finding in findings)
    seen: Counter[str] = Counter()
    kept = []
    for finding in findings:
        seen[finding.code] += 1
        if seen[finding.code] < MOST or total[finding.code] == MOST:
            kept.append(finding)
        elif seen[finding.code] == MOST:
            left = total[finding.code] - MOST
            more = f"{left}" if total[finding.code] < ENOUGH else f"at least {left}"
            kept.append(replace(finding, message=f"{finding.message} There are {more} more findings of this kind."))
    return tuple(kept)
