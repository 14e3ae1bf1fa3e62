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
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from itertools import compress
from math import comb

from catalogue.core.bounds import distinct, span_ohms
from catalogue.core.document import Meter, Mode, Point, Reading, Result
from catalogue.core.findings import Limit, Step
from catalogue.core.partition import Partition
from catalogue.core.sweeps import settle

TREES_AT_HAND = 64
"""Trees of joins kept while proofs are asked for: up to 64 of at most 1,000 points each."""

SEPARATIONS_WEIGHED = 1000
"""Readings between two nets that one proof is chosen among: any of them is proof, and the shortest of so many
is short."""


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
        return self._with_ruled_out(self._tree(a, len(self.joins)).hops_to(b), ())

    def apart_proof(self, a: Point, b: Point) -> tuple[Step, ...]:
        """A chain from `a`, the reading that says apart, a chain on to `b`; empty when they are not apart.

        Of the fewest readings. Where a link is a sweep, those that rule out its other members follow.
        """
        if not self.is_apart(a, b):
            return ()
        silences = self._silent_nets.get(_pair(self.net_index, a, b))
        if silences:
            return self._with_ruled_out(*self._separated(a, b, silences, len(self.joins)))
        separations = self._apart_conductors[_pair(self.conductor_index, a, b)]
        return self._with_ruled_out(*self._separated(a, b, separations, self.low_joins))

    def net_joins(self, root: Point) -> tuple[Step, ...]:
        """What ties the other points of a net to this one, by the fewest readings each: the nearest come first
        and each step leads on to a new point.
        """
        return tuple(hop.step for hop in self._tying(root))

    def net_proof(self, net: int) -> tuple[Step, ...]:
        """What ties the points of a net together, then what rules out the other members of sweeps among that.

        Work grows with `sweep_members` times the points of the net.
        """
        return self._with_ruled_out(self._tying(self.nets[net][0]), ())

    def sweep_members(self, net: int) -> int:
        """How many members of the sweeps within a net had to be ruled out."""
        return self._sweep_members[net]

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
    def apart_within(self) -> tuple[Step, ...]:
        """Readings that put two points of one net above `join_ohms`, though others chain them together."""
        return tuple(step for step in self.separations if self.is_joined(step.start, step.finish))

    @cached_property
    def _sweep_members(self) -> Counter[int]:
        members: Counter[int] = Counter()
        for number, others in self.ruled_out.items():
            members[self.net_index[self.joins[number].start]] += len(others)
        return members

    def _tying(self, root: Point) -> list[_Hop]:
        return [hop for hop in self._tree(root, len(self.joins)).came_by.values() if hop is not None]

    @cached_property
    def _silent_nets(self) -> dict[tuple[int, int], list[Step]]:
        return _grouped(self.silences, self.net_index)

    @cached_property
    def _apart_conductors(self) -> dict[tuple[int, int], list[Step]]:
        return _grouped(self.separations, self.conductor_index)

    @cached_property
    def _neighbours(self) -> dict[Point, list[_Hop]]:
        """For each point the joins that lead away from it, in order."""
        found: dict[Point, list[_Hop]] = defaultdict(list)
        for number, join in enumerate(self.joins):
            found[join.start].append(_Hop(number, join))
            found[join.finish].append(_Hop(number, _turned(join)))
        return dict(found)

    @cached_property
    def _tree(self) -> Callable[[Point, int], _Tree]:
        """The trees grown last, because one finding after another asks for the same."""
        return lru_cache(maxsize=TREES_AT_HAND)(self._grown)

    def _grown(self, root: Point, known: int) -> _Tree:
        """Every point that the first `known` joins lead to from `root`, by the fewest of them."""
        tree = _Tree({root: None}, {root: 0})
        queue = deque([root])
        while queue:
            at = queue.popleft()
            for hop in self._neighbours.get(at, ()):
                if hop.number < known and hop.step.finish not in tree.came_by:
                    tree.came_by[hop.step.finish] = hop
                    tree.hops[hop.step.finish] = tree.hops[at] + 1
                    queue.append(hop.step.finish)
        return tree

    def _separated(
        self, a: Point, b: Point, separations: Sequence[Step], known: int
    ) -> tuple[list[_Hop], tuple[Step, ...], list[_Hop]]:
        """The separation that the first `known` joins reach from both points by the shortest chains."""
        from_a, from_b = self._tree(a, known), self._tree(b, known)
        reached: list[tuple[int, int, bool]] = []
        for place, step in enumerate(separations):
            for turned, (start, finish) in enumerate(((step.start, step.finish), (step.finish, step.start))):
                if start in from_a.hops and finish in from_b.hops:
                    reached.append((from_a.hops[start] + from_b.hops[finish], place, bool(turned)))
            if len(reached) >= SEPARATIONS_WEIGHED:
                break
        _, place, is_turned = min(reached)
        step = _turned(separations[place]) if is_turned else separations[place]
        after = from_b.hops_to(step.finish)
        return from_a.hops_to(step.start), (step,), [_Hop(hop.number, _turned(hop.step)) for hop in reversed(after)]

    def _with_ruled_out(
        self, before: list[_Hop], apart: tuple[Step, ...], after: Sequence[_Hop] = ()
    ) -> tuple[Step, ...]:
        """The proof, then what rules out the others of each sweep it leans on, each reading told once."""
        proof = [hop.step for hop in before] + [*apart] + [hop.step for hop in after]
        leaning = deque(hop.number for hop in (*before, *after))
        told = set()
        while leaning:
            number = leaning.popleft()
            if number in told or number not in self.ruled_out:
                continue
            told.add(number)
            for first, between, second in self._rulings_out(number):
                proof += [hop.step for hop in first] + [*between] + [hop.step for hop in second]
                leaning.extend(hop.number for hop in (*first, *second))
        return tuple(dict.fromkeys(proof))

    def _rulings_out(self, number: int) -> Iterator[tuple[list[_Hop], tuple[Step, ...], list[_Hop]]]:
        """Why the sweep that is this join did not beep on its other members, or why that is all the same."""
        sweep = self.joins[number]
        alike = self._tree(sweep.finish, number)
        for other in self.ruled_out[number]:
            if other in alike.came_by:
                yield alike.hops_to(other), (), []
            else:
                silences = self._silent_nets[_pair(self.net_index, sweep.start, other)]
                yield self._separated(sweep.start, other, silences, number)


@dataclass(frozen=True, slots=True)
class _Hop:
    """A join, by its number among all joins, turned the way it is walked."""

    number: int
    step: Step


@dataclass(frozen=True, slots=True)
class _Tree:
    """How each point was come by from the root, which was come by without a hop, and after how many."""

    came_by: dict[Point, _Hop | None]
    hops: dict[Point, int]

    def hops_to(self, point: Point) -> list[_Hop]:
        hops = []
        while (hop := self.came_by[point]) is not None:
            hops.append(hop)
            point = hop.step.start
        return hops[::-1]


def _pair(index: Mapping[Point, int], a: Point, b: Point) -> tuple[int, int]:
    one, other = index[a], index[b]
    return (one, other) if one < other else (other, one)


def _grouped(steps: Iterable[Step], index: Mapping[Point, int]) -> dict[tuple[int, int], list[Step]]:
    """The steps by the two groups that the points of each belong to."""
    grouped = defaultdict(list)
    for step in steps:
        grouped[_pair(index, step.start, step.finish)].append(step)
    return dict(grouped)


def _turned(step: Step) -> Step:
    return Step(step.reading, step.finish, step.start, step.limit, step.ohms)


def deduce(points: Sequence[Point], readings: Sequence[Reading], meter: Meter) -> Deduction:
    """Nets and separations that the readings prove among `points` and whatever else was probed.

    Readings taken while flexing are left out. Work grows with the number of readings, times the logarithm
    of the number of points where sweeps are ruled out one by one.
    """
    probed = (point for reading in readings for point in (reading.red, *reading.black))
    partition = Partition(dict.fromkeys((*points, *probed)))
    said = _Said.by(readings, meter)
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


def _not_refused(said: _Said, conductor_index: Mapping[Point, int]) -> list[Step]:
    """The beeps whose two conductors no reading sets apart."""
    if not said.beeps:
        return []
    refused = {_pair(conductor_index, step.start, step.finish) for step in said.separations}
    pairs = [(step, _pair(conductor_index, step.start, step.finish)) for step in said.beeps]
    return [step for step, pair in pairs if pair[0] == pair[1] or pair not in refused]


@dataclass(frozen=True, slots=True)
class _Said:
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
    def by(readings: Sequence[Reading], meter: Meter) -> _Said:
        said = _Said([], [], [], [], [])
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
