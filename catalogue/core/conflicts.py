"""Readings that cannot all be true, told one conflict at a time, each with its witness.

Conflicts of resistance are proof: a bound that exceeds a path of ohmic links (`catalogue.core.bounds`).
Conflicts of the buzzer go by its use, which says more than its limits prove: what it joins, if need be by
elimination from sweeps (`catalogue.core.nets`), is one conductor and is nowhere silent within, unless a value
shows a part that may beep. What a part that is not linear may explain is no conflict, nor is anything read
while flexing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice

from catalogue.core.bounds import Bound, Violation, bounds, distinct, steps, violations
from catalogue.core.document import Meter, Point, Reading, Result
from catalogue.core.findings import Step
from catalogue.core.nets import Deduction, Said, conclude, probed
from catalogue.core.partition import Partition

MOST_OF_THE_BUZZER = 100
"""Conflicts of the buzzer looked into at once; there are as many as silences within all nets."""

MOST_STEPS = 5000
"""Steps of witnesses after which no more conflicts of resistance are told at once. There can be as many conflicts
as readings, of hundreds of steps each."""

WORK_OF_A_RULING = 800
"""What it counts to tell why a sweep is joined to this of its members and not to another."""

MOST_TOLD = 200
"""Conflicts told with their witness; the rest are counted."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """`readings` cannot all be true: `reading` stands against the others. `witness` says how, step by step.

    Not `is_whole` where it leans on more sweeps than can be accounted for, so that it takes more readings.
    """

    reading: str
    witness: tuple[Step, ...]
    readings: frozenset[str]
    is_whole: bool = True


class GivenUp(Exception):
    """There is more to look through than can be answered in time."""


class Conflicts:
    """What cannot all be true among readings with an id each. Whoever takes more of them finds no fewer.

    So that it is so, what the buzzer may be trusted with is settled once, from all of the readings. `work` counts
    what was looked through so far: pairs that were read, members of sweeps, and steps of witnesses.
    """

    def __init__(self, readings: Sequence[Reading], meter: Meter) -> None:
        self.readings = readings
        self.work = 0
        self._meter = meter
        self._points = probed(readings)
        self._limits = _within_reach(bounds(readings, meter), self._points)
        self._violations = violations(self._limits, ohmic_only=True)
        self._said = Said.by(readings, meter).within_reach(self._points)
        undercut = {violation.bound.reading for violation in self._violations}
        trusted = _trusted(readings, conclude(self._points, self._said, meter), undercut)
        self._trusted = Said.by(trusted, meter)
        self._buzzer_work = len(self._trusted.separations) + sum(8 * len(sweep.black) for sweep in self._trusted.sweeps)
        self._beeps = [each for each in trusted if _beeped(each) and not _on_one_of_several(each)]

    def every(self) -> tuple[tuple[Conflict, ...], int]:
        """One conflict for each reading that stands against others, and how many such readings are known.

        At most `MOST_TOLD` are told. Some of the buzzer show only when others are settled.
        """
        names = {reading.id for reading in self.readings}
        told: dict[str, Conflict] = {}
        for conflict in (*_enough(self._violations), *self._of_the_buzzer(names), *self.near_parts(names)):
            told.setdefault(conflict.reading, conflict)
        known = told.keys() | {violation.bound.reading for violation in self._violations}
        return tuple(told.values())[:MOST_TOLD], len(known)

    def near_parts(self, kept: Collection[str]) -> list[Conflict]:
        """Sweeps that are left no member though a part near them may be heard, among the readings of these names.

        They are at odds with the other readings kept as these stand. When some of those go, the part may
        account for them, so these conflicts are not among those that hold whatever else is wrong.
        """
        said = self._said.among(kept)
        return _of_sweeps(said.sweeps, conclude(self._points, said, self._meter))

    def among(self, kept: Collection[str]) -> list[Conflict]:
        """Some of the conflicts among the readings of these names, and none only where there is none.

        Raises `GivenUp` where they lean on more sweeps than can be accounted for.
        """
        of_all = len(kept) == len(self.readings)
        shortest = sorted(self._violations if of_all else self._undercut(kept), key=_shortest_ohms)
        found = _enough(shortest) or self._of_the_buzzer(kept)
        if any(not conflict.is_whole for conflict in found):
            raise GivenUp
        self.work += sum(len(conflict.witness) for conflict in found)
        return found

    def _undercut(self, kept: Collection[str]) -> tuple[Violation, ...]:
        """The bounds that exceed a path of ohmic links. Values that lack the one read alike are looked at anew."""
        self.work += len(self._limits)
        limits = [bound for bound in self._limits if bound.reading in kept]
        if any(bound.alike and bound.alike not in kept for bound in limits):
            self.work += 9 * len(self._limits)
            limits = list(bounds([reading for reading in self.readings if reading.id in kept], self._meter))
        return violations(limits, ohmic_only=True)

    def _of_the_buzzer(self, kept: Collection[str]) -> list[Conflict]:
        """Silences within a net; where there are none, sweeps that are left no member."""
        self.work += self._buzzer_work
        said = self._trusted.among(kept)
        found = conclude(self._points, said, self._meter)
        beeps = (beep for beep in self._beeps if beep.id in kept)
        within = chain(
            (_of_silence(step, found) for step in found.apart_within),
            (_of_beep(beep, found) for beep in beeps if found.is_apart(beep.red, beep.black[0])),
        )
        if first := list(islice(within, MOST_OF_THE_BUZZER)):
            return first
        self.work += WORK_OF_A_RULING * len(found.ruled_out)
        return _of_sweeps(said.sweeps, found)


def _within_reach(limits: Sequence[Bound], points: Iterable[Point]) -> list[Bound]:
    """Without lower bounds between points that no upper bounds could ever lead between."""
    partition = Partition(points)
    for bound in limits:
        if bound.ohmic:
            partition.merge(bound.a, bound.b)
    reach = partition.index()
    return [bound for bound in limits if bound.ohmic or (bound.lower > 0 and reach[bound.a] == reach[bound.b])]


def _shortest_ohms(violation: Violation) -> float:
    """Low where few readings are at odds: those conflicts tell most."""
    return violation.shortest_ohms


def _enough(found: Iterable[Violation]) -> list[Conflict]:
    """The conflicts of the first of these, so many as can be told at once."""
    conflicts = []
    steps_left = MOST_STEPS
    for violation in found:
        if steps_left <= 0:
            break
        conflicts.append(_of_violation(violation))
        steps_left -= len(conflicts[-1].witness)
    return conflicts


def _of_violation(violation: Violation) -> Conflict:
    """A link that is ohmic only because it was read alike both ways needs the reading that says so."""
    names = {violation.bound.reading, *(name for link in violation.path for name in (link.reading, link.alike) if name)}
    return Conflict(violation.bound.reading, steps(violation), frozenset(names))


def _of_silence(step: Step, found: Deduction) -> Conflict:
    return _conflict(step.reading, (*found.joined_proof(step.start, step.finish), step), found)


def _of_beep(beep: Reading, found: Deduction) -> Conflict:
    """A beep across which a silence was read."""
    return _conflict(beep.id, found.apart_proof(beep.red, beep.black[0]), found)


def _of_sweeps(sweeps: Iterable[Reading], found: Deduction) -> list[Conflict]:
    """The sweeps that are left no member."""
    impossible = frozenset(found.impossible_sweeps)
    left_none = (sweep for sweep in sweeps if sweep.id in impossible)
    return [
        _conflict(sweep.id, found.impossible_proof(sweep), found) for sweep in islice(left_none, MOST_OF_THE_BUZZER)
    ]


def _conflict(reading: str, witness: tuple[Step, ...], found: Deduction) -> Conflict:
    names = frozenset((reading, *(step.reading for step in witness)))
    return Conflict(reading, witness, names, not found.ruled_out or found.accounts_for_sweeps)


def _trusted(readings: Sequence[Reading], found: Deduction, undercut: Collection[str]) -> list[Reading]:
    """The readings that tell what is joined and what is silent; none where nothing beeped.

    Left out is what beeps where a value shows a part that may be heard, and silence along what low readings
    join, where their sum allows it, so that it is not `undercut`.
    """
    if not any(map(_beeped, readings)):
        return []
    heard = _joined_by_ear(readings, found)
    silences = set(found.silences)
    parts = {_pair(heard, step.start, step.finish) for step in found.separations if step not in silences}
    low = {step.reading for step in found.joins[: found.low_joins]}
    silent: dict[str, list[Point]] = defaultdict(list)
    for step in found.silences:
        if step.reading in undercut or found.conductor_index[step.start] != found.conductor_index[step.finish]:
            silent[step.reading].append(step.finish)
    trusted = []
    for reading in readings:
        if reading.id in silent:
            trusted.append(replace(reading, black=tuple(silent[reading.id])))
        elif reading.id in low or (_beeped(reading) and parts.isdisjoint(_across(reading, heard))):
            trusted.append(reading)
    return trusted


def _joined_by_ear(readings: Sequence[Reading], found: Deduction) -> Mapping[Point, int]:
    """The class of each point, when every beep joins as every low reading does."""
    partition = Partition(found.points)
    for join in found.joins[: found.low_joins]:
        partition.merge(join.start, join.finish)
    for reading in readings:
        if _beeped(reading) and not _on_one_of_several(reading):
            partition.merge(reading.red, reading.black[0])
    return partition.index()


def _across(reading: Reading, classes: Mapping[Point, int]) -> Iterator[frozenset[int]]:
    for member in reading.black:
        yield _pair(classes, reading.red, member)


def _pair(classes: Mapping[Point, int], a: Point, b: Point) -> frozenset[int]:
    return frozenset((classes[a], classes[b]))


def _beeped(reading: Reading) -> bool:
    return reading.result is Result.BEEPS and not reading.flexed


def _on_one_of_several(reading: Reading) -> bool:
    return len(distinct(reading.black)) > 1
