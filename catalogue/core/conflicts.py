"""Readings that cannot all be true, told one conflict at a time, each with its witness.

Conflicts of resistance are proof: a bound that exceeds a path of ohmic links (`catalogue.core.bounds`).
Conflicts of the buzzer go by its use, which says more than its limits prove: what it joins, if need be by
elimination from sweeps (`catalogue.core.nets`), is one conductor and is nowhere silent within, unless a value
shows a part that may beep. What a part that is not linear may explain is no conflict, nor is anything read
while flexing.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice

from catalogue.core.bounds import OHMIC_OHMS, Bound, Violation, bounds, distinct, steps, violations
from catalogue.core.document import Meter, Point, Reading, Result
from catalogue.core.findings import Step
from catalogue.core.nets import Deduction, deduce
from catalogue.core.partition import Partition

MOST_OF_THE_BUZZER = 100
"""Conflicts of the buzzer looked into at once; there are as many as silences within all nets."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """`readings` cannot all be true: `reading` stands against the others. `witness` says how, step by step."""

    reading: str
    witness: tuple[Step, ...]
    readings: frozenset[str]


class Conflicts:
    """What cannot all be true among readings with an id each. Whoever takes more of them finds no fewer.

    So that it is so, what the buzzer may be trusted with is settled once, from all of the readings.
    """

    def __init__(self, readings: Sequence[Reading], meter: Meter) -> None:
        self.readings = readings
        self._meter = meter
        self._values = {reading.id for reading in readings if reading.result is Result.VALUE}
        self._of_resistance = self._undercut(readings)
        self._trusted = _trusted(readings, meter, {conflict.reading for conflict in self._of_resistance})

    def every(self) -> tuple[Conflict, ...]:
        """One conflict for each reading that stands against others; some of the buzzer show only when others are
        settled.
        """
        every = (*self._of_resistance, *self._of_the_buzzer(self.readings), *self.near_parts(self.readings))
        return tuple({conflict.reading: conflict for conflict in reversed(every)}.values())[::-1]

    def near_parts(self, kept: Sequence[Reading]) -> list[Conflict]:
        """Sweeps that are left no member though a part near them may be heard.

        They are at odds with the other readings kept as these stand. When some of those go, the part may
        account for them, so these conflicts are not among those that hold whatever else is wrong.
        """
        found = deduce((), kept, self._meter)
        sweeps = {reading.id: reading for reading in kept}
        return [_of_sweep(sweeps[name], found) for name in found.impossible_sweeps[:MOST_OF_THE_BUZZER]]

    def among(self, kept: Sequence[Reading]) -> list[Conflict]:
        """Some of the conflicts among the readings kept, and none only where there is none."""
        of_all = len(kept) == len(self.readings)
        return (self._of_resistance if of_all else self._undercut(kept)) or self._of_the_buzzer(kept)

    def _undercut(self, kept: Sequence[Reading]) -> list[Conflict]:
        """One for each bound that exceeds a path of ohmic links."""
        known = bounds(kept, self._meter)
        values = defaultdict(list)
        for bound in known:
            if bound.reading in self._values:
                values[bound.a, bound.b].append(bound)
        linear = [bound if bound.ohmic else replace(bound, upper=math.inf) for bound in known]
        return [_of_violation(each, values) for each in violations(linear)]

    def _of_the_buzzer(self, kept: Sequence[Reading]) -> list[Conflict]:
        """Silences within a net; where there are none, sweeps that are left no member."""
        names = {reading.id for reading in kept}
        trusted = {reading.id: reading for reading in self._trusted if reading.id in names}
        found = deduce((), tuple(trusted.values()), self._meter)
        within = chain(
            (_of_silence(step, found) for step in found.apart_within),
            (_of_beep(beep, found) for beep in _refused(trusted.values(), found)),
        )
        first = list(islice(within, MOST_OF_THE_BUZZER))
        sweeps = (_of_sweep(trusted[name], found) for name in found.impossible_sweeps)
        return first or list(islice(sweeps, MOST_OF_THE_BUZZER))


def _of_violation(violation: Violation, values: Mapping[tuple[Point, Point], Sequence[Bound]]) -> Conflict:
    """A link that is ohmic only because it was read alike both ways needs the reading that says so."""
    names = {violation.bound.reading, *(link.reading for link in violation.path)}
    for link in violation.path:
        if link.upper > OHMIC_OHMS:
            other_way = values[link.b, link.a]
            names.add(next(other.reading for other in other_way if _overlap(link, other)))
    return Conflict(violation.bound.reading, steps(violation), frozenset(names))


def _overlap(one: Bound, other: Bound) -> bool:
    return one.lower <= other.upper and other.lower <= one.upper


def _of_silence(step: Step, found: Deduction) -> Conflict:
    return _conflict(step.reading, (*found.joined_proof(step.start, step.finish), step))


def _refused(trusted: Iterable[Reading], found: Deduction) -> Iterator[Reading]:
    """Beeps across which a silence was read."""
    for reading in trusted:
        if _beeped(reading) and not _on_one_of_several(reading) and found.is_apart(reading.red, reading.black[0]):
            yield reading


def _of_beep(beep: Reading, found: Deduction) -> Conflict:
    return _conflict(beep.id, found.apart_proof(beep.red, beep.black[0]))


def _of_sweep(sweep: Reading, found: Deduction) -> Conflict:
    proofs = (found.apart_proof(sweep.red, member) for member in distinct(sweep.black))
    return _conflict(sweep.id, tuple(dict.fromkeys(chain.from_iterable(proofs))))


def _conflict(reading: str, witness: tuple[Step, ...]) -> Conflict:
    return Conflict(reading, witness, frozenset((reading, *(step.reading for step in witness))))


def _trusted(readings: Sequence[Reading], meter: Meter, undercut: Collection[str]) -> list[Reading]:
    """The readings that tell what is joined and what is silent; none where nothing beeped.

    Left out is what beeps where a value shows a part that may be heard, and silence along what low readings
    join, where their sum allows it, so that it is not `undercut`.
    """
    if not any(map(_beeped, readings)):
        return []
    found = deduce((), readings, meter)
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
