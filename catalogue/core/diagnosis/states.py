"""What the readings of one specimen say of each net and path that it should have: sound, open, high, crossed.

The specimen is a document whose nets are as they should be and whose readings are as they are. A `Rail` is one
net or path with its state and the readings that prove it. Dangerous news come first: a net that is joined to
another one is told shorted or crossed, whatever else is wrong with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import combinations

from catalogue.core.document import Mode, Net, Path, Point, Reading, Result, Role, Via, end_of
from catalogue.core.findings import Limit, Step
from catalogue.core.partition import Partition
from catalogue.core.rules.conductors import above_copper
from catalogue.core.rules.context import Context

HIGH_AT_MOST_OHMS = 10_000.0
"""What reads more than this between two contacts of one net is open: so much is moisture, a junction or a part beside
it, and no longer a conductor that hangs by a strand (judgement)."""

OTHERS_PROVED = 6
"""A net that is shorted to more others than this is proved so by as many: what is that wrong is read anew."""


class State(StrEnum):
    SOUND = "sound"
    OPEN = "open"
    HIGH = "high"
    SHORTED = "shorted"
    CROSSED = "crossed"
    UNREAD = "unread"
    NOT_READABLE = "not-readable"


DEAD = frozenset({State.OPEN, State.HIGH})
MISWIRED = frozenset({State.SHORTED, State.CROSSED})


@dataclass(frozen=True)
class Rail:
    """One net or path of a specimen, and what is proved of it.

    `via` is None for a net. `others` are the nets, paths or unlisted contacts that it is shorted to or crossed
    with. `proof` are the readings behind the state; none for `unread`. `to_read` are pairs of its own contacts
    that nobody has read yet. `flexed` are readings taken while bending it; `intermittent` says that they change.
    """

    name: str
    role: Role
    via: Via | None
    contacts: tuple[Point, ...]
    state: State
    others: tuple[str, ...] = ()
    proof: tuple[Step, ...] = ()
    to_read: tuple[tuple[Point, Point], ...] = ()
    flexed: tuple[str, ...] = ()
    intermittent: bool = False


def rails(context: Context, leading: frozenset[str] = frozenset()) -> tuple[Rail, ...]:
    """The state of every net, then of every path, in the order of the document.

    `leading` names nets at one end that should lead to another (see `expectation`). A net counts as open
    when a reading proves two of its contacts apart, as high when all such pairs read some ohms or when it reads far
    above its copper, as unread when nothing joins or parts some of its contacts.
    """
    bench = _Bench(context)
    nets = [bench.net(net, net.name in leading) for net in context.nets.values()]
    return (*nets, *(bench.path(path) for path in context.paths.values()))


@dataclass(frozen=True, slots=True)
class _Told:
    state: State
    others: tuple[str, ...] = ()
    proof: tuple[Step, ...] = ()
    to_read: tuple[tuple[Point, Point], ...] = ()


@dataclass(frozen=True)
class _Bench:
    """What all rails of one specimen are looked up in."""

    context: Context

    @cached_property
    def owner(self) -> Mapping[Point, str]:
        """The net of each contact; without one its path, else the contact by itself."""
        by_path = {point: path.name for path in self.context.paths.values() for point in (path.start, path.finish)}
        return {point: self.context.net_of.get(point, by_path.get(point, point)) for point in self.context.contacts}

    @cached_property
    def touched(self) -> frozenset[Point]:
        """The contacts that a steady reading of resistance probed."""
        steady = (reading for reading in self.context.sound_readings if not reading.flexed)
        probes = (reading for reading in steady if reading.mode in (Mode.OHMS, Mode.BEEP, Mode.SWEEP))
        return frozenset(point for reading in probes for point in (reading.red, *reading.black))

    @cached_property
    def straight(self) -> Mapping[Point, Mapping[str, Step]]:
        """For each contact what a single reading joins to it, by the name of the other's net; sweeps need more."""
        found: dict[Point, dict[str, Step]] = {}
        deduction = self.context.deduction
        for place, step in enumerate(deduction.joins):
            if place not in deduction.ruled_out:
                for one, other in ((step.start, step.finish), (step.finish, step.start)):
                    if other in self.owner:
                        found.setdefault(one, {}).setdefault(self.owner[other], step)
        return found

    @cached_property
    def too_high(self) -> Mapping[str, tuple[Step, ...]]:
        """The nets that read far above what their copper can have, each with the readings that say so."""
        found: dict[str, tuple[Step, ...]] = {}
        for remark in above_copper(self.context):
            found.setdefault(self.context.net_of[remark.contacts[0]], remark.witness)
        return found

    @cached_property
    def high_values(self) -> Mapping[str, list[Step]]:
        """Values along one net above what counts as joined, and still those of a conductor."""
        found: dict[str, list[Step]] = {}
        join_ohms = self.context.document.meter.join_ohms
        for bound in self.context.bounds:
            net = self.context.net_of.get(bound.a)
            along = net is not None and net == self.context.net_of.get(bound.b)
            reading = self.context.reading(bound.reading)
            is_value = reading.mode is Mode.OHMS and reading.result is Result.VALUE
            if net is not None and along and is_value and bound.lower > join_ohms and bound.upper <= HIGH_AT_MOST_OHMS:
                found.setdefault(net, []).append(Step(bound.reading, bound.a, bound.b, Limit.AT_LEAST, bound.lower))
        return found

    @cached_property
    def flexed_on(self) -> Mapping[str, list[Reading]]:
        """Readings of resistance between two points of one rail that were taken while bending."""
        found: dict[str, list[Reading]] = {}
        owner = {**self.owner, **self.context.net_of}
        for reading in self.context.sound_readings:
            if reading.flexed and len(reading.black) == 1 and reading.mode is not Mode.DIODE:
                name = owner.get(reading.red)
                if (
                    name is not None
                    and name == owner.get(reading.black[0])
                    and _conducts(self.context, reading) is not None
                ):
                    found.setdefault(name, []).append(reading)
        return found

    def net(self, net: Net, leads_on: bool) -> Rail:
        contacts = self.context.known_contacts(net)
        return self._rail(net.name, net.role, None, contacts, self._net_told(net, contacts, leads_on))

    def path(self, path: Path) -> Rail:
        contacts = tuple(point for point in (path.start, path.finish) if point in self.context.contacts)
        return self._rail(path.name, Role.UNKNOWN, path.via, contacts, self._path_told(path, contacts))

    def _rail(self, name: str, role: Role, via: Via | None, contacts: tuple[Point, ...], told: _Told) -> Rail:
        flexed = self.flexed_on.get(name, [])
        return Rail(
            name, role, via, contacts, told.state, told.others, told.proof, told.to_read,
            flexed=tuple(reading.id for reading in flexed),
            intermittent=self._changes(flexed),
        )  # fmt: skip

    def _net_told(self, net: Net, contacts: tuple[Point, ...], leads_on: bool) -> _Told:
        strangers = list(self._strangers(contacts, {net.name}))
        if strangers:
            return self._miswired(contacts, strangers)
        pieces = self._pieces(contacts)
        if len(contacts) < 2 or (leads_on and len(pieces) == 1):
            return self._at_one_end(contacts, leads_on)
        if len(pieces) == 1:
            proof = self.too_high.get(net.name)
            return _Told(State.HIGH, proof=proof) if proof else _Told(State.SOUND, proof=self._through(contacts))
        return self._in_pieces(net, contacts, pieces)

    def _path_told(self, path: Path, contacts: tuple[Point, ...]) -> _Told:
        own = {path.name, *(self.owner[point] for point in contacts)}
        strangers = list(self._strangers(contacts, own))
        if strangers:
            return self._miswired(contacts, strangers)
        if len(contacts) == 2:
            deduction = self.context.deduction
            if deduction.is_joined(*contacts):
                return _Told(State.SOUND, proof=deduction.joined_proof(*contacts))
            return _Told(State.NOT_READABLE, proof=deduction.apart_proof(*contacts))
        return _Told(State.NOT_READABLE)

    def _strangers(self, contacts: tuple[Point, ...], own: set[str]) -> Iterator[tuple[Point, Point]]:
        """A contact and one of something else that the readings join to it, one pair for each such other."""
        deduction, told = self.context.deduction, set(own)
        low_part = self.context.document.meter.beep_ohms[1]
        for contact in contacts:
            for point in deduction.nets[deduction.net_index[contact]]:
                name = self.owner.get(point)
                if name is None or name in told:
                    continue
                if any(self.context.part_ohms(mine, name) > low_part for mine in own):
                    told.add(name)
                    yield contact, point

    def _miswired(self, contacts: tuple[Point, ...], strangers: list[tuple[Point, Point]]) -> _Told:
        """Crossed where a contact meets part of another net in place of part of its own; else shorted."""
        deduction = self.context.deduction
        others = tuple(self.owner[point] for _, point in strangers)
        for contact, point in strangers:
            lost = next((own for own in contacts if deduction.is_apart(contact, own)), None)
            net = self.context.nets.get(self.owner[point])
            theirs = self.context.known_contacts(net) if net else ()
            if lost is not None and any(deduction.is_apart(point, other) for other in theirs):
                proof = deduction.joined_proof(contact, point) + deduction.apart_proof(contact, lost)
                return _Told(State.CROSSED, others, proof)
        return _Told(State.SHORTED, others, self._short_proof(contacts, strangers))

    def _short_proof(self, contacts: tuple[Point, ...], strangers: list[tuple[Point, Point]]) -> tuple[Step, ...]:
        """For each other net the one reading that joins it, else the chain that does; for many others a few."""
        deduction = self.context.deduction
        straight = {name: step for contact in contacts for name, step in self.straight.get(contact, {}).items()}
        if len(strangers) > OTHERS_PROVED:
            found = [straight[self.owner[point]] for _, point in strangers if self.owner[point] in straight]
            return tuple(found[:OTHERS_PROVED]) or deduction.joined_proof(*strangers[0])
        return _once(
            (straight[name],) if (name := self.owner[point]) in straight else deduction.joined_proof(contact, point)
            for contact, point in strangers
        )

    def _at_one_end(self, contacts: tuple[Point, ...], leads_on: bool) -> _Told:
        """A single contact is sound when it was read; what should lead on is open when it is apart from all there."""
        if self.touched.isdisjoint(contacts):
            return _Told(State.UNREAD)
        if not leads_on:
            return _Told(State.SOUND)
        far = [point for point in self.context.contacts if end_of(point) != end_of(contacts[0])]
        undecided = [point for point in far if not self.context.deduction.is_apart(contacts[0], point)]
        if undecided:
            return _Told(State.UNREAD, to_read=tuple((contacts[0], point) for point in undecided))
        return _Told(State.OPEN, proof=_once(self.context.deduction.apart_proof(contacts[0], point) for point in far))

    def _pieces(self, contacts: tuple[Point, ...]) -> list[list[Point]]:
        pieces: dict[int, list[Point]] = {}
        for contact in contacts:
            pieces.setdefault(self.context.deduction.net_index[contact], []).append(contact)
        return list(pieces.values())

    def _through(self, contacts: tuple[Point, ...]) -> tuple[Step, ...]:
        """The readings from the first contact to one at each other end, or to the next where there is one end."""
        far = {end_of(contact): contact for contact in contacts if end_of(contact) != end_of(contacts[0])}
        targets = list(far.values()) or [contacts[1]]
        return _once(self.context.deduction.joined_proof(contacts[0], target) for target in targets)

    def _in_pieces(self, net: Net, contacts: tuple[Point, ...], pieces: list[list[Point]]) -> _Told:
        deduction, values = self.context.deduction, self.high_values.get(net.name, [])
        to_read = tuple((pieces[0][0], piece[0]) for piece in pieces[1:])
        apart = [pair for pair in combinations(contacts, 2) if deduction.is_apart(*pair)]
        if not apart:
            return _Told(State.UNREAD, to_read=to_read)
        held = Partition(deduction.points)
        for piece in pieces:
            for contact in piece[1:]:
                held.merge(piece[0], contact)
        for step in values:
            held.merge(step.start, step.finish)
        parted = next((pair for pair in apart if held.class_of(pair[0]) != held.class_of(pair[1])), None)
        if parted is None:
            return _Told(State.HIGH, proof=tuple(values))
        return _Told(State.OPEN, proof=deduction.apart_proof(*parted))

    def _changes(self, flexed: list[Reading]) -> bool:
        """Whether bending changed what a rail reads, against itself or against how it reads at rest."""
        for reading in flexed:
            now, (black,) = _conducts(self.context, reading), reading.black
            at_rest = self.context.deduction
            if (now and at_rest.is_apart(reading.red, black)) or (not now and at_rest.is_joined(reading.red, black)):
                return True
        return len({_conducts(self.context, reading) for reading in flexed}) > 1


def _conducts(context: Context, reading: Reading) -> bool | None:
    """Whether one reading taken by itself shows a conductor; None for what is no resistance."""
    match reading.result:
        case Result.BEEPS:
            return True
        case Result.SILENT:
            return False
        case Result.OVER if reading.mode is Mode.OHMS:
            return False
        case Result.VALUE if reading.mode is Mode.OHMS:
            return (reading.value or 0.0) <= context.document.meter.join_ohms
        case _:
            return None


def _once(proofs: Iterator[tuple[Step, ...]]) -> tuple[Step, ...]:
    return tuple(dict.fromkeys(step for proof in proofs for step in proof))
