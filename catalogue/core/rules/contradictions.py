"""Rules about readings that cannot all be true of one cable, or not of one of wire and resistors alone."""

from __future__ import annotations

from collections.abc import Iterator

from catalogue.core.bounds import Bound, Violation, steps
from catalogue.core.document import Mode, Point, Reading, Result
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import chain, listed, ohms, readings_of, shown_value
from catalogue.core.rules.remark import Remark


def readings_contradict(context: Context) -> Iterator[Remark]:
    for violation in context.violations:
        if violation.ohmic:
            said = _at_odds(violation)
            yield _remark(context, violation, f"{said} Take these readings again; {violation.bound.reading} first.")


def not_linear(context: Context) -> Iterator[Remark]:
    for violation in context.violations:
        doubtful = [link for link in violation.path if not link.ohmic]
        if violation.ohmic or all(context.diode_between(link.a, link.b) for link in doubtful):
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
    shows = f"{bound.reading} shows at least {ohms(bound.lower)} between {bound.a} and {bound.b}"
    if not violation.path:
        return f"{bound.reading} shows at least {ohms(bound.lower)} with both probes on {bound.a}."
    witness = steps(violation)[:-1]
    leave = "leaves" if len(witness) == 1 else "together leave"
    way = f" ({chain(witness)})" if len(witness) > 1 else ""
    return f"{shows}, but {listed(readings_of(witness))} {leave} at most {ohms(violation.shortest_ohms)}{way}."


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
    for name in context.deduction.impossible_sweeps:
        sweep = context.reading(name)
        proofs = [context.deduction.apart_proof(sweep.red, member) for member in dict.fromkeys(sweep.black)]
        witness = tuple(dict.fromkeys(step for proof in proofs for step in proof))
        readings = tuple(dict.fromkeys((name, *readings_of(witness))))
        yield Remark(
            f"Sweep {name} beeped from {sweep.red}, but every contact it ran along is proved apart from it "
            f"({listed(sweep.black)}), says {listed(readings[1:])}. Take the sweep again, more slowly.",
            contacts=(sweep.red, *dict.fromkeys(sweep.black)),
            readings=readings,
            witness=witness,
            at=context.readings_at(readings),
        )
