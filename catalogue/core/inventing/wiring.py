"""How invented cables are wired: own plugs or standard ones, copper, fibre and chips, two ends or three.

Everything is as a maker would build it: a ground on several contacts, a supply or two, twisted pairs, singles, some
contacts unused, colours as published schemes count them. So no rule refuses it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from numpy.random import Generator

from catalogue.core.document import (
    CUSTOM_CONNECTOR,
    Basis,
    CableName,
    Core,
    CoreKind,
    End,
    Fault,
    FaultKind,
    Form,
    Holds,
    MapDocument,
    Mark,
    MarkKind,
    Module,
    Net,
    Part,
    PartKind,
    Path,
    Point,
    Role,
    Section,
    Via,
    end_of,
)
from catalogue.core.inventing.chance import one_of, some_of
from catalogue.core.inventing.names import Thing
from catalogue.core.reference import Reference, StandardCable
from catalogue.core.wiring import all_contacts, nets_of_groups

SIZES = ((4, 4), (6, 6), (8, 8), (9, 15), (10, 6), (12, 12), (14, 8), (16, 16), (20, 12), (26, 14), (38, 24))
THIRD_ENDS = (2, 3, 4)
SUPPLIES = (("5V", 5.0), ("12V", 12.0), ("24V", 24.0), ("3V3", 3.3))
NAMES_OF_ENDS = (("DESK", "HEAD"), ("BASE", "TOOL"), ("HOST", "DEVICE"), ("RACK", "STAGE"))
PITCHES_MM = (0.8, 1.0, 1.27, 2.0, 2.54, 3.96)
ID_OHMS = (1000.0, 2200.0, 4700.0, 5100.0, 10000.0, 22000.0)
BY_THE_BOOK = 0.25
"""Share of the cables that are wired as a standard says."""


@dataclass(frozen=True)
class Places:
    """Where a cable goes along: its sections, and what lies between them."""

    sections: tuple[Section, ...]
    modules: tuple[Module, ...] = ()
    splits: tuple[str, ...] = ()


def invented_wiring(rng: Generator, name: CableName, thing: Thing, reference: Reference) -> MapDocument:
    """A cable of that name, without readings."""
    if rng.random() < BY_THE_BOOK:
        return _by_the_book(rng, name, reference)
    sizes: tuple[int, ...] = one_of(rng, SIZES)
    names: tuple[str, ...] = one_of(rng, NAMES_OF_ENDS)
    if rng.random() < 0.15:
        sizes, names = (*sizes, one_of(rng, THIRD_ENDS)), (*names, "SUPPLY")
    ends = tuple(
        End(end, CUSTOM_CONNECTOR, Form.PLUG, _rows(rng, size), one_of(rng, PITCHES_MM))
        for end, size in zip(names, sizes, strict=True)
    )
    places = _places(rng, names)
    free = {end.name: some_of(rng, [f"{end.name}:{at}" for row in end.rows for at in row], 99) for end in ends}
    nets = _nets(rng, thing, free)
    nets, paths = _hidden(rng, places, nets)
    cable = MapDocument(
        cable=name,
        ends=ends,
        modules=places.modules,
        splits=places.splits,
        sections=places.sections,
        nets=nets,
        paths=paths,
        parts=_resistors(rng, nets),
        marks=tuple(_marks(rng, places.sections, names)),
    )
    cable = replace(cable, cores=tuple(_cores(rng, cable, reference)))
    return replace(cable, faults=_faults(rng, cable))


def changed_hardware(rng: Generator, cable: MapDocument) -> MapDocument:
    """The next hardware revision: two conductors of the last end change places, where it has two that can."""
    end = cable.ends[-1].name
    movable = [
        (net, contact)
        for net in cable.nets
        if net.role in (Role.SINGLE, Role.CONTROL)
        for contact in net.contacts
        if end_of(contact) == end
    ]
    revision = chr(ord(cable.cable.revision or "A") + 1)
    renamed = replace(cable, cable=replace(cable.cable, revision=revision))
    if len(movable) < 2 or cable.ends[-1].connector != CUSTOM_CONNECTOR:
        return renamed
    (one, at_one), (other, at_other) = some_of(rng, movable, 2)
    moved = {(one.name, at_one): at_other, (other.name, at_other): at_one}
    nets = (
        replace(net, contacts=tuple(moved.get((net.name, contact), contact) for contact in net.contacts))
        for net in cable.nets
    )
    return replace(renamed, nets=tuple(nets))


def _by_the_book(rng: Generator, name: CableName, reference: Reference) -> MapDocument:
    standard = one_of(rng, reference.cables)
    ends = (End("A", standard.connector_a, Form.PLUG), End("B", standard.connector_b, Form.PLUG))
    length_m = round(float(rng.uniform(0.5, 8.0)), 2)
    sections = (Section("main", "A", "B", length_m),)
    marks = (
        Mark(MarkKind.STRAIN_RELIEF, "main", 0.04),
        Mark(MarkKind.STRAIN_RELIEF, "main", round(length_m - 0.04, 2)),
    )
    cable = MapDocument(cable=name, ends=ends, sections=sections, marks=marks)
    cable = replace(cable, nets=nets_of_groups(cable, reference, _joined(cable, standard, reference)))
    cable = replace(cable, cores=tuple(_cores(rng, cable, reference)))
    return replace(cable, faults=_faults(rng, cable))


def _joined(cable: MapDocument, standard: StandardCable, reference: Reference) -> list[tuple[Point, ...]]:
    """The groups of contacts that a standard joins, in the order of the contacts."""
    pairs = [(f"A:{a}", f"B:{b}") for a, b in standard.joins]
    pairs += [(f"{side.upper()}:{one}", f"{side.upper()}:{other}") for side, one, other in standard.local]
    groups: dict[Point, set[Point]] = {}
    for one, other in pairs:
        merged = groups.get(one, {one}) | groups.get(other, {other})
        groups |= dict.fromkeys(merged, merged)
    order = [point for point in all_contacts(cable, reference) if point in groups]
    found = dict.fromkeys(tuple(point for point in order if point in groups[each]) for each in order)
    return list(found)


def _rows(rng: Generator, size: int) -> tuple[tuple[str, ...], ...]:
    """One row, or two or three of which the upper ones are longer where the contacts are odd."""
    many = 1 if size < 6 else int(rng.integers(1, 4))
    length = -(-size // many)
    numbers = [str(number) for number in range(1, size + 1)]
    return tuple(tuple(numbers[start : start + length]) for start in range(0, size, length))


def _places(rng: Generator, ends: Sequence[str]) -> Places:
    """Straight through, with a moulded block on the way, or parted in three."""
    length_m = round(float(rng.uniform(0.6, 12.0)), 2)
    if len(ends) == 3:
        tails = [Section(f"{end.lower()} tail", "Y", end, round(float(rng.uniform(0.2, 2.0)), 2)) for end in ends[1:]]
        return Places((Section("trunk", ends[0], "Y", length_m), *tails), splits=("Y",))
    if rng.random() < 0.35:
        holds = one_of(rng, (Holds.ACTIVE, Holds.OPTICAL, Holds.PASSIVE, Holds.UNKNOWN))
        tail = Section("tail", ends[0], "POD", round(float(rng.uniform(0.1, 0.6)), 2))
        return Places((tail, Section("main", "POD", ends[1], length_m)), (Module("POD", holds),))
    return Places((Section("main", ends[0], ends[1], length_m),))


def _nets(rng: Generator, thing: Thing, free: dict[str, list[Point]]) -> tuple[Net, ...]:
    """Ground and supply reach all ends, the others two; of the rest of the contacts some are left alone."""

    def taken(most: int) -> tuple[Point, ...]:
        return tuple(
            stack.pop() for stack in free.values() for _ in range(min(len(stack), 1 + int(rng.random() * most)))
        )

    size = min(len(stack) for stack in list(free.values())[:2])
    nets = [Net("GND", taken(max(1, size // 6)), Role.GROUND)]
    for name, volts in some_of(rng, SUPPLIES, 1 if size < 12 else 2):
        if all(free.values()):
            nets.append(Net(name, taken(max(1, size // 10)), Role.POWER, volts))
    one, other = list(free)[:2]
    is_paired, count = rng.random() < 0.5, 0
    while free[one] and free[other]:
        count += 1
        signal = thing.signals[(count - 1) % len(thing.signals)]
        name = signal if count <= len(thing.signals) else f"{signal}-{(count - 1) // len(thing.signals) + 1}"
        if is_paired and count % 3 and min(len(free[one]), len(free[other])) > 1:
            for sign, role in (("+", Role.PAIR_POSITIVE), ("-", Role.PAIR_NEGATIVE)):
                nets.append(Net(f"{name}{sign}", (free[one].pop(), free[other].pop()), role, pair=name))
        else:
            role = Role.CONTROL if rng.random() < 0.2 else Role.SINGLE
            contacts = (free[one].pop(), free[other].pop())
            if rng.random() > 0.08:
                nets.append(Net(name, contacts, role))
    return tuple(nets)


def _hidden(rng: Generator, places: Places, nets: tuple[Net, ...]) -> tuple[tuple[Net, ...], tuple[Path, ...]]:
    """Where a block holds glass or a chip, some of the singles go through that and are no conductors."""
    holds = places.modules[0].holds if places.modules else Holds.PASSIVE
    if holds not in (Holds.ACTIVE, Holds.OPTICAL):
        return nets, ()
    via = Via.FIBRE if holds is Holds.OPTICAL else one_of(rng, (Via.CHIP, Via.CAPACITOR))
    singles = [net for net in nets if net.role is Role.SINGLE]
    through = {net.name for net in some_of(rng, singles, max(1, len(singles) // 2))}
    paths = (
        Path(net.name, via, net.contacts[0], net.contacts[1], Basis.INFERRED) for net in nets if net.name in through
    )
    return tuple(net for net in nets if net.name not in through), tuple(paths)


def _resistors(rng: Generator, nets: Sequence[Net]) -> tuple[Part, ...]:
    """Identification resistors to ground on up to two control conductors."""
    controls = [net.name for net in nets if net.role is Role.CONTROL]
    many = int(rng.integers(0, 3))
    return tuple(Part(PartKind.RESISTOR, (net, "GND"), one_of(rng, ID_OHMS)) for net in some_of(rng, controls, many))


def _marks(rng: Generator, sections: Sequence[Section], ends: Sequence[str]) -> Iterator[Mark]:
    """A strain relief at every end, and here and there what use has left."""
    for section in sections:
        length_m = section.length_m or 0.0
        if section.start in ends:
            yield Mark(MarkKind.STRAIN_RELIEF, section.name, 0.03)
        if section.finish in ends:
            yield Mark(MarkKind.STRAIN_RELIEF, section.name, round(length_m - 0.03, 2))
    if rng.random() < 0.3:
        section = one_of(rng, sections)
        kind = one_of(rng, (MarkKind.KINK, MarkKind.CRUSH, MarkKind.ABRASION))
        yield Mark(kind, section.name, round(float(rng.uniform(0.1, 0.9)) * (section.length_m or 0.0), 2))


def _cores(rng: Generator, cable: MapDocument, reference: Reference) -> Iterator[Core]:
    """In each section a core for each net and path that passes it, coloured as DIN 47100 counts; perhaps a drain."""
    colours = [codes for _, codes, _ in reference.schemes["din47100"].entries]
    heavy, light = (float(rng.integers(*span)) for span in ((20, 25), (26, 31)))
    ends = {end.name for end in cable.ends}
    has_drain = any(net.name == "GND" for net in cable.nets) and rng.random() < 0.4
    for letter, section in zip("abc", cable.sections, strict=False):
        own = {section.start, section.finish} & ends if cable.splits else ends
        number = 0
        for net in cable.nets:
            inside = [contact for contact in net.contacts if end_of(contact) in own]
            reaches = {end_of(contact) for contact in net.contacts}
            passes = 0 < len(inside) < len(net.contacts) if cable.splits else len(reaches) > 1
            if passes:
                number += 1
                is_screen = net.role is Role.SCREEN
                kind = CoreKind.SCREEN if is_screen else CoreKind.COPPER
                gauge: float | None = heavy if net.role in (Role.POWER, Role.GROUND, Role.SCREEN) else light
                shown = () if is_screen else colours[(number - 1) % len(colours)]
                yield Core(f"{letter}{number}", section.name, kind, shown, gauge, None, net.pair, net.name)
        for path in cable.paths:
            number += 1
            kind = CoreKind.FIBRE if path.via is Via.FIBRE and section.name == "main" else CoreKind.COPPER
            shown = colours[(number - 1) % len(colours)]
            gauge = None if kind is CoreKind.FIBRE else light
            yield Core(f"{letter}{number}", section.name, kind, shown, gauge, None, "", path.name)
        if has_drain:
            yield Core(f"{letter}d", section.name, CoreKind.DRAIN, awg=heavy, carries="GND")


def _faults(rng: Generator, cable: MapDocument) -> tuple[Fault, ...]:
    """One specimen in eight was mapped because a conductor of it is broken."""
    section = cable.sections[-1]
    carried = {core.carries for core in cable.cores if core.section == section.name}
    breakable = [net.name for net in cable.nets if len(net.contacts) == 2 and net.name in carried]
    if not breakable or rng.random() > 1 / 8:
        return ()
    return (Fault(FaultKind.OPEN, (one_of(rng, breakable),), section.name),)
