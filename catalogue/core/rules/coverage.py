"""The rule that says how far a map is read, and which acts with the meter would take it furthest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby

from catalogue.core.document import Point
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import counted, verb
from catalogue.core.rules.remark import Remark
from catalogue.core.wiring import contact_rows

MOST_PROPOSED = 5


@dataclass(frozen=True, slots=True)
class Act:
    """One probe held at `source`, the other put on `members` or dragged along them.

    Should it stay silent, it `decides` so many pairs of nets.
    """

    source: Point
    members: tuple[Point, ...]
    decides: int

    def __str__(self) -> str:
        if len(self.members) == 1:
            return f"{self.source} to {self.members[0]}"
        return f"{self.source} along {self.members[0]} … {self.members[-1]} in one sweep"


def coverage(context: Context) -> Iterator[Remark]:
    pairs = context.deduction.pairs
    if not pairs.undecided:
        return
    acts = acts_left(context)
    best = sorted(acts, key=lambda act: -act.decides)[:MOST_PROPOSED]
    more = [f"and {len(acts) - len(best)} more"] if len(acts) > len(best) else []
    decided = pairs.joined + pairs.apart
    yield Remark(
        f"{decided:,} of {counted(pairs.total, 'pair')} of contacts ({100 * decided // pairs.total} %) are "
        f"decided: {pairs.joined:,} joined, {pairs.apart:,} apart. If nothing beeps, "
        f"{counted(len(acts), 'act')} with the buzzer {verb(acts, 'decides', 'decide')} the rest: "
        f"{'; '.join([*map(str, best), *more])}.",
        contacts=tuple(dict.fromkeys(point for act in best for point in (act.source, *act.members))),
    )


def acts_left(context: Context) -> list[Act]:
    """Pair probes and sweeps that decide every pair of contacts, should all of them stay silent.

    Each net is probed against those after it that are undecided; along one row, one sweep takes all of them
    that no contact of the net itself comes between. Work grows with nets times contacts. Not the fewest acts
    possible.
    """
    deduction = context.deduction
    rows = _rows(context)
    acts = []
    for net, points in enumerate(deduction.nets):
        left = {other for other in range(net + 1, len(deduction.nets)) if (net, other) not in deduction.apart_nets}
        for row in rows:
            if not left:
                break
            for own, run in groupby(row, key=lambda point: deduction.net_index[point] == net):
                members = [] if own else _trimmed(list(run), left, deduction.net_index)
                met = left.intersection(deduction.net_index[member] for member in members)
                if met:
                    acts.append(Act(points[0], tuple(members), len(met)))
                    left -= met
    return acts


def _rows(context: Context) -> list[list[Point]]:
    """The rows that a probe can be dragged along, then every other point by itself."""
    rows = [list(dict.fromkeys(filter(None, row))) for row in contact_rows(context.document, context.reference)]
    seated = {point for row in rows for point in row}
    return rows + [[point] for point in context.deduction.points if point not in seated]


def _trimmed(run: list[Point], left: set[int], net_index: Mapping[Point, int]) -> list[Point]:
    """The run from the first to the last contact of a net that is left; empty when there is none."""
    wanted = [place for place, point in enumerate(run) if net_index[point] in left]
    return run[wanted[0] : wanted[-1] + 1] if wanted else []
