"""A finding: what a rule has to say about a map. A value, not an exception: an imperfect map may stay as a draft."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any


class Severity(StrEnum):
    """`reject` only with proof that no cable can be so; all else warns or notes."""

    REJECT = "reject"
    WARN = "warn"
    NOTE = "note"


class Limit(StrEnum):
    AT_MOST = "at most"
    AT_LEAST = "at least"


@dataclass(frozen=True, slots=True)
class Step:
    """One link of a witness: this reading bounds the resistance between two points from above or below."""

    reading: str
    start: str
    finish: str
    limit: Limit
    ohms: float


@dataclass(frozen=True, slots=True)
class Finding:
    """`at` holds JSON pointers (RFC 6901) into the document, the first being where to look; `witness` is the proof."""

    code: str
    severity: Severity
    message: str
    contacts: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    witness: tuple[Step, ...] = ()
    at: tuple[str, ...] = ()


def accepted(findings: Iterable[Finding]) -> bool:
    """Whether a map with these findings may be stored as a revision: nothing in it is proved impossible."""
    return all(finding.severity is not Severity.REJECT for finding in findings)


def finding_json(finding: Finding) -> dict[str, object]:
    """The finding as JSON values, in the shape that the API gives and the store keeps."""
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "message": finding.message,
        "contacts": list(finding.contacts),
        "readings": list(finding.readings),
        "witness": [
            {
                "reading": step.reading,
                "from": step.start,
                "to": step.finish,
                "limit": step.limit.value,
                "ohms": step.ohms,
            }
            for step in finding.witness
        ],
        "at": list(finding.at),
    }


def finding_from_json(value: dict[str, Any]) -> Finding:
    """The finding that `finding_json` wrote."""
    return Finding(
        code=value["code"],
        severity=Severity(value["severity"]),
        message=value["message"],
        contacts=tuple(value["contacts"]),
        readings=tuple(value["readings"]),
        witness=tuple(
            Step(step["reading"], step["from"], step["to"], Limit(step["limit"]), step["ohms"])
            for step in value["witness"]
        ),
        at=tuple(value["at"]),
    )
