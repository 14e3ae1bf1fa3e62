"""A cable on a bench that does not exist: what a meter within its limits would show of a cable wired as a
map says.

`specimen` makes a network of resistances of a map, `BenchMeter` reads it with every error its limits allow,
and `read` takes readings in a row. `random_cable` invents the map too, and `flipped` spoils one reading.
All chance comes from the generator passed in, so the same seed gives the same cable and the same readings.

    cable = random_cable(rng, contacts=(38, 24, 4))
    sample = specimen(cable, rng)
    readings = read(sample, every_pair(sample.points), BenchMeter.of(cable.meter, rng))
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations, pairwise

import numpy as np
from numpy.random import Generator

from catalogue.core.copper import area_ohms_per_m, gauge_area_mm2, nominal_ohms_per_m
from catalogue.core.document import (
    CUSTOM_CONNECTOR,
    CableName,
    Core,
    CoreKind,
    End,
    FaultKind,
    Form,
    MapDocument,
    Meter,
    Mode,
    Net,
    Part,
    PartKind,
    Point,
    Reading,
    Result,
    Role,
    Section,
    end_of,
)
from catalogue.core.network import Link, Matrix, resistance_distances
from catalogue.core.topology import topology

# How far invented specimens differ from one another: judgement, within what sound cables show.
USUAL_AWG = 28.0
USUAL_LENGTH_M = (0.3, 3.0)
COPPER_SPREAD = (0.95, 1.25)
"""Stranding, lay, tinning and a warm or cold bench, against solid copper at 20 °C."""
JOINT_OHMS = (0.001, 0.01)
HIGH_OHMS = (30.0, 400.0)
SHORT_OHMS = (0.01, 2.0)
RESISTOR_SPREAD = (0.95, 1.05)


@dataclass(frozen=True)
class Specimen:
    """One cable as it truly is: resistance in ohms between every two of its points, infinite between some."""

    points: tuple[Point, ...]
    resistances: Matrix

    @cached_property
    def _place(self) -> dict[Point, int]:
        return {point: place for place, point in enumerate(self.points)}

    def ohms(self, a: Point, b: Point) -> float:
        return float(self.resistances[self._place[a], self._place[b]])


def specimen(document: MapDocument, rng: Generator, points: Sequence[Point] = ()) -> Specimen:
    """One cable built as the map says, its resistances drawn around what its copper should have.

    Each net runs along all sections between its ends on the cores that the map gives it (else on one of
    gauge 28), its contacts joined to it by some milliohms. Resistors between nets are in place, within 5 %;
    other parts and paths do not conduct. Declared faults are there: open nets are cut, high ones have 30 to
    400 ohms, short ones touch.

    `points` are what can be probed; without them, the rows of custom ends and all contacts in nets.
    """
    rows = (f"{end.name}:{contact}" for end in document.ends for row in end.rows for contact in row if contact)
    probed = tuple(dict.fromkeys((*points,) or (*rows, *document.net_of_contact)))
    network = _Network(document, rng)
    numbers = [network.node(point) for point in probed]
    resistances = resistance_distances(network.nodes, network.links)
    return Specimen(probed, resistances[np.ix_(numbers, numbers)])


class _Network:
    """The resistors of a specimen between numbered nodes: probe points, and nets at each place they pass."""

    def __init__(self, document: MapDocument, rng: Generator) -> None:
        self.links: list[Link] = []
        self._document = document
        self._rng = rng
        self._numbers: dict[object, int] = {}
        self._sections = self._one_tree(document)
        for net in document.nets:
            self._run(net)
        for part in document.parts:
            if part.kind is PartKind.RESISTOR and part.value:
                self._tie(part.between[0], part.between[1], part.value * rng.uniform(*RESISTOR_SPREAD))
        for fault in document.faults:
            if fault.kind is FaultKind.SHORT:
                for one, other in pairwise(fault.nets):
                    self._tie(one, other, rng.uniform(*SHORT_OHMS))

    @property
    def nodes(self) -> int:
        return len(self._numbers)

    def node(self, key: object) -> int:
        return self._numbers.setdefault(key, len(self._numbers))

    def _one_tree(self, document: MapDocument) -> tuple[Section, ...]:
        """The sections, and one of unknown length between each two parts that the map leaves unconnected."""
        tree = topology(document)
        bridges = (Section("", one[0], other[0]) for one, other in pairwise(tree.islands))
        return (*tree.sections.values(), *bridges)

    def _run(self, net: Net) -> None:
        for contact in net.contacts:
            hub = self.node((net.name, end_of(contact)))
            self.links.append((self.node(contact), hub, self._rng.uniform(*JOINT_OHMS)))
        ends = {end_of(contact) for contact in net.contacts}
        if len(ends) < 2:
            return
        sections = self._sections_between(ends)
        cut = self._faulty(net, sections, FaultKind.OPEN)
        high = self._faulty(net, sections, FaultKind.HIGH)
        for section in sections:
            ohms = self._section_ohms(net, section)
            if ohms is None or section in cut:
                continue
            if section in high:
                ohms += self._rng.uniform(*HIGH_OHMS)
            self.links.append((self.node((net.name, section.start)), self.node((net.name, section.finish)), ohms))

    def _sections_between(self, ends: set[str]) -> list[Section]:
        """The sections left when every dead end without a contact of the net is taken away."""
        left = list(self._sections)
        while True:
            touching = [place for section in left for place in (section.start, section.finish)]
            needed = [
                section
                for section in left
                if all(place in ends or touching.count(place) > 1 for place in (section.start, section.finish))
            ]
            if len(needed) == len(left):
                return left
            left = needed

    def _faulty(self, net: Net, sections: Sequence[Section], kind: FaultKind) -> list[Section]:
        """The sections where the net has a fault of that kind; where the map names none of them, any one."""
        named = [fault.section for fault in self._document.faults if fault.kind is kind and net.name in fault.nets]
        found = [section for section in sections if section.name and section.name in named]
        if named and not found and sections:
            return [sections[int(self._rng.integers(len(sections)))]]
        return found

    def _section_ohms(self, net: Net, section: Section) -> float | None:
        """Resistance of the net's cores in a section, side by side; None when it has only fibre there."""
        length_m = section.length_m or self._rng.uniform(*USUAL_LENGTH_M)
        cores = [core for core in self._document.cores if core.carries == net.name and core.section == section.name]
        metals = [core for core in cores if core.kind is not CoreKind.FIBRE]
        if cores and not metals:
            return None
        usual = area_ohms_per_m(gauge_area_mm2(USUAL_AWG))
        siemens = sum(1 / (nominal_ohms_per_m(core, {}) or usual) for core in metals) or 1 / usual
        return float(length_m / siemens * self._rng.uniform(*COPPER_SPREAD))

    def _tie(self, one: str, other: str, ohms: float) -> None:
        """A resistor between two nets, at the first place that both pass, else from start to start."""
        places = [
            [place for net, place in (key for key in self._numbers if isinstance(key, tuple)) if net == name]
            for name in (one, other)
        ]
        if all(places):
            shared = next((place for place in places[0] if place in places[1]), None)
            ends = (shared, shared) if shared else (places[0][0], places[1][0])
            self.links.append((self.node((one, ends[0])), self.node((other, ends[1])), ohms))


@dataclass(frozen=True, slots=True)
class Act:
    """What to do with the meter: probe a pair, or sweep along several. A range given is chosen by hand."""

    mode: Mode
    red: Point
    black: tuple[Point, ...]
    range_ohms: float | None = None


def every_pair(points: Sequence[Point], mode: Mode = Mode.OHMS) -> Iterator[Act]:
    return (Act(mode, red, (black,)) for red, black in combinations(points, 2))


def mixed_acts(points: Sequence[Point], rng: Generator, share: float = 1.0) -> tuple[Act, ...]:
    """About that share of all pairs, by resistance or by beep, and from each point one sweep.

    Some pairs are read with the probes changed over and some on a low range. A sweep goes along up to eight
    neighbours in the order of `points`.
    """
    acts = []
    for pair in combinations(points, 2):
        chosen, turned, how = rng.random(3)
        if chosen < share:
            red, black = pair if turned < 0.5 else pair[::-1]
            mode = Mode.BEEP if how < 0.4 else Mode.OHMS
            acts.append(Act(mode, red, (black,), 2000.0 if how > 0.9 else None))
    for red in points:
        start, length = int(rng.integers(len(points))), int(rng.integers(2, 9))
        run = tuple(point for point in points[start : start + length] if point != red)
        if run:
            acts.append(Act(Mode.SWEEP, red, run))
    return tuple(acts)


def read(sample: Specimen, acts: Iterable[Act], meter: BenchMeter, first: int = 1) -> tuple[Reading, ...]:
    """The readings that these acts give, with ids `r1`, `r2` and so on from `first`."""
    return tuple(meter.reading(f"r{number}", sample, act) for number, act in enumerate(acts, first))


@dataclass(frozen=True)
class BenchMeter:
    """A meter in somebody's hand, true to its limits and no better.

    Each value shown may be off by all that `accuracy_pct` and `accuracy_digits` allow, each touch of the
    probes adds 0 to `contact_ohms`, and the buzzer sounds below `threshold_ohms`, somewhere in `beep_ohms`.
    It picks its range by itself in steps of ten up to `range_ohms`, the last digit being a power of ten.
    """

    limits: Meter
    threshold_ohms: float
    rng: Generator

    @classmethod
    def of(cls, limits: Meter, rng: Generator) -> BenchMeter:
        return cls(limits, float(rng.uniform(*limits.beep_ohms)), rng)

    def reading(self, id: str, sample: Specimen, act: Act) -> Reading:
        if act.mode is Mode.OHMS:
            return self._ohms(id, sample, act)
        if act.mode not in (Mode.BEEP, Mode.SWEEP):
            raise ValueError(f"a network of resistances has no {act.mode} reading")
        sounds = [self._probed_ohms(sample, act.red, black) < self.threshold_ohms for black in act.black]
        return Reading(id, act.mode, act.red, act.black, Result.BEEPS if any(sounds) else Result.SILENT)

    def _ohms(self, id: str, sample: Specimen, act: Act) -> Reading:
        probed = self._probed_ohms(sample, act.red, act.black[0])
        for range_ohms, digit in self._ranges if act.range_ohms is None else [self._range(act.range_ohms)]:
            shown = self._shown(probed, digit)
            if shown < range_ohms:
                return Reading(id, act.mode, act.red, act.black, Result.VALUE, shown, digit, range_ohms=act.range_ohms)
        return Reading(id, act.mode, act.red, act.black, Result.OVER, range_ohms=act.range_ohms)

    def _probed_ohms(self, sample: Specimen, red: Point, black: Point) -> float:
        touch = self.rng.uniform(0, self.limits.contact_ohms)
        return float(sample.ohms(red, black) + self.limits.lead_ohms + touch)

    def _shown(self, probed_ohms: float, digit: float) -> float:
        """A value that the display may show: whole digits, off by no more than the accuracy allows."""
        if math.isinf(probed_ohms):
            return math.inf
        share, digits = self.limits.accuracy_pct / 100, self.limits.accuracy_digits * digit
        least, most = max(0.0, (probed_ohms - digits) / (1 + share)), (probed_ohms + digits) / (1 - share)
        steps = round(self.rng.uniform(least, most) / digit)
        steps = min(max(steps, math.ceil(least / digit)), math.floor(most / digit))
        return float(f"{steps * digit:.9g}")

    @cached_property
    def _ranges(self) -> list[tuple[float, float]]:
        """Ranges in ohms from the lowest (some hundred ohms) to the highest, each with its last digit."""
        found = [self._range(self.limits.range_ohms)]
        while found[-1][0] >= 1000:
            found.append(self._range(found[-1][0] / 10))
        return found[::-1]

    @staticmethod
    def _range(range_ohms: float) -> tuple[float, float]:
        return range_ohms, 10.0 ** (math.floor(math.log10(range_ohms)) - 3)


def random_cable(
    rng: Generator, contacts: Sequence[int] = (12, 12), resistors: int = 0, meter: Meter | None = None
) -> MapDocument:
    """An invented cable with as many contacts at each end: a ground, a supply, singles, and some contacts
    unused.

    Two ends are joined by one section, more of them meet in a split. `resistors` parts of 200 ohms to 100
    kilohms lie between nets, as identification resistors do.
    """
    names = [f"E{number}" for number, _ in enumerate(contacts, 1)]
    nets = _random_nets(rng, {name: _shuffled(rng, name, count) for name, count in zip(names, contacts, strict=True)})
    centre = [] if len(names) == 2 else ["Y"]
    stretches = [(names[0], names[-1])] if not centre else [(name, "Y") for name in names]
    sections = tuple(
        Section(f"s{number}", start, finish, round(float(rng.uniform(0.2, 3.0)), 2))
        for number, (start, finish) in enumerate(stretches, 1)
    )
    return MapDocument(
        cable=CableName("Invented Works", f"Sample {rng.integers(100_000)}", summary="Invented example."),
        ends=tuple(
            End(name, CUSTOM_CONNECTOR, Form.PLUG, _rows(count)) for name, count in zip(names, contacts, strict=True)
        ),
        splits=tuple(centre),
        sections=sections,
        cores=tuple(_random_cores(rng, nets, sections)),
        nets=nets,
        parts=tuple(_random_resistors(rng, nets, resistors)),
        meter=meter or Meter(),
    )


def _rows(count: int) -> tuple[tuple[str, ...], ...]:
    """Two rows, the upper one longer where the contacts are odd."""
    numbers = [str(number) for number in range(1, count + 1)]
    upper = (count + 1) // 2
    return tuple(tuple(row) for row in (numbers[:upper], numbers[upper:]) if row)


def _shuffled(rng: Generator, name: str, count: int) -> list[Point]:
    return [f"{name}:{number}" for number in (rng.permutation(count) + 1).tolist()]


def _random_nets(rng: Generator, free: dict[str, list[Point]]) -> tuple[Net, ...]:
    def taken(most: int) -> tuple[Point, ...]:
        """One to `most` contacts of each end that has contacts left."""
        return tuple(
            stack.pop() for stack in free.values() for _ in range(min(len(stack), int(rng.integers(1, most + 1))))
        )

    nets = [Net("GND", taken(4), Role.GROUND), Net("V5", taken(2), Role.POWER, 5.0)]
    while len(open_ends := [name for name, stack in free.items() if stack]) > 1:
        chosen = rng.permutation(len(open_ends))[:2].tolist()
        contacts = tuple(free[open_ends[place]].pop() for place in sorted(chosen))
        if rng.random() > 0.1:
            nets.append(Net(f"S{len(nets) - 1}", contacts, Role.SINGLE))
    return tuple(net for net in nets if net.contacts)


def _random_cores(rng: Generator, nets: Sequence[Net], sections: Sequence[Section]) -> Iterator[Core]:
    for net in nets:
        ends = {end_of(contact) for contact in net.contacts}
        gauge = float(rng.integers(22, 27) if net.role in (Role.POWER, Role.GROUND) else rng.integers(26, 33))
        for section in sections if len(ends) > 1 else ():
            if {section.start, section.finish} & ends:
                yield Core(f"{net.name}.{section.name}", section.name, awg=gauge, carries=net.name)


def _random_resistors(rng: Generator, nets: Sequence[Net], many: int) -> Iterator[Part]:
    pairs = list(combinations(nets, 2))
    for place in rng.permutation(len(pairs))[:many].tolist():
        one, other = pairs[place]
        yield Part(PartKind.RESISTOR, (one.name, other.name), float(f"{200 * 500 ** rng.random():.2g}"))


def flipped(readings: Sequence[Reading], rng: Generator, meter: Meter) -> tuple[tuple[Reading, ...], Reading]:
    """The readings with one of them spoilt, and that one: joined turns over limit or silent, open beeps.

    Raises ValueError when no reading of a pair shows joined or open.
    """
    spoilt = [(place, turned) for place, reading in enumerate(readings) if (turned := _turned(reading, meter))]
    if not spoilt:
        raise ValueError("no reading of a pair shows joined or open")
    place, turned = spoilt[int(rng.integers(len(spoilt)))]
    return (*readings[:place], turned, *readings[place + 1 :]), turned


def _turned(reading: Reading, meter: Meter) -> Reading | None:
    if reading.mode is Mode.SWEEP or reading.flexed:
        return None
    match reading.result:
        case Result.VALUE if reading.mode is Mode.OHMS and (reading.value or 0.0) <= meter.join_ohms:
            return replace(reading, result=Result.OVER, value=None, range_ohms=None)
        case Result.BEEPS:
            return replace(reading, result=Result.SILENT)
        case Result.OVER | Result.SILENT:
            return replace(reading, mode=Mode.BEEP, result=Result.BEEPS, digit_ohms=None, range_ohms=None)
        case _:
            return None
