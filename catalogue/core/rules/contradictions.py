"""Rules about readings that cannot all be true of one cable, or not of one of wire and resistors alone."""

from __future__ import annotations

from collections.abc import Iterator

from catalogue.core.bounds import Bound, Violation, steps
from catalogue.core.document import Mode, Point, Reading, Result
from catalogue.core.findings import Severity
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import bounds_apart, chain, listed, readings_of, shown_value
from catalogue.core.rules.remark import Remark


def readings_contradict(context: Context) -> Iterator[Remark]:
    for violation in context.violations:
        if violation.ohmic:
            said = _at_odds(violation)
            yield _remark(context, violation, f"{said} Take these readings again; {violation.bound.reading} first.")


def not_linear(context: Context) -> Iterator[Remark]:
    for violation in context.violations:
        if violation.ohmic:
            continue
        doubtful = [link for link in violation.path if not link.ohmic]
        if all(context.diode_between(link.a, link.b) for link in doubtful):
            continue
        if _only_reversed(violation):
            hint = "Something in between is not linear then: a diode or a chip. List the part."
        else:
            hint = (
                "A part that is not linear, such as a diode or a chip, may explain it: read "
                f"{_pair(doubtful[0])} once more with the probes changed over."
            )
        yield _remark(context, violation, f"{_at_odds(violation)} {hint}")
    yield from _diode_readings_that_differ(context)


def _at_odds(violation: Violation) -> str:
    bound = violation.bound
    least, most = bounds_apart(bound.lower, violation.shortest_ohms)
    if not violation.path:
        return f"{bound.reading} shows {least} with both probes on {bound.a}."
    witness = steps(violation)[:-1]
    leave = "leaves" if len(witness) == 1 else "together leave"
    way = f" ({chain(witness)})" if len(witness) > 1 else ""
    shows = f"{bound.reading} shows {least} between {bound.a} and {bound.b}"
    return f"{shows}, but {listed(readings_of(witness))} {leave} {most}{way}."


def _remark(context: Context, violation: Violation, message: str) -> Remark:
    bound = violation.bound
    witness = steps(violation)
    points = (bound.a, bound.b, *(step.finish for step in witness[:-2]))
    readings = tuple(dict.fromkeys((bound.reading, *readings_of(witness))))
    return Remark(
        message,
        contacts=tuple(dict.fromkeys(points)),
        readings=readings,
        witness=witness,
        at=context.readings_at(readings),
    )


def _only_reversed(violation: Violation) -> bool:
    """Whether one reading stands against one other of the same two points with the probes changed over."""
    bound = violation.bound
    return len(violation.path) == 1 and (violation.path[0].a, violation.path[0].b) == (bound.b, bound.a)


def _pair(bound: Bound) -> str:
    return f"{bound.a} to {bound.b}"


def _diode_readings_that_differ(context: Context) -> Iterator[Remark]:
    """Diode-mode readings that show a value one way round and are over limit the other."""
    conducting: dict[tuple[Point, Point], Reading] = {}
    blocking: dict[tuple[Point, Point], Reading] = {}
    for reading in context.sound_readings:
        if reading.mode is Mode.DIODE and not reading.flexed:
            found = conducting if reading.result is Result.VALUE else blocking
            found.setdefault((reading.red, reading.black[0]), reading)
    for (red, black), reading in conducting.items():
        other = blocking.get((black, red))
        if other is not None and not context.diode_between(red, black):
            readings = (reading.id, other.id)
            yield Remark(
                f"{reading.id} shows {shown_value(reading)} from {red} to {black}, and {other.id} over "
                "limit the other way round: a junction lies between them. List the diode, or the module "
                "that holds a chip.",
                contacts=(red, black),
                readings=readings,
                at=context.readings_at(readings),
            )


def sweep_impossible(context: Context) -> Iterator[Remark]:
    for wanted, severity in ((True, None), (False, Severity.WARN)):
        for sweep in map(context.reading, context.deduction.impossible_sweeps):
            if context.deduction.is_silent_by_low(sweep) is wanted:
                yield _no_member_left(context, sweep, severity)


def _no_member_left(context: Context, sweep: Reading, severity: Severity | None) -> Remark:
    witness = context.deduction.impossible_proof(sweep)
    readings = tuple(dict.fromkeys((sweep.id, *readings_of(witness))))
    hint = (
        "Take the sweep again, more slowly."
        if severity is None
        else "One of the beeps among these may have been of a small part: read them in ohms, then take the sweep again."
    )
    return Remark(
        f"Sweep {sweep.id} beeped from {sweep.red}, but every contact it ran along is "
        f"{'proved' if severity is None else 'taken to be'} apart from it ({listed(sweep.black)}), says "
        f"{listed(readings[1:])}. {hint}",
        contacts=(sweep.red, *dict.fromkeys(sweep.black)),
        readings=readings,
        witness=witness,
        at=context.readings_at(readings),
        severity=severity,
    )
