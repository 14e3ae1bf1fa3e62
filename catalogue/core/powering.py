"""Is a mended or home-made cable proved safe to power? Which readings say so, and which are still to take.

Every supply and ground must read through, and every supply must be apart from every other net and from every
contact that is in none, at all of their contacts. Apart means a lower bound on the resistance: a silent buzzer or
over limit on a low range is never enough. A reading that shows less fails the cable, whatever others say.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from itertools import combinations, product

from catalogue.core.document import Holds, Mode, Net, Point, Reading, Result, Role, Via, end_of
from catalogue.core.findings import Limit, Step
from catalogue.core.rules.context import Context

ISOLATED_OHMS = 1e6
"""What plain conductors that do not touch read at least: a megohm, well within the range of a hand-held meter, and far
above what dirt or a damp bench makes of good insulation (common practice)."""

LEAK_AMPERES = 1e-3
"""Where the map knows of electronics, a supply may read less to what they sit between, as long as no more than this
would flow at its nominal volts: inputs bear it, and it heats nothing (common practice)."""

UNKNOWN_VOLTS = 60.0
"""Taken for a supply of unknown volts: the limit of extra-low voltage in equipment, direct current (IEC 60335-1)."""

PART_SHARE = 0.5
"""Share of a declared resistor that must still be read: resistors stray by far less, shorts leave far less."""

LEAST_OHMS = 100.0
"""No part makes less than this between a supply and something else safe (judgement)."""

SHORT_VOLTS = 0.1
"""Less than this in diode mode is no junction but a conductor (common practice)."""

CHAINS_PROVED = 100
"""Of so many failed checks the chain of readings is told where no single reading fails them: a cable with more is
read anew and not gone through."""


class Aim(StrEnum):
    THROUGH = "through"
    APART = "apart"


class Outcome(StrEnum):
    PROVED = "proved"
    MISSING = "missing"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class ProofCheck:
    """One thing to prove: that `net` reads through, or that it is apart from `other` by at least `needs_ohms`.

    `at_least_ohms` is the best lower bound so far where it is missing, None where there is none. `proof` are the
    readings that prove or fail it (of failed checks far down the list it may be empty), `to_read` the pairs of
    contacts that would prove it.
    """

    aim: Aim
    net: str
    other: str
    needs_ohms: float | None
    outcome: Outcome
    at_least_ohms: float | None = None
    proof: tuple[Step, ...] = ()
    to_read: tuple[tuple[Point, Point], ...] = ()


@dataclass(frozen=True)
class Powering:
    """`proved` only when there is a supply and every check is proved; failed checks come first, then missing ones."""

    proved: bool
    checks: tuple[ProofCheck, ...]
    supplies: tuple[str, ...]

    @property
    def text(self) -> str:
        """What the proof comes to, in a sentence or two."""
        if not self.supplies:
            return "No supply is known of this cable, so nothing can be proved: find out which contacts carry one."
        failed, missing = (len(self.with_outcome(outcome)) for outcome in (Outcome.FAILED, Outcome.MISSING))
        if failed:
            return f"{failed} of {len(self.checks)} checks fail. Do not power it."
        if missing:
            return f"{missing} of {len(self.checks)} checks are missing. Do not power it before they are read."
        return "Every supply reads through, and apart from everything else."

    def with_outcome(self, outcome: Outcome) -> tuple[ProofCheck, ...]:
        return tuple(check for check in self.checks if check.outcome is outcome)


def powering(context: Context) -> Powering:
    """The proof before power of a cable whose nets are as they should be and whose readings are as they are.

    Nets of role power, and of unknown role with volts, are supplies. Work grows with supplies times nets.
    """
    bench = _Bench(context)
    checks = [bench.through(net) for net in (*bench.supplies, *bench.grounds)]
    checks += [bench.apart(net, other) for net, other in bench.pairs()]
    order = list(reversed(Outcome))
    checks.sort(key=lambda check: order.index(check.outcome))
    checks[:CHAINS_PROVED] = [bench.with_chain(check) for check in checks[:CHAINS_PROVED]]
    proved = bool(bench.supplies) and all(check.outcome is Outcome.PROVED for check in checks)
    return Powering(proved, tuple(checks), tuple(net.name for net in bench.supplies))


@dataclass(frozen=True, slots=True)
class _Party:
    """A net, a path or a lone contact. `pieces` are its conductors, each with one contact; `joined` the nets, by the
    numbers of the deduction, that its contacts are joined to."""

    name: str
    volts: float | None
    contacts: tuple[Point, ...]
    pieces: tuple[tuple[int, Point], ...]
    joined: frozenset[int]


@dataclass(frozen=True)
class _Bench:
    context: Context

    @cached_property
    def supplies(self) -> tuple[Net, ...]:
        nets = self.context.nets.values()
        return tuple(net for net in nets if net.role is Role.POWER or (net.role is Role.UNKNOWN and net.volts))

    @cached_property
    def grounds(self) -> tuple[Net, ...]:
        return tuple(net for net in self.context.nets.values() if net.role is Role.GROUND)

    @cached_property
    def parties(self) -> tuple[_Party, ...]:
        """Every net, path, and contact that nothing lists."""
        nets = self.context.nets.values()
        parties = [self._party(net.name, self.context.known_contacts(net), net.volts) for net in nets]
        listed = set(self.context.net_of)
        for path in self.context.paths.values():
            ends = [point for point in (path.start, path.finish) if point in self.context.contacts]
            parties.append(self._party(path.name, [point for point in ends if point not in listed]))
            listed.update(ends)
        parties += [self._party(contact, [contact]) for contact in self.context.contacts if contact not in listed]
        return tuple(parties)

    def pairs(self) -> Iterator[tuple[_Party, _Party]]:
        """Each supply with every other; two supplies only once."""
        place = {net.name: number for number, net in enumerate(self.supplies)}
        for net in self.parties:
            if (number := place.get(net.name)) is not None:
                yield from ((net, other) for other in self.parties if place.get(other.name, math.inf) > number)

    @cached_property
    def _conductor(self) -> Mapping[Point, int]:
        """Points that low readings alone make one conductor: a chain of beeps may be a chain of parts."""
        return self.context.deduction.conductor_index

    @cached_property
    def _spread_ohms(self) -> Mapping[int, float]:
        """The most that lies between two points of one conductor: all its low readings in one chain, and no more
        than as many of them as could chain its points."""
        deduction, join_ohms = self.context.deduction, self.context.document.meter.join_ohms
        spread = dict.fromkeys(self._conductor.values(), 0.0)
        least: dict[tuple[Point, Point], float] = {}
        for step in deduction.joins[: deduction.low_joins]:
            pair = (min(step.start, step.finish), max(step.start, step.finish))
            least[pair] = min(step.ohms, least.get(pair, math.inf))
        for (point, _), ohms in least.items():
            spread[self._conductor[point]] += ohms
        sizes = Counter(self._conductor.values())
        return {index: min(ohms, (sizes[index] - 1) * join_ohms) for index, ohms in spread.items()}

    @cached_property
    def _lowers(self) -> Mapping[tuple[int, int], Step]:
        """The greatest lower bound between any points of two conductors, in ohms of the conductors' own."""
        found: dict[tuple[int, int], Step] = {}
        for bound in self.context.bounds:
            one, other = _key(self._conductor[bound.a], self._conductor[bound.b])
            lower = bound.lower - self._spread_ohms[one] - self._spread_ohms[other]
            if one != other and lower > 0 and ((one, other) not in found or found[one, other].ohms < lower):
                found[one, other] = Step(bound.reading, bound.a, bound.b, Limit.AT_LEAST, lower)
        return found

    @cached_property
    def _uppers(self) -> Mapping[tuple[int, int], Step]:
        """The least upper bound between any points of two conductors, from whatever reading showed it."""
        found: dict[tuple[int, int], Step] = {}
        for step in self._shown_joined():
            pair = _key(self._conductor[step.start], self._conductor[step.finish])
            if pair not in found or step.ohms < found[pair].ohms:
                found[pair] = step
        return found

    def _shown_joined(self) -> Iterator[Step]:
        """Steady upper bounds, and what conducted while bending or in diode mode: also a short that comes and goes."""
        for bound in self.context.bounds:
            if math.isfinite(bound.upper):
                yield Step(bound.reading, bound.a, bound.b, Limit.AT_MOST, bound.upper)
        for reading in self.context.sound_readings:
            ohms = self._conducted_ohms(reading)
            if ohms is not None and len(reading.black) == 1:
                yield Step(reading.id, reading.red, reading.black[0], Limit.AT_MOST, ohms)

    def _conducted_ohms(self, reading: Reading) -> float | None:
        """At most these ohms, says a reading that is no steady one of resistance; None where it says nothing."""
        buzzer_ohms = self.context.document.meter.beep_ohms[1]
        if reading.mode is Mode.DIODE:
            return buzzer_ohms if reading.value is not None and abs(reading.value) < SHORT_VOLTS else None
        if reading.flexed and reading.mode is Mode.OHMS:
            return reading.value
        return buzzer_ohms if reading.flexed and reading.result is Result.BEEPS else None

    def through(self, net: Net) -> ProofCheck:
        """All contacts of a net are one conductor by low readings, which no other reading disputes."""
        contacts, deduction = self.context.known_contacts(net), self.context.deduction
        pieces = self._pieces(contacts)
        disputed = self._disputed.get(deduction.net_index[contacts[0]]) if contacts else None
        if disputed is not None:
            return ProofCheck(Aim.THROUGH, net.name, "", None, Outcome.FAILED, proof=(disputed,))
        parted = next((pair for pair in combinations(contacts, 2) if deduction.is_apart(*pair)), None)
        if parted is not None:
            return ProofCheck(Aim.THROUGH, net.name, "", None, Outcome.FAILED, proof=deduction.apart_proof(*parted))
        if len(pieces) != 1:
            to_read = tuple((pieces[0][1], contact) for _, contact in pieces[1:])
            return ProofCheck(Aim.THROUGH, net.name, "", None, Outcome.MISSING, to_read=to_read)
        far = {end_of(contact): contact for contact in contacts if contact != contacts[0]}
        proof = dict.fromkeys(step for contact in far.values() for step in deduction.joined_proof(contacts[0], contact))
        return ProofCheck(Aim.THROUGH, net.name, "", None, Outcome.PROVED, proof=tuple(proof))

    @cached_property
    def _disputed(self) -> Mapping[int, Step]:
        """Readings that part what others join, by the number of the net."""
        deduction = self.context.deduction
        return {deduction.net_index[step.start]: step for step in deduction.apart_within}

    def apart(self, net: _Party, other: _Party) -> ProofCheck:
        """Every contact of a supply is apart from every contact of another net by the ohms that it needs."""
        needs = self.needs_ohms(net, other)
        failing = self._failing(net, other, needs)
        if failing or not net.joined.isdisjoint(other.joined):
            return ProofCheck(Aim.APART, net.name, other.name, needs, Outcome.FAILED, proof=failing)
        proof, lacking, best_ohms = [], [], math.inf
        for (one, a), (two, b) in product(net.pieces, other.pieces):
            step = self._lowers.get(_key(one, two))
            best_ohms = min(best_ohms, step.ohms if step else 0.0)
            if step is None or step.ohms < needs:
                lacking.append((a, b))
            else:
                proof.append(step)
        if not lacking:
            return ProofCheck(Aim.APART, net.name, other.name, needs, Outcome.PROVED, proof=tuple(proof))
        lacking.sort(key=lambda pair: end_of(pair[0]) != end_of(pair[1]))
        known = best_ohms or None
        return ProofCheck(Aim.APART, net.name, other.name, needs, Outcome.MISSING, known, to_read=tuple(lacking))

    def with_chain(self, check: ProofCheck) -> ProofCheck:
        """A failed check with the chain of readings that joins its two nets, where no single reading does."""
        if check.outcome is not Outcome.FAILED or check.proof:
            return check
        deduction = self.context.deduction
        every = product(self._contacts_of(check.net), self._contacts_of(check.other))
        return replace(check, proof=next((proof for a, b in every if (proof := deduction.joined_proof(a, b))), ()))

    def _contacts_of(self, name: str) -> tuple[Point, ...]:
        return next(party.contacts for party in self.parties if party.name == name)

    def needs_ohms(self, net: _Party, other: _Party) -> float:
        """The least that may lie between a supply and another net, by what the map declares between them."""
        needs = (net.volts or UNKNOWN_VOLTS) / LEAK_AMPERES if self._has_electronics else ISOLATED_OHMS
        return max(min(needs, PART_SHARE * self.context.part_ohms(net.name, other.name)), LEAST_OHMS)

    @cached_property
    def _has_electronics(self) -> bool:
        document = self.context.document
        shut = any(module.holds is not Holds.PASSIVE for module in document.modules)
        return shut or any(path.via in (Via.CHIP, Via.FIBRE) for path in document.paths)

    def _failing(self, net: _Party, other: _Party, needs: float) -> tuple[Step, ...]:
        """The one reading that shows least, when that is less than needed; none if none does."""
        found = [self._uppers.get(_key(one, two)) for (one, _), (two, _) in product(net.pieces, other.pieces)]
        low = [step for step in found if step is not None and step.ohms < needs]
        return (min(low, key=lambda step: step.ohms),) if low else ()

    def _party(self, name: str, contacts: Sequence[Point], volts: float | None = None) -> _Party:
        index = self.context.deduction.net_index
        return _Party(
            name, volts, tuple(contacts), self._pieces(contacts), frozenset(index[point] for point in contacts)
        )

    def _pieces(self, contacts: Sequence[Point]) -> tuple[tuple[int, Point], ...]:
        """The conductors among contacts, each with the first contact of it."""
        pieces: dict[int, Point] = {}
        for contact in contacts:
            pieces.setdefault(self._conductor[contact], contact)
        return tuple(pieces.items())


def _key(one: int, other: int) -> tuple[int, int]:
    return (one, other) if one < other else (other, one)
