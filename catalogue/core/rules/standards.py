"""The rule about standard connectors: a net means one thing at all its contacts, and goes where it should."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

from catalogue.core.document import End, Point, Role, end_of
from catalogue.core.findings import Severity
from catalogue.core.reference import StandardCable
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import listed, readings_of
from catalogue.core.rules.remark import Remark
from catalogue.core.rules.wired import WiredNet, how_found, wired_nets
from catalogue.core.words import word

STANDING = {
    Role.POWER: "supply",
    Role.GROUND: "ground",
    Role.SCREEN: "ground",
    Role.PAIR_POSITIVE: "positive leg",
    Role.PAIR_NEGATIVE: "negative leg",
    Role.SINGLE: "signal",
    Role.CONTROL: "signal",
}
"""Roles that may share a net stand alike: a screen serves as ground, and what one standard calls control
another calls a single signal. An unknown role is at odds with nothing."""


def standard_broken(context: Context) -> Iterator[Remark]:
    agreeing, at_odds = [], []
    for net in wired_nets(context):
        remarks = list(_roles_at_odds(context, net))
        at_odds += remarks
        if not remarks:
            agreeing.append(net)
    yield from sorted(at_odds, key=lambda remark: remark.severity is None)
    for first, second in combinations(context.document.ends, 2):
        cable = _likeliest_cable(context, first, second, agreeing)
        if cable is not None:
            yield from _led_astray(context, cable, agreeing)


def _roles_at_odds(context: Context, net: WiredNet) -> Iterator[Remark]:
    standings: dict[str, list[Point]] = {}
    for contact in net.contacts:
        standard = context.standard(contact)
        if standard is not None and standard.role in STANDING:
            standings.setdefault(STANDING[standard.role], []).append(contact)
    declared = STANDING.get(net.role)
    if len(standings.keys() | {declared} - {None}) < 2:
        return
    usual = declared or max(standings, key=lambda standing: len(standings[standing]))
    odd = [contact for standing, contacts in standings.items() if standing != usual for contact in contacts]
    others = f"declared {word(net.role)}" if declared else _meant(context, standings[usual])
    witness = how_found(context, net, odd)
    yield Remark(
        f"{net.title} means different things: {others}; but by the standard of the connector {_meant(context, odd)}.",
        contacts=tuple(odd),
        witness=witness,
        at=_places(context, net, odd, readings_of(witness)),
        severity=Severity.REJECT if {"supply", "ground"} <= standings.keys() | {declared} else None,
    )


def _meant(context: Context, contacts: Iterable[Point]) -> str:
    known = ((contact, context.standard(contact)) for contact in contacts)
    return listed(f"{contact} is {each.signal} ({word(each.role)})" for contact, each in known if each)


def _places(context: Context, net: WiredNet, contacts: Sequence[Point], readings: Sequence[str]) -> tuple[str, ...]:
    """Where the net lists these contacts, else the readings that add them."""
    if not net.at:
        return context.readings_at(readings)
    listed_at = context.document.nets[int(net.at.rpartition("/")[2])].contacts
    pointers = tuple(f"{net.at}/contacts/{listed_at.index(each)}" for each in contacts if each in listed_at)
    return (*pointers, *context.readings_at(readings)) or (net.at,)


@dataclass(frozen=True)
class _Laid:
    """A standard cable laid against two ends of the map: `a` is the end with the cable's first connector."""

    cable: StandardCable
    a: End
    b: End

    @cached_property
    def conductor(self) -> dict[Point, Point]:
        """Every contact that the standard wires, with one contact that stands for all joined to it."""
        names = {"a": self.a.name, "b": self.b.name}
        links = [(f"{self.a.name}:{a}", f"{self.b.name}:{b}") for a, b in self.cable.joins]
        links += [(f"{names[side]}:{one}", f"{names[side]}:{other}") for side, one, other in self.cable.local]
        found: dict[Point, Point] = {}
        for one, other in sorted(links):
            merged = {found.setdefault(one, one), found.setdefault(other, other)}
            found |= {contact: min(merged) for contact, known in found.items() if known in merged}
        return found

    def across(self, net: WiredNet) -> list[tuple[Point, Point]]:
        """Every two contacts that the net joins from one end to the other."""
        at_a = [contact for contact in net.contacts if end_of(contact) == self.a.name]
        at_b = [contact for contact in net.contacts if end_of(contact) == self.b.name]
        return [(a, b) for a in at_a for b in at_b]

    def agrees(self, a: Point, b: Point) -> bool:
        return a in self.conductor and self.conductor[a] == self.conductor.get(b)

    def expected(self, a: Point) -> list[Point]:
        """Where at the other end the standard leads a contact of the first end."""
        joined = self.conductor.get(a)
        return [
            contact for contact, known in self.conductor.items() if known == joined and end_of(contact) == self.b.name
        ]


def _likeliest_cable(context: Context, first: End, second: End, nets: Sequence[WiredNet]) -> _Laid | None:
    """Of the standard cables between two such connectors, the one that most of what crosses agrees with."""
    laid = [
        _Laid(cable, a, b)
        for cable in context.reference.cables
        for a, b in ((first, second), (second, first))
        if (cable.connector_a, cable.connector_b) == (a.connector, b.connector)
    ]
    return max(laid, key=lambda each: _agreement(context, each, nets), default=None)


def _agreement(context: Context, laid: _Laid, nets: Sequence[WiredNet]) -> int:
    pairs = [pair for net in nets for pair in laid.across(net)]
    agreed = sum(laid.agrees(a, b) for a, b in pairs)
    return agreed - sum(_worth_telling(context, laid, a, b) for a, b in pairs)


def _led_astray(context: Context, laid: _Laid, nets: Sequence[WiredNet]) -> Iterator[Remark]:
    for net in nets:
        astray = [(a, b) for a, b in laid.across(net) if _worth_telling(context, laid, a, b)]
        if not astray:
            continue
        contacts = tuple(dict.fromkeys(contact for pair in astray for contact in pair))
        witness = how_found(context, net, contacts)
        yield Remark(
            f"{net.title} joins {listed((f'{a} to {b}' for a, b in astray), 4)}, but in a standard cable "
            f"({laid.cable.title}) {_should_be(laid, astray[0][0])}.",
            contacts=contacts,
            witness=witness,
            at=_places(context, net, contacts, readings_of(witness)),
        )


def _should_be(laid: _Laid, contact: Point) -> str:
    expected = laid.expected(contact)
    if expected:
        return f"{contact} goes to {listed(expected, 4)}"
    return f"{contact} goes to no contact of {laid.b.name}"


def _worth_telling(context: Context, laid: _Laid, a: Point, b: Point) -> bool:
    """Whether the standard keeps two contacts apart that a net joins, and it matters.

    Makers join grounds, screens and equal supplies as they see fit, and an extra core between contacts of one
    number that the standard leaves free does no harm. But a supply that is left free must stay so: each
    device feeds its own.
    """
    one, other = context.standard(a), context.standard(b)
    if laid.agrees(a, b) or one is None or other is None:
        return False
    wired = a in laid.conductor or b in laid.conductor
    match STANDING.get(one.role), STANDING.get(other.role):
        case "ground", "ground":
            return False
        case "supply", "supply":
            return one.volts != other.volts or a not in laid.conductor or b not in laid.conductor
        case _:
            return wired or one.contact != other.contact
