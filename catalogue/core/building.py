"""What a home-built cable has to keep of the old one: core thickness, pairs, screens, parts, and what wire cannot do.

`building_advice` takes the map, the published limits and what the builder knows of the currents. Every supply gets
a core for its own current, and every ground a core for all of them together, since it may have to carry them alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import fsum

from catalogue.core.document import CoreKind, Holds, MapDocument, Module, Net, Part, Path, Point, Role, end_of
from catalogue.core.gauge import Decider, Demand, Sizing, Wire, decider, drop_volts, thinnest
from catalogue.core.reference import Limit, PairImpedance, Reference, StandardContact
from catalogue.core.topology import Topology, topology

DROP_SHARE = 0.05
"""Of a supply's volts, how much may be lost there and back where no standard says: judgement."""

SCREENS = frozenset({CoreKind.SCREEN, CoreKind.DRAIN})


@dataclass(frozen=True, slots=True)
class StandardSupply:
    """Keys of the limits that hold for the supply of connectors whose name starts with `connectors`."""

    connectors: str
    amperes: str
    supply_drop: str
    return_drop: str


STANDARD_SUPPLIES = (
    StandardSupply("usb2-", "usb2-high-power", "usb2-vbus-drop", "usb2-gnd-drop"),
    StandardSupply("usb3-", "usb3-high-power", "usb3-vbus-drop", "usb3-gnd-drop"),
    StandardSupply("usb-c-", "typec-3a", "typec-ir-vbus", "typec-ir-gnd"),
)
CONTACT = "usb2-contact-r"
"""What a mated contact has where nobody says otherwise."""


@dataclass(frozen=True)
class Facts:
    """What is published about wires, limits and pairs."""

    wires: tuple[Wire, ...]
    limits: Mapping[str, Limit]
    impedances: tuple[PairImpedance, ...]


@dataclass(frozen=True, slots=True)
class Load:
    """What the builder knows of a supply: its current, and the drop that is allowed there and back."""

    amperes: float
    drop_volts: float | None = None


@dataclass(frozen=True, slots=True)
class Build:
    """The cable to be built. `length_m` is None for the length of the old one; contacts in ohms each."""

    loads: Mapping[str, Load]
    length_m: float | None = None
    contact_ohms: float | None = None
    celsius: float = 20.0


@dataclass(frozen=True, slots=True)
class Allowance:
    """The current of one supply, and what may drop on its way there and on its way back; `basis` says by whom."""

    amperes: float
    supply_drop_volts: float
    return_drop_volts: float
    basis: str


@dataclass(frozen=True, slots=True)
class CoreAdvice:
    """One conductor of the new cable. `awg` and `metric` are None when no wire is thick enough.

    `drop_volts` is with the wire of the American gauge, or with the metric one where only that is there.
    """

    net: str
    role: Role
    demand: Demand
    awg: Wire | None
    metric: Wire | None
    drop_volts: float | None
    decider: Decider | None
    basis: str


@dataclass(frozen=True, slots=True)
class Missing:
    """What must be known before a core can be advised for a net, as a sentence."""

    net: str
    what: str


@dataclass(frozen=True, slots=True)
class PairAdvice:
    """Two legs to be twisted together, in the bundle they were in; the impedance where a standard has one."""

    pair: str
    legs: tuple[str, ...]
    bundle: str
    impedance: PairImpedance | None


@dataclass(frozen=True, slots=True)
class ScreenAdvice:
    """A screen or drain to keep: around a bundle or (empty) around all; joined where it was, open where it was."""

    net: str
    cores: tuple[str, ...]
    bundle: str
    joined_at: tuple[Point, ...]
    open_at: tuple[str, ...]


@dataclass(frozen=True)
class BuildingAdvice:
    """Everything to keep. `paths` and `modules` are what wire alone does not replace; `coaxial` nets want coax."""

    cores: tuple[CoreAdvice, ...]
    missing: tuple[Missing, ...]
    pairs: tuple[PairAdvice, ...]
    screens: tuple[ScreenAdvice, ...]
    coaxial: tuple[str, ...]
    parts: tuple[Part, ...]
    paths: tuple[Path, ...]
    modules: tuple[Module, ...]


def building_advice(document: MapDocument, reference: Reference, facts: Facts, build: Build) -> BuildingAdvice:
    """What to keep when building the cable of this map anew. Loads of nets that the map does not have are ignored."""
    cores, missing = _cores(document, facts, build)
    return BuildingAdvice(
        cores=cores,
        missing=missing,
        pairs=tuple(_pairs(document, reference, facts.impedances)),
        screens=tuple(_screens(document)),
        coaxial=tuple(dict.fromkeys(core.carries for core in document.cores if core.kind is CoreKind.COAX_CENTRE)),
        parts=document.parts,
        paths=document.paths,
        modules=tuple(module for module in document.modules if module.holds is not Holds.PASSIVE),
    )


def _cores(document: MapDocument, facts: Facts, build: Build) -> tuple[tuple[CoreAdvice, ...], tuple[Missing, ...]]:
    supplies = [net for net in document.nets if net.role is Role.POWER]
    grounds = [net for net in document.nets if net.role is Role.GROUND]
    allowances = {net.name: _allowance(net, document, facts.limits, build.loads.get(net.name)) for net in supplies}
    known = [found for found in allowances.values() if isinstance(found, Allowance)]
    wanted = [(net, allowances[net.name]) for net in supplies]
    if known:
        wanted += [(net, _together(known)) for net in grounds]
    found = [_core(net, allowance, document, facts, build) for net, allowance in wanted]
    if supplies and not grounds:
        found.append(Missing(supplies[0].name, "The map has no ground net, so nothing is known of the way back."))
    return (
        tuple(advice for advice in found if isinstance(advice, CoreAdvice)),
        tuple(advice for advice in found if isinstance(advice, Missing)),
    )


def _allowance(net: Net, document: MapDocument, limits: Mapping[str, Limit], load: Load | None) -> Allowance | Missing:
    standard = _standard_allowance(net, document, limits)
    if load is None:
        return standard or Missing(net.name, f"Say how many amperes {net.name} carries; no standard says it here.")
    if load.drop_volts is not None:
        return Allowance(load.amperes, load.drop_volts / 2, load.drop_volts / 2, "as you said, half of it each way")
    if standard:
        return Allowance(load.amperes, standard.supply_drop_volts, standard.return_drop_volts, standard.basis)
    if net.volts:
        each_way = abs(net.volts) * DROP_SHARE / 2
        return Allowance(
            load.amperes, each_way, each_way, f"{DROP_SHARE:.0%} of {net.volts:g} V there and back: judgement"
        )
    return Missing(net.name, f"Say how many volts may drop on {net.name}, or submit a map that gives its volts.")


def _standard_allowance(net: Net, document: MapDocument, limits: Mapping[str, Limit]) -> Allowance | None:
    """The strictest among the standards of all ends that the supply reaches: the least ohms for its way."""
    reached = {end_of(contact) for contact in net.contacts}
    connectors = [end.connector for end in document.ends if end.name in reached]
    found = []
    for standard in STANDARD_SUPPLIES:
        if any(connector.startswith(standard.connectors) for connector in connectors):
            rows = [limits[key] for key in (standard.amperes, standard.supply_drop, standard.return_drop)]
            source = "; ".join(dict.fromkeys(row.source for row in rows))
            found.append(Allowance(rows[0].value, rows[1].value, rows[2].value, source))
    return min(found, key=lambda allowance: allowance.supply_drop_volts / allowance.amperes, default=None)


def _together(allowances: Sequence[Allowance]) -> Allowance:
    """What a ground has to carry when the supplies come back through it alone."""
    drop = min(allowance.return_drop_volts for allowance in allowances)
    basis = "; ".join(dict.fromkeys(allowance.basis for allowance in allowances))
    return Allowance(fsum(allowance.amperes for allowance in allowances), drop, drop, basis)


def _core(
    net: Net, allowance: Allowance | Missing, document: MapDocument, facts: Facts, build: Build
) -> CoreAdvice | Missing:
    if isinstance(allowance, Missing):
        return allowance
    way = _longest_way(net, topology(document))
    if way is None:
        return Missing(net.name, f"{net.name} runs from no end to another, so it needs no core.")
    ends, length_m = way
    length_m = build.length_m or length_m
    if not length_m:
        return Missing(net.name, f"Say how long the cable is to be; the map does not say how far {net.name} runs.")
    each_ohms = facts.limits[CONTACT].value if build.contact_ohms is None else build.contact_ohms
    side_by_side = [sum(end_of(contact) == end for contact in net.contacts) for end in ends]
    demand = Demand(
        amperes=allowance.amperes,
        length_m=length_m,
        contact_ohms=fsum(each_ohms / count for count in side_by_side),
        most_drop_volts=allowance.supply_drop_volts,
    )
    awg, metric = (thinnest(facts.wires, sizing, demand, build.celsius) for sizing in (Sizing.AWG, Sizing.METRIC))
    chosen = awg or metric
    return CoreAdvice(
        net=net.name,
        role=net.role,
        demand=demand,
        awg=awg,
        metric=metric,
        drop_volts=drop_volts(chosen.ohms_per_m, demand, build.celsius) if chosen else None,
        decider=decider(facts.wires, chosen, demand, build.celsius) if chosen else None,
        basis=allowance.basis,
    )


def _longest_way(net: Net, tree: Topology) -> tuple[tuple[str, str], float | None] | None:
    """The two ends farthest apart that the net reaches, and how far; the length is None where one is not known."""
    ends = list(dict.fromkeys(end_of(contact) for contact in net.contacts))
    ways: list[tuple[tuple[str, str], float | None]] = []
    for pair in combinations(ends, 2):
        stretches = tree.stretches(*pair)
        lengths = [stretch.length_m for stretch in stretches] if stretches else [None]
        known = [length for length in lengths if length is not None]
        ways.append((pair, fsum(known) if len(known) == len(lengths) else None))
    unknown = [way for way in ways if way[1] is None]
    return unknown[0] if unknown else max(ways, key=lambda way: way[1] or 0.0, default=None)


def _pairs(document: MapDocument, reference: Reference, impedances: Iterable[PairImpedance]) -> Iterator[PairAdvice]:
    by_standard = {(row.connector, row.pair): row for row in impedances}
    legs: dict[str, list[Net]] = {}
    for net in document.nets:
        if net.pair and net.role in (Role.PAIR_POSITIVE, Role.PAIR_NEGATIVE):
            legs.setdefault(net.pair, []).append(net)
    bundles = {core.carries: core.bundle for core in document.cores if core.bundle}
    for pair, nets in legs.items():
        found = [
            by_standard[key] for net in nets for key in _standard_pairs(net, document, reference) if key in by_standard
        ]
        yield PairAdvice(
            pair=pair,
            legs=tuple(net.name for net in nets),
            bundle=next((bundles[net.name] for net in nets if net.name in bundles), ""),
            impedance=found[0] if found else None,
        )


def _standard_pairs(net: Net, document: MapDocument, reference: Reference) -> Iterator[tuple[str, str]]:
    """Connector and pair by the standards of the ends that the net reaches."""
    connectors = {end.name: end.connector for end in document.ends}
    for point in net.contacts:
        end, _, contact = point.partition(":")
        standard = reference.connectors.get(connectors.get(end, ""))
        known: StandardContact | None = standard.by_contact.get(contact) if standard else None
        if standard and known and known.pair:
            yield standard.key, known.pair


def _screens(document: MapDocument) -> Iterator[ScreenAdvice]:
    """One for each screen net and bundle, and one for each screen net that no declared core belongs to."""
    nets = {net.name: net for net in document.nets}
    cores: dict[tuple[str, str], list[str]] = {}
    for core in document.cores:
        if core.kind in SCREENS:
            cores.setdefault((core.carries, core.bundle), []).append(core.name)
    carried = {carries for carries, _ in cores}
    for net in document.nets:
        if net.role is Role.SCREEN and net.name not in carried:
            cores[net.name, ""] = []
    for (carries, bundle), names in cores.items():
        joined = nets[carries].contacts if carries in nets else ()
        reached = {end_of(contact) for contact in joined}
        open_at = tuple(end.name for end in document.ends if end.name not in reached)
        yield ScreenAdvice(carries, tuple(names), bundle, joined, open_at)
