"""Rules about readings that say less than they seem to, or not always the same."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from catalogue.core.bounds import span_ohms
from catalogue.core.document import Mode, Point, Reading, Result
from catalogue.core.findings import Limit
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import counted, listed, ohms, readings_of, shown_value
from catalogue.core.rules.remark import Remark

LOW_RANGE_OHMS = 2000.0
"""Over limit on this range or a lower one leaves room for the resistors of a few kilohms that cables are
identified by."""


def beep_too_coarse(context: Context) -> Iterator[Remark]:
    told: set[int] = set()
    for bound in context.bounds:
        if math.isinf(bound.upper) or bound.upper <= context.document.meter.join_ohms:
            continue
        reading = context.reading(bound.reading)
        net = context.deduction.net_index[bound.a]
        if reading.mode is not Mode.OHMS or net in told or not _by_ear_alone(context, bound.a, bound.b):
            continue
        chain = [step for step in context.deduction.joined_proof(bound.a, bound.b) if step.limit is Limit.AT_MOST]
        beeps = [step for step in chain if context.reading(step.reading).mode is not Mode.OHMS]
        if beeps and bound.lower <= sum(step.ohms for step in chain):
            told.add(net)
            readings = tuple(dict.fromkeys((bound.reading, *readings_of(chain))))
            yield Remark(
                f"{bound.a} and {bound.b} count as joined because {listed(readings_of(beeps))} beeped, but "
                f"{bound.reading} shows {shown_value(reading)} between them. A buzzer sounds up to "
                f"{ohms(context.document.meter.beep_ohms[1])}, so a small part may sit in between: read "
                f"{beeps[0].start} to {beeps[0].finish} in ohms.",
                contacts=(bound.a, bound.b),
                readings=readings,
                witness=tuple(chain),
                at=context.readings_at(readings),
            )


def _by_ear_alone(context: Context, a: Point, b: Point) -> bool:
    """Whether two points count as one conductor, but low readings alone would not make them one."""
    deduction = context.deduction
    return deduction.is_joined(a, b) and deduction.conductor_index[a] != deduction.conductor_index[b]


def range_too_low(context: Context) -> Iterator[Remark]:
    by_range: dict[float, list[Reading]] = {}
    for reading in context.sound_readings:
        if reading.mode is Mode.OHMS and reading.result is Result.OVER:
            range_ohms = reading.range_ohms or context.document.meter.range_ohms
            if range_ohms <= LOW_RANGE_OHMS:
                by_range.setdefault(range_ohms, []).append(reading)
    for range_ohms, readings in sorted(by_range.items()):
        names = tuple(reading.id for reading in readings)
        proves = (
            "proves nothing at all"
            if range_ohms <= context.document.meter.join_ohms
            else "only shows that there is no direct joint: a part of a few kΩ reads the same"
        )
        yield Remark(
            f"Over limit on the {ohms(range_ohms)} range ({counted(len(names), 'reading')}: "
            f"{listed(names)}) {proves}. Read on the highest range.",
            readings=names,
            at=context.readings_at(names),
        )


def intermittent(context: Context) -> Iterator[Remark]:
    for (a, b), looks in _looks_at_flexed_pairs(context).items():
        flexed = [look for look in looks if look.reading.flexed]
        found = _change(flexed, looks) or _change_from_proof(context, a, b, flexed)
        if found is not None:
            look, others, said = found
            readings = (look.reading.id, *others)
            yield Remark(
                f"{a} to {b} comes and goes: {look.reading.id}, taken while flexing, "
                f"{_showed(look.reading)}, but {said}. Flex it bit by bit and note as a mark where it "
                "happens.",
                contacts=(a, b),
                readings=readings,
                at=context.readings_at(readings),
            )


@dataclass(frozen=True, slots=True)
class _Look:
    """One look at a pair of points and the ohms it allows; `closed` is None where both may be."""

    reading: Reading
    closed: bool | None
    lower: float
    upper: float

    def differs_from(self, other: _Look) -> bool:
        if self.closed is not None and other.closed is not None and self.closed is not other.closed:
            return True
        return self.lower > other.upper or other.lower > self.upper


def _looks_at_flexed_pairs(context: Context) -> dict[tuple[Point, Point], list[_Look]]:
    """Every look at a pair that was read while flexing at least once, in the order of the readings."""
    looks: dict[tuple[Point, Point], list[_Look]] = {}
    for wanted in (True, False):
        for reading in context.sound_readings:
            for black in reading.black if reading.flexed is wanted else ():
                pair = (min(reading.red, black), max(reading.red, black))
                if (wanted or pair in looks) and (look := _look(context, reading)) is not None:
                    looks.setdefault(pair, []).append(look)
    return looks


def _look(context: Context, reading: Reading) -> _Look | None:
    meter = context.document.meter
    span = span_ohms(replace(reading, flexed=False), meter)
    if span is None:
        return None
    lower, upper = span
    closed: bool | None = None
    if reading.result is Result.BEEPS or upper <= meter.join_ohms:
        closed = True
    elif lower > meter.join_ohms:
        closed = False
    return _Look(reading, closed, lower, upper)


Change = tuple[_Look, tuple[str, ...], str]
"""A look while flexing, the readings it differs from, and what those say."""


def _change(flexed: list[_Look], looks: list[_Look]) -> Change | None:
    for look in flexed:
        for other in looks:
            if look.differs_from(other):
                return look, (other.reading.id,), f"{other.reading.id} {_showed(other.reading)}"
    return None


def _change_from_proof(context: Context, a: Point, b: Point, flexed: list[_Look]) -> Change | None:
    for look in flexed:
        if look.closed is False and context.deduction.is_joined(a, b):
            readings = readings_of(context.deduction.joined_proof(a, b))
            return look, readings, f"at rest {listed(readings)} prove them joined"
        if look.closed is True and context.deduction.is_apart(a, b):
            readings = readings_of(context.deduction.apart_proof(a, b))
            return look, readings, f"at rest {listed(readings)} prove them apart"
    return None


def _showed(reading: Reading) -> str:
    match reading.result:
        case Result.BEEPS:
            return "beeped"
        case Result.SILENT:
            return "did not beep"
        case _:
            return f"showed {shown_value(reading)}"
