"""Which readings must be wrong when not all of them can be true: the smallest set, and those in every such set.

At least one reading of each conflict is wrong, so what must be wrong is a hitting set of all conflicts, and
the lightest one is the likeliest. There are too many conflicts to list, but few of them are needed: take the
lightest set that hits those known, look for conflicts among all other readings, add them, and begin again
until there are none. No set can be lighter then, because the conflicts known already allow none.

Source: E. Moreno-Centeno and R. M. Karp, "The implicit hitting set approach to solve combinatorial
optimization problems", Operations Research 61 (2013) 453-468. Hitting sets: HiGHS, by scipy's `milp`.
What conflicts are is `catalogue.core.conflicts`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from itertools import chain

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from catalogue.core.conflicts import Conflicts, GivenUp
from catalogue.core.document import Mode, Reading, Result

WEIGHTS = {Result.SILENT: 5, Result.OVER: 5, Result.BEEPS: 6, Result.VALUE: 7}
"""How hard each result is to get wrong, against one another (judgement). A probe that did not touch shows
silence or over limit; a beep wants a probe on the wrong contact; a value moreover a resistance found there.
Two wrong readings weigh more than any one, so that numbers come first and weights choose among as many.
Repeats that agree must all be wrong together, and so weigh their sum."""

SWEEP_LIGHTER = 1
"""A probe dragged along skips more easily than one that is held (judgement)."""

MOST_WRONG = 60
"""Conflicts without a reading in common beyond which no set is sought: that many slips are no slips."""

MOST_WORK = 3_000_000
"""What is looked through before the search is given up, as `Conflicts.work` counts it: some seconds."""

WORK_OF_A_MEMBER = 20
"""What a reading of a known conflict counts each time that a hitting set is sought."""

MOST_PROGRAMS = 25
"""Integer programs before the search is given up. Cables with up to 30 wrong readings took 10 or fewer."""

MOST_SECONDS = 1.0
"""How long the solver may think about one program, which takes some hundredths for slips of the hand. What is
hard is hard by far, and no count of its branches tells beforehand."""

MOST_AT_ONCE = 100
"""Conflicts taken from one look besides those without a reading in common."""

INFEASIBLE = 2
"""The status by which scipy's `milp` says that nothing keeps to all constraints."""

Names = frozenset[str]
"""Ids of readings."""


@dataclass(frozen=True, slots=True)
class Suspects:
    """`smallest` is the lightest set of readings that leaves the others free of conflict, `in_every` those of
    it that every set as light has; ids in the order of the readings, empty when nothing is at odds.

    None where the search was given up. At least so many of the readings as `at_least` says are wrong anyway.
    """

    at_least: int
    smallest: tuple[str, ...] | None
    in_every: tuple[str, ...] | None


def suspects(conflicts: Conflicts) -> Suspects:
    """The lightest set of readings that must be wrong, by `WEIGHTS`, exactly.

    Takes the conflicts of all readings, `Conflicts(readings, meter)`. Gives None for what is not decided within
    `MOST_WRONG`, `MOST_WORK`, `MOST_PROGRAMS` and `MOST_SECONDS`, or where what is left still has a sweep at odds
    beside a part that may be heard.
    """
    search = _Search(conflicts)
    try:
        smallest = search.lightest()
    except GivenUp:
        return Suspects(search.at_least, None, None)
    if conflicts.near_parts(search.without(smallest)):
        return Suspects(max(search.at_least, 1), None, None)
    try:
        in_every = search.in_every(smallest)
    except GivenUp:
        return Suspects(search.at_least, search.ordered(smallest), None)
    return Suspects(search.at_least, search.ordered(smallest), search.ordered(in_every))


def weight(reading: Reading) -> int:
    """How hard it is to get this reading wrong, against others."""
    return WEIGHTS[reading.result] - SWEEP_LIGHTER * (reading.mode is Mode.SWEEP)


class _Search:
    """The conflicts known so far, by their readings; every question asked adds to them."""

    def __init__(self, conflicts: Conflicts) -> None:
        self._readings = conflicts.readings
        self._weights = {reading.id: weight(reading) for reading in conflicts.readings}
        self._conflicts = conflicts
        self._known: dict[Names, None] = {}
        self._programs = 0
        self.at_least = 0

    def lightest(self) -> Names:
        """The lightest set of readings without which the others are free of conflict."""
        chosen: Names = frozenset()
        while found := self._conflicts_without(chosen):
            self._known.update(dict.fromkeys(found))
            hitting = self._hitting_set()
            assert hitting is not None  # all readings together hit every conflict
            chosen = hitting
        return chosen

    def in_every(self, smallest: Names) -> Names:
        """The readings that every set as light has: sets that lack one of them are sought until there are none."""
        common = smallest
        while common:
            chosen = self._hitting_set(common)
            if chosen is None or self._weigh(chosen) > self._weigh(smallest):
                break
            found = self._conflicts_without(chosen)
            self._known.update(dict.fromkeys(found))
            if not found:
                common &= chosen
        return common

    def without(self, wrong: Names) -> Names:
        return frozenset(self._weights) - wrong

    def ordered(self, names: Collection[str]) -> tuple[str, ...]:
        return tuple(reading.id for reading in self._readings if reading.id in names)

    def _weigh(self, names: Iterable[str]) -> int:
        return sum(self._weights[name] for name in names)

    def _conflicts_without(self, wrong: Names) -> list[Names]:
        """Conflicts among the readings that are left: enough of them that without all their readings none is."""
        kept = self.without(wrong)
        found: list[Names] = []
        apart = 0
        while True:
            if self._conflicts.work > MOST_WORK:
                raise GivenUp
            every = sorted({conflict.readings for conflict in self._conflicts.among(kept)}, key=_size_and_names)
            if not every:
                return found
            taken = _without_a_reading_in_common(every)
            apart += len(taken)
            self.at_least = max(self.at_least, apart)
            if apart > MOST_WRONG:
                raise GivenUp
            found += [*taken, *every[:MOST_AT_ONCE]]
            hit = frozenset(chain.from_iterable(taken))
            kept -= hit

    def _hitting_set(self, lacking: Names | None = None) -> Names | None:
        """The lightest readings that hit every known conflict; with `lacking`, not all of those, if that can be."""
        self._programs += 1
        self._conflicts.work += WORK_OF_A_MEMBER * sum(map(len, self._known))
        if self._programs > MOST_PROGRAMS or self._conflicts.work > MOST_WORK:
            raise GivenUp
        names = list(dict.fromkeys(chain.from_iterable(sorted(conflict) for conflict in self._known)))
        column = {name: number for number, name in enumerate(names)}
        columns = [column[name] for conflict in self._known for name in conflict]
        starts = np.cumsum([0, *map(len, self._known)])
        hit = csr_array((np.ones(len(columns)), columns, starts), shape=(len(self._known), len(names)))
        constraints = [LinearConstraint(hit, lb=1)]
        if lacking is not None:
            constraints.append(LinearConstraint([float(name in lacking) for name in names], ub=len(lacking) - 1))
        result = milp(
            [self._weights[name] for name in names],
            integrality=np.ones(len(names)),
            bounds=Bounds(0, 1),
            constraints=constraints,
            options={"time_limit": MOST_SECONDS, "mip_rel_gap": 0.0},
        )
        if result.status == INFEASIBLE:
            return None
        if not result.success:
            raise GivenUp
        return frozenset(name for name, chosen in zip(names, result.x, strict=True) if chosen > 0.5)


def _size_and_names(names: Names) -> tuple[int, list[str]]:
    return len(names), sorted(names)


def _without_a_reading_in_common(conflicts: Iterable[Names]) -> list[Names]:
    taken: list[Names] = []
    hit: set[str] = set()
    for conflict in conflicts:
        if hit.isdisjoint(conflict):
            taken.append(conflict)
            hit |= conflict
    return taken
