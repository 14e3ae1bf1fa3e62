"""Which points are one conductor, as far as the readings tell: joined, apart, or undecided.

Two points are joined when a reading puts them at `join_ohms` or less, or when they beep and no reading puts
what such low readings join to them above; joined is closed under chains, and the closed groups are the nets.
Two nets are apart when a reading between their points is above `join_ohms` and no buzzer can sound there. A
value that may still beep, such as 33 Ω, sets apart only what low readings join to its two points: a beep may
be that part. Everything else is undecided. A sweep that beeped joins its source to the one net it can have
beeped on, once all others are ruled out.
"""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from itertools import compress
from math import comb

from catalogue.core.bounds import distinct, span_ohms
from catalogue.core.chains import Chain, Chains
from catalogue.core.document import Meter, Mode, Point, Reading, Result
from catalogue.core.findings import Limit, Step
from catalogue.core.partition import Partition
from catalogue.core.sweeps import settle

MOST_WORK = 200_000_000
"""Sweeps to account for, times the readings to look through for each: some seconds."""


@dataclass(frozen=True, slots=True)
class Pairs:
    """How many pairs of points are decided, and which way."""

    joined: int
    apart: int
    undecided: int
    total: int


@dataclass(frozen=True)
class Deduction:
    """What readings say about joined and apart, and on demand the readings that prove it.

    `points` are in the order given. `nets` hold every point exactly once, singles included, in that order
    too; `net_index` leads from a point to its net. `joins` and `separations` are what single readings said
    of pairs. Readings at odds show as `apart_within` (read apart, yet joined by a chain) and
    `impossible_sweeps`, the ids of sweeps that beeped though every member is ruled out.

    The first `low_joins` of the joins are low readings, then come beeps, then sweeps. For the place of a
    sweep among the joins, `ruled_out` has its other members: joins before that place and `silences`, the
    separations where no buzzer can sound, rule them out. `conductor_index` leads from a point to what low
    readings alone join to it.
    """

    points: tuple[Point, ...]
    nets: tuple[tuple[Point, ...], ...]
    net_index: Mapping[Point, int]
    joins: tuple[Step, ...]
    separations: tuple[Step, ...]
    impossible_sweeps: tuple[str, ...]
    low_joins: int = field(repr=False)
    conductor_index: Mapping[Point, int] = field(repr=False)
    silences: tuple[Step, ...] = field(repr=False)
    ruled_out: Mapping[int, tuple[Point, ...]] = field(repr=False)

    def is_joined(self, a: Point, b: Point) -> bool:
        """Whether the readings make the two points one conductor; a point is joined to itself."""
        return self.net_index[a] == self.net_index[b]

    def is_apart(self, a: Point, b: Point) -> bool:
        """Whether the readings make the two points different conductors. Never true of joined points."""
        return not self.is_joined(a, b) and (
            _pair(self.net_index, a, b) in self._silent_nets
            or _pair(self.conductor_index, a, b) in self._apart_conductors
        )

    def joined_proof(self, a: Point, b: Point) -> tuple[Step, ...]:
        """A chain from `a` to `b` of the fewest readings; empty when they are not joined, or are one point.

        Where a link is a sweep, the readings that rule out its other members follow the chain.
        """
        if not self.is_joined(a, b):
            return ()
        return self._with_ruled_out(self._chains.joined(a, len(self.joins)).chain_to(b))

    def apart_proof(self, a: Point, b: Point) -> tuple[Step, ...]:
        """A chain from `a`, the reading that says apart, a chain on to `b`; empty when they are not apart.

        Of the fewest readings. Where a link is a sweep, those that rule out its other members follow.
        """
        if not self.is_apart(a, b):
            return ()
        if _pair(self.net_index, a, b) in self._silent_nets:
            return self._silent_proof(a, (b,), len(self.joins))
        return self._low_chains.apart(a, self.low_joins).chain_to(b)[0]

    def is_silent_by_low(self, sweep: Reading) -> bool:
        """Whether silence rules out each member of a sweep by what low readings join, without leaning on a beep,
        which may have been of a part.
        """
        source = self.conductor_index[sweep.red]
        return all(frozenset((source, self.conductor_index[each])) in self._silent_conductors for each in sweep.black)

    def impossible_proof(self, sweep: Reading) -> tuple[Step, ...]:
        """What rules out each member of a sweep that is left none, if possible by low readings."""
        known = self.low_joins if self.is_silent_by_low(sweep) else len(self.joins)
        return self._silent_proof(sweep.red, distinct(sweep.black), known)

    def net_joins(self, root: Point) -> tuple[Step, ...]:
        """What ties the other points of a net to this one, by the fewest readings each: the nearest come first
        and each step leads on to a new point.
        """
        return self._chains.joined(root, len(self.joins)).last_steps()[0]

    def net_proof(self, net: int) -> tuple[Step, ...]:
        """What ties the points of a net together, then what rules out the other members of sweeps among that."""
        return self._with_ruled_out(self._chains.joined(self.nets[net][0], len(self.joins)).last_steps())

    @cached_property
    def accounts_for_sweeps(self) -> bool:
        """Whether proofs tell what rules out the other members of sweeps, which is more than can be told of many
        sweeps among many readings.
        """
        return len(self.ruled_out) * (len(self.joins) + len(self.silences)) <= MOST_WORK

    def is_swept(self, net: int) -> bool:
        """Whether sweeps hold a net together."""
        return net in self._swept_nets

    @cached_property
    def pairs(self) -> Pairs:
        """Counts over all pairs of points, from the sizes of nets and conductors."""
        nets, conductors = Counter(self.net_index.values()), Counter(self.conductor_index.values())
        joined = sum(comb(size, 2) for size in nets.values())
        apart = sum(nets[one] * nets[other] for one, other in self._silent_nets if one != other)
        for (one, other), steps in self._apart_conductors.items():
            pair = _pair(self.net_index, steps[0].start, steps[0].finish)
            if pair[0] != pair[1] and pair not in self._silent_nets:
                apart += conductors[one] * conductors[other]
        total = comb(len(self.points), 2)
        return Pairs(joined, apart, total - joined - apart, total)

    @cached_property
    def apart_nets(self) -> frozenset[tuple[int, int]]:
        """Nets all of whose points are apart from all points of the other, by numbers, the smaller first."""
        conductors = [len({self.conductor_index[point] for point in net}) for net in self.nets]
        met: Counter[tuple[int, int]] = Counter()
        for steps in self._apart_conductors.values():
            met[_pair(self.net_index, steps[0].start, steps[0].finish)] += 1
        by_conductors = {
            pair
            for pair, count in met.items()
            if pair[0] != pair[1] and count == conductors[pair[0]] * conductors[pair[1]]
        }
        return frozenset(by_conductors | {pair for pair in self._silent_nets if pair[0] != pair[1]})

    @cached_property
    def apart_within(self) -> tuple[Step, ...]:
        """Readings that put two points of one net above `join_ohms`, though others chain them together."""
        return tuple(step for step in self.separations if self.is_joined(step.start, step.finish))

    @cached_property
    def _swept_nets(self) -> frozenset[int]:
        return frozenset(self.net_index[self.joins[number].start] for number in self.ruled_out)

    @cached_property
    def _silent_nets(self) -> dict[tuple[int, int], list[Step]]:
        return _grouped(self.silences, self.net_index)

    @cached_property
    def _silent_conductors(self) -> frozenset[frozenset[int]]:
        index = self.conductor_index
        return frozenset(frozenset((index[step.start], index[step.finish])) for step in self.silences)

    @cached_property
    def _apart_conductors(self) -> dict[tuple[int, int], list[Step]]:
        return _grouped(self.separations, self.conductor_index)

    @cached_property
    def _chains(self) -> Chains:
        return Chains(self.points, self.joins, self.silences, self.net_index)

    @cached_property
    def _low_chains(self) -> Chains:
        return Chains(self.points, self.joins[: self.low_joins], self.separations, self.conductor_index)

    def _silent_proof(self, source: Point, others: Iterable[Point], known: int) -> tuple[Step, ...]:
        ways = self._chains.apart(source, known)
        return self._with_ruled_out(_together(ways.chain_to(other) for other in others))

    def _with_ruled_out(self, chain: Chain) -> tuple[Step, ...]:
        """The chain, then what rules out the others of each sweep it leans on, each reading told once."""
        proof = dict.fromkeys(chain.steps)
        leaning = deque(chain.joins)
        told = set()
        while leaning and self.accounts_for_sweeps:
            number = leaning.popleft()
            if number not in told and number in self.ruled_out:
                told.add(number)
                ruling = self._ruling(number)
                proof |= dict.fromkeys(ruling.steps)
                leaning.extend(ruling.joins)
        return tuple(proof)

    @cached_property
    def _ruling(self) -> Callable[[int], Chain]:
        """Each ruling once, because one proof after another leans on the same."""
        return cache(self._ruled_out)

    def _ruled_out(self, number: int) -> Chain:
        """Why the sweep that is this join did not beep on its other members, or why that is all the same: by the
        joins before it.
        """
        sweep = self.joins[number]
        alike, apart = self._chains.joined(sweep.finish, number), self._chains.apart(sweep.start, number)
        return _together((alike if other in alike else apart).chain_to(other) for other in self.ruled_out[number])


def _together(chains: Iterable[Chain]) -> Chain:
    """Chains told one after the other, each reading once."""
    every = tuple(chains)
    return Chain(
        tuple(dict.fromkeys(step for chain in every for step in chain.steps)),
        tuple(dict.fromkeys(join for chain in every for join in chain.joins)),
    )


def _pair(index: Mapping[Point, int], a: Point, b: Point) -> tuple[int, int]:
    one, other = index[a], index[b]
    return (one, other) if one < other else (other, one)


def _grouped(steps: Iterable[Step], index: Mapping[Point, int]) -> dict[tuple[int, int], list[Step]]:
    """The steps by the two groups that the points of each belong to."""
    grouped = defaultdict(list)
    for step in steps:
        grouped[_pair(index, step.start, step.finish)].append(step)
    return dict(grouped)


def deduce(points: Sequence[Point], readings: Sequence[Reading], meter: Meter) -> Deduction:
    """Nets and separations that the readings prove among `points` and whatever else was probed.

    Readings taken while flexing are left out. Work grows with the number of readings, times the logarithm
    of the number of points where sweeps are ruled out one by one.
    """
    return conclude((*points, *probed(readings)), Said.by(readings, meter), meter)


def probed(readings: Iterable[Reading]) -> tuple[Point, ...]:
    """Every point that was probed, in the order of the readings."""
    return tuple(dict.fromkeys(point for reading in readings for point in (reading.red, *reading.black)))


def conclude(points: Iterable[Point], said: Said, meter: Meter) -> Deduction:
    """The same from what the readings said by themselves. `points` are all there are."""
    partition = Partition(dict.fromkeys(points))
    for join in said.joins:
        partition.merge(join.start, join.finish)
    conductor_index = partition.index()
    beeps = _not_refused(said, conductor_index)
    for join in beeps:
        partition.merge(join.start, join.finish)
    swept = settle(said.sweeps, said.separations, said.silent, partition, meter)
    joins = (*said.joins, *beeps, *(join.step for join in swept.joins))
    first_sweep = len(joins) - len(swept.joins)
    nets = partition.classes()
    return Deduction(
        points=partition.points,
        nets=nets,
        net_index={point: index for index, net in enumerate(nets) for point in net},
        joins=joins,
        separations=tuple(said.separations),
        impossible_sweeps=swept.impossible,
        low_joins=len(said.joins),
        conductor_index=conductor_index,
        silences=tuple(compress(said.separations, said.silent)),
        ruled_out={place: join.others for place, join in enumerate(swept.joins, first_sweep)},
    )


def _not_refused(said: Said, conductor_index: Mapping[Point, int]) -> list[Step]:
    """The beeps whose two conductors no reading sets apart."""
    if not said.beeps:
        return []
    refused = {_pair(conductor_index, step.start, step.finish) for step in said.separations}
    pairs = [(step, _pair(conductor_index, step.start, step.finish)) for step in said.beeps]
    return [step for step, pair in pairs if pair[0] == pair[1] or pair not in refused]


@dataclass(frozen=True, slots=True)
class Said:
    """What each reading by itself says of pairs: `joins` by low readings, `beeps` that may be joins.

    `silent` tells for each of the separations whether a buzzer cannot sound there: it was silent, or the
    resistance is above any threshold it may have. (A part of 33 Ω sets apart, and beeps.) `sweeps` beeped
    on one of several members.
    """

    joins: list[Step]
    beeps: list[Step]
    separations: list[Step]
    silent: list[bool]
    sweeps: list[Reading]

    @staticmethod
    def by(readings: Sequence[Reading], meter: Meter) -> Said:
        said = Said([], [], [], [], [])
        for reading in readings:
            span = span_ohms(reading, meter)
            if span is None:
                if reading.mode is Mode.SWEEP and reading.result is Result.BEEPS and not reading.flexed:
                    said.sweeps.append(reading)
                continue
            lower, upper = span
            for black in distinct(reading.black):
                if black == reading.red:
                    continue
                if lower > meter.join_ohms:
                    said.separations.append(Step(reading.id, reading.red, black, Limit.AT_LEAST, lower))
                    said.silent.append(reading.result is Result.SILENT or lower > meter.beep_ohms[1])
                elif upper <= meter.join_ohms:
                    said.joins.append(Step(reading.id, reading.red, black, Limit.AT_MOST, upper))
                elif reading.result is Result.BEEPS:
                    said.beeps.append(Step(reading.id, reading.red, black, Limit.AT_MOST, upper))
        return said

    def among(self, names: Collection[str]) -> Said:
        """What the readings of these names said."""
        kept = [step.reading in names for step in self.separations]
        return Said(
            [step for step in self.joins if step.reading in names],
            [step for step in self.beeps if step.reading in names],
            list(compress(self.separations, kept)),
            list(compress(self.silent, kept)),
            [sweep for sweep in self.sweeps if sweep.id in names],
        )

    def within_reach(self, points: Iterable[Point]) -> Said:
        """The same without separations that none of the joins, beeps and sweeps could ever meet."""
        partition = Partition(points)
        for step in (*self.joins, *self.beeps):
            partition.merge(step.start, step.finish)
        for sweep in self.sweeps:
            for member in sweep.black:
                partition.merge(sweep.red, member)
        reach = partition.index()
        kept = [reach[step.start] == reach[step.finish] for step in self.separations]
        return replace(
            self, separations=list(compress(self.separations, kept)), silent=list(compress(self.silent, kept))
        )
