"""Which reading to take next, and what each outcome would prove.

An act is a pair probe, or a sweep along one unbroken run of contacts of one row. First whatever a sweep has
beeped on is narrowed down; then guesses that are likely enough are tried; then the act is taken that settles
most pairs of contacts for certain, plus what its outcome tells in bits. What is proved comes from the
deduction alone, so a wrong guess costs acts and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.core.document import Meter, Mode, Point, Reading, Result
from catalogue.core.nets import Deduction, deduce
from catalogue.core.planning.guesses import Known, Mask, Matrix, guess
from catalogue.core.planning.reach import Reach
from catalogue.core.planning.silence import silence

WORTH_TRYING = 0.25
"""A guess as likely as this is tried at once: to search instead takes some four acts."""
PAIRS_FOR_A_BIT = 20.0
"""Pairs of contacts that one bit is worth: about what one act settles over a whole cable. Judgement."""
LATER = 0.26
"""Share of its pairs that a merge saves later, where neither side is decided yet. Judgement."""
LEAST_LEFT = 0.1
SOURCES_HEARD = 100
"""Sources of sweeps that beeped, those nearest to being narrowed down: work grows with their number."""
HYPOTHESIS = "next"


@dataclass(frozen=True, slots=True)
class Proved:
    """What one more reading would prove: nets that become one, how many pairs that decides, and how.

    `one_of` are the contacts a beep leaves open: the source is joined to at least one of them.
    """

    net: tuple[Point, ...]
    joined: int
    apart: int
    one_of: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposal:
    """An act, the chance that it beeps (or reads low), what its outcome tells in bits, and what each would prove.

    In mode ohms there are more than two outcomes: `if_yes` is for a value that joins, `if_no` for one above.
    """

    mode: Mode
    red: Point
    black: tuple[Point, ...]
    chance: float
    tells_bits: float
    if_yes: Proved
    if_no: Proved


@dataclass(frozen=True, slots=True)
class Plan:
    """`next` are the acts to choose from, best first. `undecidable` are pairs that this meter has read every way
    and that stay undecided, such as a part right at the limit.
    """

    next: tuple[Proposal, ...]
    is_decided: bool
    undecidable: tuple[tuple[Point, Point], ...] = ()


def plan(
    contacts: Sequence[Point],
    rows: Sequence[Sequence[Point]],
    readings: Sequence[Reading],
    meter: Meter,
    expected: Mapping[Point, object] | None = None,
    sweeps: bool = True,
    proposals: int = 3,
) -> Plan:
    """The next acts for a cable with these contacts, that sit in these rows.

    `expected` groups contacts that may be one net, by a similar map or a standard; it may be wrong. Work grows
    with nets times runs.
    """
    deduction = deduce(contacts, readings, meter)
    known, heard = _known(contacts, readings, deduction)
    if not known.open.any():
        return Plan((), True)
    chosen: list[_Act] = []
    buzzed = _without(known, heard)
    if buzzed.open.any():
        chosen = list(_buzzer_acts(buzzed, Reach.of(contacts, rows, sweeps), expected or {}, proposals))
    if not chosen:
        measured, undecidable = _ohms_acts(known, contacts, readings, deduction)
        if not measured:
            return Plan((), False, undecidable)
        chosen = measured[:proposals]
    return Plan(tuple(_proposal(act, contacts, readings, meter, deduction, known) for act in chosen), False)


@dataclass(frozen=True, slots=True)
class _Act:
    mode: Mode
    red: Point
    black: tuple[Point, ...]
    silent: float


def _known(
    contacts: Sequence[Point], readings: Sequence[Reading], deduction: Deduction
) -> tuple[Known, set[tuple[int, int]]]:
    """What is decided between the nets of the contacts, numbered anew, and pairs of nets where a buzzer has said
    all it can: it beeped, yet a reading forbids to call them one.
    """
    numbers = dict.fromkeys(deduction.net_index[contact] for contact in contacts)
    number = {net: place for place, net in enumerate(numbers)}
    net = np.array([number[deduction.net_index[contact]] for contact in contacts], dtype=np.intp)
    open_ = ~np.eye(len(number), dtype=bool)
    for one, other in deduction.apart_nets:
        if one in number and other in number:
            open_[number[one], number[other]] = open_[number[other], number[one]] = False
    beeped: dict[int, set[frozenset[int]]] = {}
    heard: set[tuple[int, int]] = set()
    for reading in readings:
        if reading.result is not Result.BEEPS or reading.flexed:
            continue
        touched = [deduction.net_index[point] for point in (reading.red, *reading.black)]
        if not number.keys() >= set(touched):
            continue
        source, *members = (number[each] for each in touched)
        left = frozenset(member for member in members if open_[source, member])
        if source in members or not left:
            continue
        if len(left) == 1:
            heard.add((source, next(iter(left))))
        else:
            beeped.setdefault(source, set()).add(left)
    smallest = {
        source: sorted(
            (nets for nets in sets if not any(other < nets for other in sets)),
            key=lambda nets: (len(nets), sorted(nets)),
        )
        for source, sets in sorted(beeped.items(), key=lambda each: min(map(len, each[1])))[:SOURCES_HEARD]
    }
    return Known(net, np.bincount(net, minlength=len(number)), open_, smallest), heard


def _without(known: Known, heard: set[tuple[int, int]]) -> Known:
    """The same, with nothing more to hear between these nets, and no sweep that one of them explains."""
    if not heard:
        return known
    open_ = known.open.copy()
    for one, other in heard:
        open_[one, other] = open_[other, one] = False
    beeped = {
        source: [nets for nets in sets if open_[source, list(nets)].all()] for source, sets in known.beeped.items()
    }
    return Known(known.net, known.size, open_, {source: sets for source, sets in beeped.items() if sets})


def _buzzer_acts(known: Known, reach: Reach, expected: Mapping[Point, object], most: int) -> Iterator[_Act]:
    touched = reach.touches(known.net, len(known.size))
    guesses = guess(known, reach, expected)
    silent = silence(known, guesses, touched)
    runs = touched.astype(float)
    lengths = np.array([len(run) for run in reach.runs])
    fresh = known.open @ runs
    useless = touched | (fresh == 0) | (silent <= 0)
    first_of = {int(net): place for place, net in reversed(list(enumerate(known.net.tolist())))}

    def act(source: int, run: int) -> _Act:
        black = tuple(reach.points[place] for place in reach.runs[run])
        mode = Mode.SWEEP if len(black) > 1 else Mode.BEEP
        return _Act(mode, reach.points[first_of[source]], black, float(silent[source, run]))

    told: set[frozenset[int]] = set()
    for source, run in _ranked(known, guesses.together(known), silent, useless, runs, lengths, most):
        pair = frozenset((source, *np.flatnonzero(touched[:, run]).tolist()))
        if pair not in told and len(told) < most:
            told.add(pair)
            yield act(source, run)


def _ranked(
    known: Known, together: Matrix, silent: Matrix, useless: Mask, runs: Matrix, lengths: NDArray[np.intp], most: int
) -> Iterator[tuple[int, int]]:
    """Sources and runs, the best first: what narrows down a beep, then a likely guess, then by worth."""
    bits = _bits(silent)
    found = []
    for source, sets in known.beeped.items():
        nets = np.zeros(len(known.size))
        nets[list(sets[0])] = 1
        strays = ((known.open[source] * (1 - nets)) @ runs) > 0
        value = np.where(useless[source] | strays | (nets @ runs == 0), -1.0, bits[source] - 1e-3 * lengths)
        run = int(np.argmax(value))
        if value[run] > 0:
            found.append((float(value[run]), source, run))
    yield from ((source, run) for _, source, run in sorted(found, key=lambda each: (-each[0], each[1])))
    single = lengths == 1
    alone = np.where(useless | ~single, -1.0, 1 - silent)
    tries = together @ runs
    best = np.unravel_index(int(np.argmax(np.where(alone > 0, tries, -1.0))), tries.shape)
    if alone[best] > 0 and tries[best] >= WORTH_TRYING and known.size[best[0]] <= 2:
        yield int(best[0]), int(best[1])
    worth = np.where(useless, -np.inf, _worth(known, together, silent, runs, lengths) + PAIRS_FOR_A_BIT * bits)
    worth -= 1e-3 * lengths
    for _ in range(most + 1):
        source, run = (int(each) for each in np.unravel_index(int(np.argmax(worth)), worth.shape))
        if worth[source, run] == -np.inf:
            return
        yield source, run
        worth[source] = -np.inf


def _bits(chance: Matrix) -> Matrix:
    inner = np.clip(chance, 1e-12, 1 - 1e-12)
    entropy: Matrix = -(inner * np.log2(inner) + (1 - inner) * np.log2(1 - inner))
    return entropy


def _worth(known: Known, together: Matrix, silent: Matrix, runs: Matrix, lengths: NDArray[np.intp]) -> Matrix:
    """Pairs of contacts that an act may be expected to settle for certain, and would not come for free later."""
    size, open_ = known.size.astype(float), known.open.astype(float)
    apart = 1 - open_ - np.eye(len(size))
    free = together @ apart
    lasting = np.clip(1 - free - free.T, LEAST_LEFT, 1.0) * open_
    settled = ((lasting * size) @ runs) * size[:, None]
    one_side = (apart * size) @ open_.T
    neither = (open_ * size) @ open_.T
    merged = one_side * size[None, :] + one_side.T * size[:, None] + size[:, None] * size[None, :]
    merged += LATER * neither * np.minimum(size[:, None], size[None, :])
    joins = np.where(open_ @ runs == 1, (merged * open_) @ runs, 0.0)
    worth: Matrix = silent * settled + (1 - silent) * joins
    return worth


def _ohms_acts(
    known: Known, contacts: Sequence[Point], readings: Sequence[Reading], deduction: Deduction
) -> tuple[list[_Act], tuple[tuple[Point, Point], ...]]:
    """Readings in ohms where a buzzer cannot decide, and pairs that were read so without being decided."""
    read = {
        frozenset((deduction.conductor_index[reading.red], deduction.conductor_index[reading.black[0]]))
        for reading in readings
        if reading.mode is Mode.OHMS and not reading.flexed
    }
    stand_ins = {deduction.conductor_index[contact]: contact for contact in reversed(contacts)}
    place = {contact: number for number, contact in enumerate(contacts)}
    chosen = sorted(stand_ins.values(), key=place.__getitem__)
    acts, undecidable = [], []
    for index, red in enumerate(chosen):
        for black in chosen[index + 1 :]:
            if deduction.is_joined(red, black) or deduction.is_apart(red, black):
                continue
            if frozenset((deduction.conductor_index[red], deduction.conductor_index[black])) in read:
                undecidable.append((red, black))
            else:
                acts.append(_Act(Mode.OHMS, red, (black,), 0.5))
    return acts, tuple(undecidable)


def _proposal(
    act: _Act,
    contacts: Sequence[Point],
    readings: Sequence[Reading],
    meter: Meter,
    before: Deduction,
    known: Known,
) -> Proposal:
    def after(reading: Reading) -> Proved:
        return proved(before, deduce(contacts, (*readings, reading), meter), reading)

    if act.mode is Mode.OHMS:
        low = Reading(HYPOTHESIS, act.mode, act.red, act.black, Result.VALUE, 0.0)
        high = Reading(HYPOTHESIS, act.mode, act.red, act.black, Result.OVER)
    else:
        low = Reading(HYPOTHESIS, act.mode, act.red, act.black, Result.BEEPS)
        high = Reading(HYPOTHESIS, act.mode, act.red, act.black, Result.SILENT)
    bits = float(_bits(np.array([act.silent]))[0])
    return Proposal(act.mode, act.red, act.black, 1 - act.silent, bits, after(low), after(high))


def proved(before: Deduction, after: Deduction, reading: Reading) -> Proved:
    """What a reading adds to what was deduced before it."""
    grown = after.nets[after.net_index[reading.red]]
    is_grown = len(grown) > len(before.nets[before.net_index[reading.red]])
    open_ = (
        ()
        if reading.result is not Result.BEEPS or is_grown
        else tuple(
            point
            for point in dict.fromkeys(reading.black)
            if not before.is_joined(reading.red, point) and not before.is_apart(reading.red, point)
        )
    )
    return Proved(
        grown if is_grown else (),
        after.pairs.joined - before.pairs.joined,
        after.pairs.apart - before.pairs.apart,
        open_,
    )
