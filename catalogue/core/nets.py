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
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import compress
from math import comb

from catalogue.core.bounds import span_ohms
from catalogue.core.document import Meter, Mode, Point, Reading, Result
from catalogue.core.findings import Limit, Step


@dataclass(frozen=True, slots=True)
class Pairs:
    """How many pairs of points are decided, and which way."""

    joined: int
    apart: int
    undecided: int
    total: int


@dataclass(frozen=True, slots=True)
class SweepJoin:
    """What a sweep that beeped came to: the join at place `known` of all joins; `others` were ruled out.

    Each of `others` is kept from beeping by a reading, or is one net with the member joined, by the joins
    before `known`.
    """

    known: int
    source: Point
    member: Point
    others: tuple[Point, ...]


@dataclass(frozen=True)
class Deduction:
    """What readings say about joined and apart, and on demand the readings that prove it.

    `points` are in the order given. `nets` hold every point exactly once, singles included, in that order
    too; `net_index` leads from a point to its net. `joins` and `separations` are what single readings said
    of pairs. Readings at odds show as `apart_within` (read apart, yet joined by a chain) and
    `impossible_sweeps`, the ids of sweeps that beeped though every member is ruled out.

    The first `low_joins` of the joins are low readings, the others beeps; `conductor_index` leads to what low
    readings alone join. `silences` are those of the separations where no buzzer can sound.
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
    sweep_joins: tuple[SweepJoin, ...] = field(repr=False)

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
        """A chain from `a`, the reading that says apart, a chain on to `b`, of the fewest readings; empty
        when not apart.

        Where a link is a sweep, the readings that rule out its other members follow.
        """
        if not self.is_apart(a, b):
            return ()
        silences = self._silent_nets.get(_pair(self.net_index, a, b))
        if silences:
            return self._with_ruled_out(*self._separated(a, b, silences, len(self.joins)))
        separations = self._apart_conductors[_pair(self.conductor_index, a, b)]
        return self._with_ruled_out(*self._separated(a, b, separations, self.low_joins))

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
    def _sweep_join_at(self) -> dict[int, SweepJoin]:
        return {found.known: found for found in self.sweep_joins}

    def _tree(self, root: Point, known: int) -> _Tree:
        """Every point that the first `known` joins lead to from `root`, by the fewest of them."""
        tree = _Tree({root: None})
        queue = deque([root])
        while queue:
            for hop in self._neighbours.get(queue.popleft(), ()):
                if hop.number < known and hop.step.finish not in tree.came_by:
                    tree.came_by[hop.step.finish] = hop
                    queue.append(hop.step.finish)
        return tree

    def _separated(
        self, a: Point, b: Point, separations: Sequence[Step], known: int
    ) -> tuple[list[_Hop], tuple[Step, ...], list[_Hop]]:
        """The separation that the first `known` joins reach from both points by the shortest chains."""
        from_a, from_b = self._tree(a, known), self._tree(b, known)
        both_ways = [turn for step in separations for turn in (step, _turned(step))]
        reached = [
            step for step in both_ways if step.start in from_a.came_by and step.finish in from_b.came_by
        ]
        chains = [(from_a.hops_to(step.start), step, from_b.hops_to(step.finish)) for step in reached]
        before, step, after = min(chains, key=lambda chain: len(chain[0]) + len(chain[2]))
        return before, (step,), [_Hop(hop.number, _turned(hop.step)) for hop in reversed(after)]

    def _with_ruled_out(
        self, before: list[_Hop], apart: tuple[Step, ...], after: Sequence[_Hop] = ()
    ) -> tuple[Step, ...]:
        """The proof, then what rules out the others of each sweep it leans on, each reading told once."""
        proof = [hop.step for hop in before] + [*apart] + [hop.step for hop in after]
        leaning = deque(hop.number for hop in (*before, *after))
        told = set()
        while leaning:
            number = leaning.popleft()
            if number in told or number not in self._sweep_join_at:
                continue
            told.add(number)
            for first, between, second in self._rulings_out(self._sweep_join_at[number]):
                proof += [hop.step for hop in first] + [*between] + [hop.step for hop in second]
                leaning.extend(hop.number for hop in (*first, *second))
        return tuple(dict.fromkeys(proof))

    def _rulings_out(self, found: SweepJoin) -> Iterable[tuple[list[_Hop], tuple[Step, ...], list[_Hop]]]:
        alike = self._tree(found.member, found.known)
        for other in found.others:
            if other in alike.came_by:
                yield alike.hops_to(other), (), []
            else:
                silences = self._silent_nets[_pair(self.net_index, found.source, other)]
                yield self._separated(found.source, other, silences, found.known)


@dataclass(frozen=True, slots=True)
class _Hop:
    """A join, by its number among all joins, turned the way it is walked."""

    number: int
    step: Step


@dataclass(frozen=True, slots=True)
class _Tree:
    """How each point was come by from the root, which was come by without a hop."""

    came_by: dict[Point, _Hop | None]

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
    ordered = tuple(dict.fromkeys((*points, *probed)))
    number = {point: place for place, point in enumerate(ordered)}
    said = _Said.by(readings, meter)
    parent = list(range(len(ordered)))
    for join in said.joins:
        _merge(parent, number[join.start], number[join.finish])
    conductor_index = {point: _root(parent, place) for point, place in number.items()}
    apart = {_pair(conductor_index, step.start, step.finish) for step in said.separations}
    refused = {pair for pair in apart if pair[0] != pair[1]}
    beeps = [step for step in said.beeps if _pair(conductor_index, step.start, step.finish) not in refused]
    for join in beeps:
        _merge(parent, number[join.start], number[join.finish])
    elimination = _Elimination(number, parent, said, meter.beep_ohms[1])
    elimination.settle()
    nets: dict[int, list[Point]] = {}
    for point, place in number.items():
        nets.setdefault(_root(parent, place), []).append(point)
    known = len(said.joins) + len(beeps)
    return Deduction(
        points=ordered,
        nets=tuple(tuple(net) for net in nets.values()),
        net_index={point: index for index, net in enumerate(nets.values()) for point in net},
        joins=(*said.joins, *beeps, *elimination.joins),
        separations=tuple(said.separations),
        impossible_sweeps=tuple(said.sweeps[sweep].id for sweep in sorted(elimination.impossible)),
        low_joins=len(said.joins),
        conductor_index=conductor_index,
        silences=tuple(compress(said.separations, said.silent)),
        sweep_joins=tuple(
            SweepJoin(known + place, join.start, join.finish, others)
            for place, (join, others) in enumerate(zip(elimination.joins, elimination.others, strict=True))
        ),
    )


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
            for black in dict.fromkeys(reading.black):
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


def _root(parent: list[int], place: int) -> int:
    """The number that stands for the class of `place`, shortening the way to it (path halving)."""
    while parent[place] != place:
        parent[place] = parent[parent[place]]
        place = parent[place]
    return place


def _merge(parent: list[int], one: int, other: int) -> None:
    parent[_root(parent, one)] = _root(parent, other)


class _Elimination:
    """Joins the source of each sweep that beeped to the one net that is left, until no sweep has anything
    new to say.

    A sweep with two or more nets left watches two of them, and is looked at again when one of the two is
    ruled out or merged. The class with less to tell is renamed on a merge, so that all of it costs readings
    times a logarithm.
    """

    def __init__(self, number: Mapping[Point, int], parent: list[int], said: _Said, beep_ohms: float) -> None:
        self.joins: list[Step] = []
        self.others: list[tuple[Point, ...]] = []
        self.impossible: set[int] = set()
        self._number = number
        self._parent = parent
        self._sweeps = said.sweeps
        self._beep_ohms = beep_ohms
        self._apart: dict[int, dict[int, bool]] = defaultdict(dict)
        self._watching: dict[int, dict[int, set[int]]] = defaultdict(dict)
        self._watched: dict[int, list[tuple[int, int]]] = {}
        if said.sweeps:
            for step, silent in zip(said.separations, said.silent, strict=True):
                self._set_apart(self._class(step.start), self._class(step.finish), silent)

    def _set_apart(self, one: int, other: int, silent: bool) -> None:
        """Two classes are apart; `silent` when a buzzer cannot sound between them either."""
        if one != other:
            silent = silent or self._apart[one].get(other, False)
            self._apart[one][other] = self._apart[other][one] = silent

    def settle(self) -> None:
        queue = deque(range(len(self._sweeps)))
        settled = set()
        while queue:
            sweep = queue.popleft()
            if sweep in settled:
                continue
            self._stop_watching(sweep)
            source = self._class(self._sweeps[sweep].red)
            left = self._left(sweep, source)
            if source in left:
                settled.add(sweep)
            elif not left:
                settled.add(sweep)
                self.impossible.add(sweep)
            elif len(left) == 1 and not left.keys() & self._apart[source].keys():
                settled.add(sweep)
                ((net, member),) = left.items()
                self._join(sweep, member)
                queue.extend(self._merge(source, net))
            else:
                self._watch(sweep, source, list(left)[:2])

    def _class(self, point: Point) -> int:
        return _root(self._parent, self._number[point])

    def _left(self, sweep: int, source: int) -> dict[int, Point]:
        """The classes that the sweep may have beeped on, each with its first member in the sweep."""
        left: dict[int, Point] = {}
        apart = self._apart[source]
        for member in self._sweeps[sweep].black:
            net = self._class(member)
            if not apart.get(net, False):
                left.setdefault(net, member)
        return left

    def _join(self, sweep: int, member: Point) -> None:
        reading = self._sweeps[sweep]
        self.joins.append(Step(reading.id, reading.red, member, Limit.AT_MOST, self._beep_ohms))
        self.others.append(tuple(point for point in dict.fromkeys(reading.black) if point != member))

    def _watch(self, sweep: int, source: int, nets: Sequence[int]) -> None:
        self._watched[sweep] = [(source, net) for net in nets]
        for net in nets:
            waiting = self._watching[source].setdefault(net, set())
            self._watching[net][source] = waiting
            waiting.add(sweep)

    def _stop_watching(self, sweep: int) -> None:
        for source, net in self._watched.pop(sweep, ()):
            self._watching[source].get(net, set()).discard(sweep)

    def _merge(self, one: int, other: int) -> list[int]:
        """Makes one class of two and returns the sweeps that should be looked at again."""
        gone, kept = sorted((one, other), key=self._weight)
        self._parent[gone] = kept
        woken: set[int] = set()
        for net, silent in self._apart.pop(gone, {}).items():
            if silent:
                woken |= self._watching[kept].get(net, set())
            del self._apart[net][gone]
            self._set_apart(kept, net, silent)
        for net, waiting in self._watching.pop(gone, {}).items():
            self._watching[net].pop(gone, None)
            woken |= waiting
        return sorted(woken)

    def _weight(self, net: int) -> int:
        return len(self._apart[net]) + len(self._watching[net])
