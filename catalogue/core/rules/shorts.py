"""Rules about what must never be one conductor: a supply and another or ground, and both legs of a pair."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from catalogue.core.document import Point, Role, end_of
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import listed, readings_of, volts
from catalogue.core.rules.remark import Remark
from catalogue.core.rules.wired import WiredNet, how_found, wired_nets

NEGOTIATED = {("usb-c-plug", "VBUS"), ("usb-c-receptacle", "VBUS")}
"""Supplies whose nominal volts are where they start: USB Power Delivery raises them."""


def rail_short(context: Context) -> Iterator[Remark]:
    for net in wired_nets(context):
        supplies, grounds = _supplies(context, net), _grounds(context, net)
        nominal = {rail.volts for rail in supplies if rail.volts is not None}
        if supplies and grounds:
            screened = all(rail.screen for rail in grounds)
            what = f"a supply and {'a screen' if screened else 'ground'}"
        elif len(nominal) > 1:
            what = f"supplies of {listed(volts(each) for each in sorted(nominal))}"
        else:
            continue
        contacts = tuple(rail.contact for rail in supplies + grounds if rail.contact)
        witness = how_found(context, net, contacts)
        yield Remark(
            f"{net.title} is {what} at once: {_said(supplies, grounds)}. Plugged in, that is a short "
            "circuit or ruins a device. If only this specimen is broken, declare the nets as they should "
            "be and a short fault.",
            contacts=contacts,
            witness=witness,
            at=(net.at,) if net.at else context.readings_at(readings_of(witness)),
        )


@dataclass(frozen=True, slots=True)
class _Rail:
    """What makes a net a supply or ground: the standard of a contact, or (without one) the declaration."""

    contact: Point
    said: str
    volts: float | None = None
    screen: bool = False


def _said(*groups: list[_Rail]) -> str:
    return "; ".join(listed((rail.said for rail in group), 4) for group in groups if group)


def _supplies(context: Context, net: WiredNet) -> list[_Rail]:
    rails = []
    if net.role is Role.POWER or (net.role is Role.UNKNOWN and net.volts):
        rails.append(_Rail("", f"declared a supply{_at_volts(net.volts)}", net.volts))
    for contact in net.contacts:
        standard = context.standard(contact)
        if standard is not None and standard.role is Role.POWER:
            raised = (context.ends[end_of(contact)].connector, standard.signal) in NEGOTIATED
            nominal = max(standard.volts or 0, net.volts or 0) if raised else standard.volts
            rails.append(_Rail(contact, f"{contact} is {standard.signal}{_at_volts(nominal)}", nominal))
    return rails


def _at_volts(nominal: float | None) -> str:
    return "" if nominal is None else f" of {volts(nominal)}"


def _grounds(context: Context, net: WiredNet) -> list[_Rail]:
    rails = []
    if net.role in (Role.GROUND, Role.SCREEN):
        rails.append(_Rail("", f"declared {net.role}", screen=net.role is Role.SCREEN))
    for contact in net.contacts:
        standard = context.standard(contact)
        if standard is not None and standard.role in (Role.GROUND, Role.SCREEN):
            rails.append(_Rail(contact, f"{contact} is {standard.signal}", screen=standard.role is Role.SCREEN))
    return rails


def pair_short(context: Context) -> Iterator[Remark]:
    told: set[str | int] = set()
    for legs in _pairs(context):
        met = _first_met(context, legs)
        if met is None:
            continue
        positive, negative = met
        net, other_net = (context.net_of.get(point, "") for point in met)
        one_net = net != "" and net == other_net
        conductor = net if one_net else context.deduction.net_index[positive]
        if conductor in told or (not one_net and context.declared_shorted(net, other_net)):
            continue
        told.add(conductor)
        witness = () if one_net else context.deduction.joined_proof(positive, negative)
        readings = readings_of(witness)
        how = f"are both in net {net}" if one_net else f"are joined by {listed(readings)}"
        yield Remark(
            f"{positive} and {negative}, the two legs of pair {legs.name}, {how}. Some chargers join D+ and "
            "D- with up to 200 Ω on purpose; no other pair works like this.",
            contacts=met,
            witness=witness,
            at=(context.net_pointers[net],) if one_net else context.readings_at(readings),
        )


@dataclass(frozen=True, slots=True)
class _Legs:
    name: str
    positive: tuple[Point, ...]
    negative: tuple[Point, ...]


def _pairs(context: Context) -> Iterator[_Legs]:
    """Every pair that is known: by the common name of two nets, and by the standard of each end."""
    legs: dict[tuple[str, str], dict[Role, list[Point]]] = {}
    for net in context.document.nets:
        if net.pair:
            both = legs.setdefault(("", net.pair), {})
            both.setdefault(net.role, []).extend(context.known_contacts(net))
    for contact in context.contacts:
        standard = context.standard(contact)
        if standard is not None and standard.pair:
            legs.setdefault((end_of(contact), standard.pair), {}).setdefault(standard.role, []).append(contact)
    for (_, name), by_role in legs.items():
        positive, negative = by_role.get(Role.PAIR_POSITIVE), by_role.get(Role.PAIR_NEGATIVE)
        if positive and negative:
            yield _Legs(name, tuple(positive), tuple(negative))


def _first_met(context: Context, legs: _Legs) -> tuple[Point, Point] | None:
    """The first contacts of both legs that one net lists, or that readings join."""
    nets: dict[str, Point] = {}
    joined: dict[int, Point] = {}
    for contact in legs.positive:
        nets.setdefault(context.net_of.get(contact, ""), contact)
        joined.setdefault(context.deduction.net_index[contact], contact)
    for contact in legs.negative:
        name = context.net_of.get(contact, "")
        if name and name in nets:
            return nets[name], contact
    for contact in legs.negative:
        if (index := context.deduction.net_index[contact]) in joined:
            return joined[index], contact
    return None
