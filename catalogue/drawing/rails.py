"""The rails of a map: each net and each path once, in the order in which they are drawn and keyed.

Supply, ground, screen, pairs with their legs side by side, single signals, control, unknown; then the paths
that are not one conductor. Within a group the order is the document's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from catalogue.core.document import Core, MapDocument, Net, Path, Point, Role, Via, end_of
from catalogue.core.words import word
from catalogue.drawing.text import quantity


class Group(StrEnum):
    """What rails stand together, with the heading over them."""

    SUPPLY = "Supply"
    GROUND = "Ground"
    SCREEN = "Screen"
    PAIR = "Pairs"
    SINGLE = "Single signals"
    CONTROL = "Control"
    UNKNOWN = "Role not known"
    FIBRE = "Through fibre, no conductor"
    OTHER_PATH = "Through a part or chip, not one conductor"


GROUP_OF_ROLE = {
    Role.POWER: Group.SUPPLY,
    Role.GROUND: Group.GROUND,
    Role.SCREEN: Group.SCREEN,
    Role.PAIR_POSITIVE: Group.PAIR,
    Role.PAIR_NEGATIVE: Group.PAIR,
    Role.SINGLE: Group.SINGLE,
    Role.CONTROL: Group.CONTROL,
    Role.UNKNOWN: Group.UNKNOWN,
}
LEGS = {Role.PAIR_POSITIVE: "+", Role.PAIR_NEGATIVE: "−"}
ORDER = tuple(Group)


@dataclass(frozen=True, slots=True)
class Rail:
    """One net or path as drawn.

    `number` is its place in the document, nets before paths; rails of one `bundle` (the legs of a pair) are
    drawn side by side, `leg` tells them apart. `contacts` are by end, `cores` by section. `via` is None for
    a net.
    """

    number: int
    name: str
    group: Group
    role: str
    volts: float | None
    detail: str
    bundle: str
    leg: str
    contacts: Mapping[str, tuple[Point, ...]]
    cores: Mapping[str, tuple[Core, ...]]
    via: Via | None = None

    @property
    def classes(self) -> str:
        return f"net net-{self.number}"


def rails_of(document: MapDocument) -> tuple[Rail, ...]:
    """All nets and paths of a document in drawing order."""
    cores: dict[str, dict[str, list[Core]]] = {}
    for core in (core for core in document.cores if core.section):
        cores.setdefault(core.carries, {}).setdefault(core.section, []).append(core)

    def carried(name: str) -> dict[str, tuple[Core, ...]]:
        return {section: tuple(group) for section, group in cores.get(name, {}).items()}

    nets = [_net_rail(number, net, carried(net.name)) for number, net in enumerate(document.nets)]
    paths = [
        _path_rail(number, path, carried(path.name))
        for number, path in enumerate(document.paths, start=len(document.nets))
    ]
    return tuple(_ordered((*nets, *paths)))


def _net_rail(number: int, net: Net, cores: Mapping[str, tuple[Core, ...]]) -> Rail:
    leg = LEGS.get(net.role, "")
    details = []
    if net.volts is not None:
        details.append(quantity(net.volts, "V"))
    if leg:
        told = not net.pair or net.name.startswith(net.pair)
        details.append(f"{leg} leg" if told else f"{leg} leg of {net.pair}")
    return Rail(
        number=number,
        name=net.name,
        group=GROUP_OF_ROLE[net.role],
        role=word(net.role),
        volts=net.volts,
        detail=", ".join(details),
        bundle=net.pair if leg else "",
        leg=leg,
        contacts=_by_end(net.contacts),
        cores=cores,
    )


def _path_rail(number: int, path: Path, cores: Mapping[str, tuple[Core, ...]]) -> Rail:
    return Rail(
        number=number,
        name=path.name,
        group=Group.FIBRE if path.via is Via.FIBRE else Group.OTHER_PATH,
        role=f"through {word(path.via)}",
        volts=None,
        detail=path.basis,
        bundle=path.pair,
        leg="",
        contacts=_by_end((path.start, path.finish)),
        cores=cores,
        via=path.via,
    )


def _by_end(contacts: Iterable[Point]) -> dict[str, tuple[Point, ...]]:
    ends: dict[str, list[Point]] = {}
    for contact in dict.fromkeys(contacts):
        ends.setdefault(end_of(contact), []).append(contact)
    return {end: tuple(group) for end, group in ends.items()}


def _ordered(rails: Sequence[Rail]) -> list[Rail]:
    """By group; a bundle stands where its first rail does, its plus leg first."""
    first: dict[tuple[Group, str], int] = {}
    for rail in rails:
        if rail.bundle:
            first.setdefault((rail.group, rail.bundle), rail.number)

    def place(rail: Rail) -> tuple[int, int, bool, int]:
        start = first.get((rail.group, rail.bundle), rail.number)
        return ORDER.index(rail.group), start, rail.leg == LEGS[Role.PAIR_NEGATIVE], rail.number

    return sorted(rails, key=place)
