"""What sweeps that beeped come to: each is joined to the one class it can have beeped on, once that is known.

A sweep is ruled out on a class when the buzzer is silent between its source and that class, and no value shows a
part there that may be heard. It joins the one class that is left, unless a reading sets that apart (then it beeped
on a part). Each such join may rule out more, so it goes on until no sweep has anything new to say.

A sweep with two classes left or more watches two of them, and is looked at again when one of the two is ruled
out or merged. On a merge the class with less to tell takes the other's name, so that all of it costs no more
than the readings times a logarithm.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Sequence
from dataclasses import dataclass

from catalogue.core.bounds import distinct
from catalogue.core.document import Meter, Point, Reading
from catalogue.core.findings import Limit, Step
from catalogue.core.partition import Partition


@dataclass(frozen=True, slots=True)
class SweepJoin:
    """A sweep that can only have beeped on one class: its source is joined to a member of it."""

    step: Step
    others: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Swept:
    """`joins` in the order found, each leaning on those before; `impossible`: ids of sweeps left nothing."""

    joins: tuple[SweepJoin, ...]
    impossible: tuple[str, ...]


def settle(
    sweeps: Sequence[Reading],
    separations: Sequence[Step],
    silent: Sequence[bool],
    partition: Partition,
    meter: Meter,
) -> Swept:
    """Merges in `partition` whatever the sweeps prove joined, and tells which did.

    `sweeps` all beeped, on one of several members; `silent` says for each of the separations whether no
    buzzer can sound there.
    """
    if not sweeps:
        return Swept((), ())
    elimination = _Elimination(sweeps, partition, meter.beep_ohms[1])
    for step, rules_out in zip(separations, silent, strict=True):
        elimination.set_apart(partition.class_of(step.start), partition.class_of(step.finish), rules_out)
    elimination.run()
    impossible = (sweeps[sweep].id for sweep in sorted(elimination.impossible))
    return Swept(tuple(elimination.joins), tuple(impossible))


class _Elimination:
    """Sweeps by their place in the list, classes by their number."""

    def __init__(self, sweeps: Sequence[Reading], partition: Partition, beep_ohms: float) -> None:
        self.joins: list[SweepJoin] = []
        self.impossible: set[int] = set()
        self._sweeps = sweeps
        self._partition = partition
        self._beep_ohms = beep_ohms
        self._apart: dict[int, dict[int, bool]] = defaultdict(dict)
        self._watching: dict[int, dict[int, set[int]]] = defaultdict(dict)
        self._watched: dict[int, list[tuple[int, int]]] = {}

    def set_apart(self, one: int, other: int, silent: bool) -> None:
        """Two classes are apart; `silent` when moreover no buzzer can sound there. A part between them that may be
        heard is heard from some of their points, though at others it is silent.
        """
        if one != other:
            silent = silent and self._apart[one].get(other, True)
            self._apart[one][other] = self._apart[other][one] = silent

    def run(self) -> None:
        queue = deque(range(len(self._sweeps)))
        settled = set()
        while queue:
            sweep = queue.popleft()
            if sweep in settled:
                continue
            self._stop_watching(sweep)
            source = self._partition.class_of(self._sweeps[sweep].red)
            left = self._left(sweep, source)
            if source in left:
                settled.add(sweep)
            elif not left:
                settled.add(sweep)
                self.impossible.add(sweep)
            elif len(left) == 1 and not left.keys() & self._apart[source].keys():
                settled.add(sweep)
                ((only, member),) = left.items()
                self._join(sweep, member)
                queue.extend(self._merge(source, only))
            else:
                self._watch(sweep, source, list(left)[:2])

    def _left(self, sweep: int, source: int) -> dict[int, Point]:
        """The classes that the sweep may have beeped on, each with its first member in the sweep."""
        left: dict[int, Point] = {}
        apart = self._apart[source]
        for member in self._sweeps[sweep].black:
            found = self._partition.class_of(member)
            if not apart.get(found, False):
                left.setdefault(found, member)
        return left

    def _join(self, sweep: int, member: Point) -> None:
        reading = self._sweeps[sweep]
        step = Step(reading.id, reading.red, member, Limit.AT_MOST, self._beep_ohms)
        self.joins.append(SweepJoin(step, tuple(each for each in distinct(reading.black) if each != member)))

    def _watch(self, sweep: int, source: int, classes: Sequence[int]) -> None:
        self._watched[sweep] = [(source, other) for other in classes]
        for other in classes:
            waiting = self._watching[source].setdefault(other, set())
            self._watching[other][source] = waiting
            waiting.add(sweep)

    def _stop_watching(self, sweep: int) -> None:
        for source, other in self._watched.pop(sweep, ()):
            self._watching[source].get(other, set()).discard(sweep)

    def _merge(self, one: int, other: int) -> list[int]:
        """Makes one class of two and returns the sweeps to look at again."""
        gone, kept = sorted((one, other), key=self._weight)
        self._partition.put(gone, kept)
        woken: set[int] = set()
        for third, silent in self._apart.pop(gone, {}).items():
            if silent:
                woken |= self._watching[kept].get(third, set())
            del self._apart[third][gone]
            self.set_apart(kept, third, silent)
        for third, waiting in self._watching.pop(gone, {}).items():
            self._watching[third].pop(gone, None)
            woken |= waiting
        return sorted(woken)

    def _weight(self, number: int) -> int:
        return len(self._apart[number]) + len(self._watching[number])
