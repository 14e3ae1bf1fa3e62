"""What is already found out about a group of rails: from the map, the states, the readings and a person's looks.

`observed` gives each evidence that is decided, one way or the other, with the sentence and the readings behind it.
What nothing speaks of is left out, and may be worth a test (see `next_tests`). A map's guess is no evidence, and
neither is its silence.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from catalogue.core.diagnosis.evidence import LOOKS, Evidence
from catalogue.core.diagnosis.explanations import Observed
from catalogue.core.diagnosis.groups import Group, GroupKind, is_signal
from catalogue.core.diagnosis.states import DEAD, Rail, State
from catalogue.core.document import Basis, Core, CoreKind, Holds, MarkKind, Mode, Point, Reading, Role, Via, end_of
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import counted, listed, verb

JUNCTION_VOLTS = (0.1, 1.2)
"""Between these a diode reading is one junction, Schottky to silicon with a resistor beside it (common practice)."""

LEAST_FARADS_PER_M = 30e-12
"""The least that a core has to its neighbours, in farads per metre: loose PVC cores, the lowest row of the table of
dielectrics."""

STUBS_AT_LEAST = 0.5
"""Share of that least capacitance that the readings at both ends must reach together to be a whole core: meters
differ, and nobody knows the neighbours (judgement)."""

COUPLING_FARADS = 1e-9
"""A capacitor put in the way of a lane has this much or more; two stubs have some picofarads (judgement)."""

SIGNALS_FOR_A_PATTERN = 3
"""All of fewer signals being open is no pattern (judgement)."""

VIA_EVIDENCE = {
    Via.FIBRE: Evidence.MAP_SAYS_FIBRE,
    Via.CAPACITOR: Evidence.MAP_SAYS_CAPACITOR,
    Via.CHIP: Evidence.MAP_SAYS_CHIP,
}
MODULE_EVIDENCE = {
    Holds.OPTICAL: Evidence.OPTICAL_MODULE,
    Holds.ACTIVE: Evidence.ACTIVE_MODULE,
    Holds.UNKNOWN: Evidence.UNOPENED_MODULE,
}
LOOK_WORDS: Mapping[Evidence, tuple[str, str]] = {
    Evidence.LAMP_LIGHT: ("Light of a lamp comes out at the far end.", "No light of a lamp comes out at the far end."),
    Evidence.GLASS_SEEN: ("The end of a glass fibre shows in a plug.", "No end of a glass fibre shows in the plugs."),
    Evidence.BLOCK_WARM: ("The block or plug gets warm in use.", "The block or plug stays cold in use."),
    Evidence.CONTACT_WORN: ("A contact is worn, bent or dirty.", "The contacts look clean and straight."),
    Evidence.OTHER_CABLE_WORKS: ("The device works with another cable.", "The device fails with another cable too."),
    Evidence.BREAK_SEEN: ("The opening shows broken copper.", "The opening shows whole copper."),
}


def observed(
    context: Context, rails: Sequence[Rail], group: Group, looks: Mapping[Evidence, bool]
) -> tuple[Observed, ...]:
    """All evidence that is decided about one group, each at most once, in the order of `Evidence`.

    `rails` are all rails of the specimen, `looks` what a person answered. Raises ValueError for a look that is none.
    """
    if wrong := set(looks) - set(LOOKS):
        raise ValueError(f"no look: {', '.join(sorted(wrong))}")
    seen = _Seen(context, tuple(rails), group)
    told = [*seen.by_map(), *seen.by_states(), *seen.by_readings()]
    told += [Observed(look, holds, LOOK_WORDS[look][0 if holds else 1]) for look, holds in looks.items()]
    order = list(Evidence)
    return tuple(sorted(told, key=lambda each: order.index(each.evidence)))


@dataclass(frozen=True)
class _Seen:
    context: Context
    rails: tuple[Rail, ...]
    group: Group

    # The map

    def by_map(self) -> Iterator[Observed]:
        known = {path.name: path.via for path in self.context.paths.values() if path.basis is not Basis.GUESSED}
        for via, evidence in VIA_EVIDENCE.items():
            names = [
                name for name in self.group.names if known.get(name) is via or (via is Via.FIBRE and self._glass(name))
            ]
            if names:
                yield Observed(
                    evidence, True, f"The map says that {listed(names)} {verb(names, 'goes', 'go')} through {via}."
                )
        if all(self._is_copper(rail) for rail in self.group.rails):
            said = f"The map names copper cores all the way of {listed(self.group.names)}."
            yield Observed(Evidence.MAP_SAYS_COPPER, True, said)
        for module in self.context.document.modules:
            if self._passes(module.name):
                yield from self._module(module.name, module.holds)
        yield from self._marks()

    def _module(self, name: str, holds: Holds) -> Iterator[Observed]:
        """The first module of each kind stands for all."""
        evidence = MODULE_EVIDENCE.get(holds)
        alike = [
            other.name for other in self.context.document.modules if other.holds is holds and self._passes(other.name)
        ]
        if evidence and alike[0] == name:
            said = "nobody has looked into it" if holds is Holds.UNKNOWN else f"it is {holds}"
            yield Observed(evidence, True, f"Block {name} lies on the way, and {said}.")

    def _marks(self) -> Iterator[Observed]:
        marks = [mark for mark in self.context.document.marks if mark.kind is not MarkKind.STRAIN_RELIEF]
        found = [mark for mark in marks if mark.section in self._sections]
        if found:
            said = listed(f"{mark.kind} at {mark.at_m:g} m of {mark.section}" for mark in found)
            yield Observed(Evidence.MARK_ON_THE_WAY, True, f"On the way there is a {said}.")

    @cached_property
    def _ends(self) -> tuple[str, ...]:
        """The ends that the group's contacts are on."""
        return tuple(dict.fromkeys(end_of(contact) for rail in self.group.rails for contact in rail.contacts))

    @cached_property
    def _sections(self) -> frozenset[str]:
        """The sections between those ends; all of them where a rail shows no second end."""
        if len(self._ends) < 2:
            return frozenset(self.context.topology.sections)
        ways = [self.context.topology.stretches(self._ends[0], end) or () for end in self._ends[1:]]
        return frozenset(stretch.section for way in ways for stretch in way)

    def _passes(self, place: str) -> bool:
        """Whether a place lies on the way; every place does in a cable without sections."""
        sections = self.context.topology.sections
        if not sections:
            return True
        return any(place in (sections[name].start, sections[name].finish) for name in self._sections)

    @cached_property
    def _cores(self) -> Mapping[str, list[Core]]:
        found: dict[str, list[Core]] = {}
        for core in self.context.document.cores:
            if core.carries:
                found.setdefault(core.carries, []).append(core)
        return found

    def _glass(self, name: str) -> bool:
        return any(core.kind is CoreKind.FIBRE for core in self._cores.get(name, ()))

    def _is_copper(self, rail: Rail) -> bool:
        """Whether the map names a metal core of the rail in each section between its contacts."""
        cores = self._cores.get(rail.name, [])
        metal = {core.section for core in cores if core.kind is not CoreKind.FIBRE}
        ends = list(dict.fromkeys(map(end_of, rail.contacts)))
        ways = [self.context.topology.stretches(ends[0], end) for end in ends[1:]] if ends else []
        return bool(ways) and all(way and all(each.section in metal for each in way) for way in ways)

    # The states

    def by_states(self) -> Iterator[Observed]:
        members, kind = self.group.rails, self.group.kind
        names = listed(self.group.names)
        if kind is GroupKind.CABLE:
            yield Observed(Evidence.READS_OPEN, False, "Every net reads through from end to end.")
        opened = [rail.name for rail in members if rail.state is State.OPEN]
        high = [rail.name for rail in members if rail.state is State.HIGH]
        if opened or high:
            said = f"{listed(opened + high)} should be one conductor, and {verb(opened + high, 'is', 'are')} not."
            yield Observed(Evidence.READS_OPEN, True, said, self._proof(members))
            spoken = (
                f"{listed(high)} {verb(high, 'reads', 'read')} too high." if high else f"{names} read open, not high."
            )
            yield Observed(Evidence.READS_HIGH, bool(high), spoken, self._proof(members))
        if kind is GroupKind.SUPPLIES:
            yield Observed(Evidence.SUPPLY_DEAD, True, f"{names}: a supply, ground or screen is dead.")
        if kind in (GroupKind.SIGNALS, GroupKind.SUPPLIES):
            yield from self._pattern()

    def _pattern(self) -> Iterator[Observed]:
        """What may be said only once every rail of the kind was read."""
        signals = self.group.kind is GroupKind.SIGNALS
        alike = [rail for rail in self.rails if is_signal(rail) is signals and rail.via in (None, Via.UNKNOWN)]
        dead, names = self.group.rails, listed(self.group.names)
        if len(dead) > 1:
            yield Observed(
                Evidence.ONE_DEAD, False, f"{counted(len(dead), 'rail')} of its kind read nothing through: {names}."
            )
            yield from self._bundle(alike)
        if any(rail.state is State.UNREAD for rail in alike):
            return
        if len(dead) == 1:
            # This says already that not all are dead: told twice it would count twice.
            yield Observed(Evidence.ONE_DEAD, True, f"Of {counted(len(alike), 'rail')} like it, {names} alone is dead.")
            return
        supplies = [rail for rail in self.rails if not is_signal(rail)]
        if signals and len(alike) >= SIGNALS_FOR_A_PATTERN and any(rail.state is State.SOUND for rail in supplies):
            every = len(dead) == len(alike) and not any(rail.state in DEAD for rail in supplies)
            said = "All signals read open and the supplies sound." if every else "Not all signals read open."
            yield Observed(Evidence.ALL_SIGNALS_OPEN, every, said)

    def _bundle(self, alike: Sequence[Rail]) -> Iterator[Observed]:
        """Whether the dead lie in one bundle of one section with nothing sound in it; unsaid without bundles."""
        shared = self._bundles(self.group.rails)
        if not all(shared):
            return
        common = set.intersection(*shared)
        sound = [rail for rail in alike if rail.state is State.SOUND]
        inside = Counter(bundle for found in self._bundles(sound) for bundle in found)
        whole = sorted(bundle for bundle in common if not inside[bundle])
        if whole:
            section, bundle = whole[0]
            said = f"The dead ones lie together in bundle {bundle} of {section}, and nothing in it is sound."
            yield Observed(Evidence.ONE_BUNDLE, True, said)
        elif not common:
            yield Observed(Evidence.ONE_BUNDLE, False, "The dead ones lie in several bundles.")

    def _bundles(self, rails: Sequence[Rail]) -> list[set[tuple[str, str]]]:
        return [
            {(core.section, core.bundle) for core in self._cores.get(rail.name, ()) if core.bundle} for rail in rails
        ]

    @staticmethod
    def _proof(rails: Sequence[Rail]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(step.reading for rail in rails for step in rail.proof))

    # Further readings

    def by_readings(self) -> Iterator[Observed]:
        yield from self._flexing()
        yield from self._junctions()
        yield from self._stubs()
        yield from self._between_ends()

    def _flexing(self) -> Iterator[Observed]:
        bent = [rail for rail in self.group.rails if rail.flexed]
        changing = [rail for rail in bent if rail.intermittent]
        readings = tuple(dict.fromkeys(reading for rail in bent for reading in rail.flexed))
        if changing:
            names = listed(rail.name for rail in changing)
            yield Observed(Evidence.COMES_AND_GOES, True, f"Bending the cable changes what {names} reads.", readings)
        elif bent:
            names = listed(rail.name for rail in bent)
            yield Observed(Evidence.COMES_AND_GOES, False, f"Bending the cable changes nothing on {names}.", readings)

    @cached_property
    def _contacts(self) -> Mapping[Point, Rail]:
        return {contact: rail for rail in self.group.rails for contact in rail.contacts}

    @cached_property
    def _grounds(self) -> frozenset[Point]:
        nets = self.context.nets.values()
        return frozenset(contact for net in nets if net.role in (Role.GROUND, Role.SCREEN) for contact in net.contacts)

    def _to_ground(self, mode: Mode) -> Iterator[tuple[Point, Reading, bool]]:
        """Steady readings between a contact of the group and a ground: the contact, and whether red was on ground."""
        for reading in self.context.sound_readings:
            if reading.mode is mode and not reading.flexed:
                if reading.black[0] in self._contacts and reading.red in self._grounds:
                    yield reading.black[0], reading, True
                elif reading.red in self._contacts and reading.black[0] in self._grounds:
                    yield reading.red, reading, False

    def _junctions(self) -> Iterator[Observed]:
        """Found by one reading that is a junction in one direction only; ruled out where the junctions of a chip
        conduct (red on ground), by readings over limit at both ends of the cable."""
        read = list(self._to_ground(Mode.DIODE))
        volts = {(contact, on_ground): reading.value for contact, reading, on_ground in read}
        found = [
            (contact, reading)
            for contact, reading, on_ground in read
            if _is_junction(reading.value) and not _is_junction(volts.get((contact, not on_ground)))
        ]
        if found:
            said = f"{listed(dict.fromkeys(contact for contact, _ in found))} shows a junction to ground."
            yield Observed(Evidence.JUNCTION_TO_GROUND, True, said, tuple(reading.id for _, reading in found))
            return
        tried = [(contact, reading) for contact, reading, on_ground in read if on_ground and reading.value is None]
        if len({end_of(contact) for contact, _ in tried}) >= min(2, len(self._ends)) > 0:
            said = "No contact of them that was tried, at either end, shows a junction to ground."
            yield Observed(Evidence.JUNCTION_TO_GROUND, False, said, tuple(reading.id for _, reading in tried))

    def _stubs(self) -> Iterator[Observed]:
        """Capacitance to ground from both ends of one rail, against the least that a core of its length has."""
        read: dict[str, dict[str, Reading]] = {}
        for contact, reading, _ in self._to_ground(Mode.FARADS):
            if reading.value is not None:
                read.setdefault(self._contacts[contact].name, {})[end_of(contact)] = reading
        for name, by_end in read.items():
            if len(by_end) < 2:
                continue
            near, far = list(by_end)[:2]
            length_m = self.length_m(near, far)
            if length_m is None:
                continue
            farads = sum(by_end[end].value or 0.0 for end in (near, far))
            whole = farads >= STUBS_AT_LEAST * LEAST_FARADS_PER_M * length_m
            said = (
                f"{name} has {farads * 1e12:.3g} pF to ground from {near} and {far} together, which is "
                f"{'that of' if whole else 'too little for'} a core of {length_m:g} m."
            )
            yield Observed(Evidence.CAPACITANCE_OF_LENGTH, whole, said, (by_end[near].id, by_end[far].id))
            return

    def length_m(self, near: str, far: str) -> float | None:
        """Metres of cable between two ends, None where a section on the way was not measured."""
        way = self.context.topology.stretches(near, far)
        if not way or any(stretch.length_m is None for stretch in way):
            return None
        return sum(stretch.length_m or 0.0 for stretch in way)

    def _between_ends(self) -> Iterator[Observed]:
        read = [
            reading
            for reading in self.context.sound_readings
            if reading.mode is Mode.FARADS
            and reading.value is not None
            and not reading.flexed
            and self._is_along(reading)
        ]
        if read:
            found = [reading for reading in read if (reading.value or 0.0) >= COUPLING_FARADS]
            first = (found or read)[0]
            said = f"Between {first.red} and {first.black[0]} there are {(first.value or 0.0) * 1e9:.3g} nF."
            yield Observed(Evidence.CAPACITOR_BETWEEN_ENDS, bool(found), said, (first.id,))

    def _is_along(self, reading: Reading) -> bool:
        """Whether a reading goes from one end of a rail of the group to another end of the same rail."""
        red, black = self._contacts.get(reading.red), self._contacts.get(reading.black[0])
        return red is not None and red is black and end_of(reading.red) != end_of(reading.black[0])


def _is_junction(volts: float | None) -> bool:
    return volts is not None and JUNCTION_VOLTS[0] <= volts <= JUNCTION_VOLTS[1]
