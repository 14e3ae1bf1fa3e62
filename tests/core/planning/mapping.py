"""A person who maps a cable by what a plan proposes, with a buzzer that tells the truth about given nets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from catalogue.core.document import Meter, Mode, Point, Reading, Result
from catalogue.core.planning.plan import Plan, Proposal, plan


def answered(act: Proposal, number: int, net_of: Mapping[Point, object]) -> Reading:
    """What the meter shows of an act; in ohms, 0 within a net and over limit between two."""
    is_met = any(net_of[point] == net_of[act.red] for point in act.black)
    if act.mode is Mode.OHMS:
        value = 0.0 if is_met else None
        result = Result.VALUE if is_met else Result.OVER
        return Reading(f"r{number}", act.mode, act.red, act.black, result, value)
    return Reading(f"r{number}", act.mode, act.red, act.black, Result.BEEPS if is_met else Result.SILENT)


def mapped(
    net_of: Mapping[Point, object],
    rows: Sequence[Sequence[Point]],
    expected: Mapping[Point, object] | None = None,
    sweeps: bool = True,
    readings: Sequence[Reading] = (),
) -> Iterator[tuple[Plan, tuple[Reading, ...]]]:
    """Each plan with the readings it was made from, until nothing is proposed. `net_of` has all contacts."""
    taken = tuple(readings)
    while True:
        found = plan(tuple(net_of), rows, taken, Meter(), expected, sweeps, proposals=1)
        yield found, taken
        if not found.next:
            return
        taken = (*taken, answered(found.next[0], len(taken) + 1, net_of))
