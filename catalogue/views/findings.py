"""Findings and defects as a page shows them: by severity and rule, each with the lines it speaks of."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from catalogue.core.findings import Finding, Severity, accepted
from catalogue.core.problems import Defect, Problem
from catalogue.core.source_lines import Line, Span, Text, excerpt, spans

MOST_UNFOLDED = 6
"""Findings of one rule that are open to the eye at once."""

SEVERITIES = tuple(Severity)

# Where of what was sent a finding or defect stands, by its pointer (or `line 7`).
Places = Mapping[str, Span]


@dataclass(frozen=True, slots=True)
class Shown:
    """One finding with the numbers of the lines it speaks of, in the order it names them."""

    finding: Finding
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class OfRule:
    code: str
    shown: tuple[Shown, ...]

    @property
    def is_long(self) -> bool:
        """Whether the findings are folded up, so that they do not bury those of other rules."""
        return len(self.shown) > MOST_UNFOLDED


@dataclass(frozen=True, slots=True)
class OfSeverity:
    severity: Severity
    count: int
    rules: tuple[OfRule, ...]


@dataclass(frozen=True, slots=True)
class ShownDefect:
    """Something that could not be read, and the line where."""

    defect: Defect
    line: int | None


@dataclass(frozen=True)
class Outcome:
    """What checking came to: whether the map would be taken, why not, and the lines concerned."""

    accepted: bool
    severities: tuple[OfSeverity, ...]
    defects: tuple[ShownDefect, ...] = ()
    excerpt: Sequence[Sequence[Line]] = ()
    problem: str = ""

    @property
    def is_refused(self) -> bool:
        """Whether a rule speaks against the map, as far as it could be read."""
        return any(group.severity is Severity.REJECT for group in self.severities)


def grouped(
    findings: Iterable[Finding], text: Text | None = None, places: Places | None = None
) -> tuple[OfSeverity, ...]:
    """Findings by severity, worst first, and by rule in the order found."""
    by_severity: dict[Severity, list[Finding]] = {severity: [] for severity in SEVERITIES}
    for finding in findings:
        by_severity[finding.severity].append(finding)
    return tuple(
        OfSeverity(severity, len(group), tuple(_by_rule(group, text, places or {})))
        for severity, group in by_severity.items()
        if group
    )


def _by_rule(findings: Iterable[Finding], text: Text | None, places: Places) -> Iterator[OfRule]:
    rules: dict[str, list[Shown]] = {}
    for finding in findings:
        rules.setdefault(finding.code, []).append(Shown(finding, _lines(finding.at, text, places)))
    for code, shown in rules.items():
        yield OfRule(code, tuple(shown))


def _lines(pointers: Iterable[str], text: Text | None, places: Places) -> tuple[int, ...]:
    if text is None:
        return ()
    lines = (text.line_at(places[pointer].start) for pointer in pointers if pointer in places)
    return tuple(dict.fromkeys(lines))


def outcome(
    text: Text,
    places: Places,
    findings: Sequence[Finding] = (),
    defects: Sequence[Defect] = (),
    problem: Problem | None = None,
) -> Outcome:
    """What is shown after a check of a text. `places` are the spans of what findings and defects point at."""
    severities = grouped(findings, text, places)
    shown_defects = tuple(
        ShownDefect(defect, text.line_at(places[defect.where].start) if defect.where in places else None)
        for defect in defects
    )
    pointed_at = {pointer for finding in findings for pointer in finding.at}
    pointed_at |= {defect.where for defect in defects}
    return Outcome(
        accepted=not problem and not defects and accepted(findings),
        severities=severities,
        defects=shown_defects,
        excerpt=excerpt(text, [places[pointer] for pointer in pointed_at if pointer in places]),
        problem=problem.text if problem else "",
    )


def json_outcome(
    text: str,
    findings: Sequence[Finding] = (),
    defects: Sequence[Defect] = (),
    problem: Problem | None = None,
) -> Outcome:
    """The same for a JSON text, in which every pointer has its place."""
    lines = Text(text)
    pointers = {pointer for finding in findings for pointer in finding.at}
    wheres = {defect.where for defect in defects}
    by_line = {where: span for where in wheres if (span := span_of_line(lines, where))}
    places = spans(text, pointers | (wheres - by_line.keys())) | by_line
    return outcome(lines, places, findings, defects, problem)


def span_of_line(text: Text, where: str) -> Span | None:
    """The line that `line 7` names, or None when it names no line."""
    found = re.match(r"line (\d{1,9})\b", where)
    return text.span_of_line(min(max(1, int(found[1])), text.line_count)) if found else None
