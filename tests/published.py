"""Map documents of standard cables, built from the published tables and read through on a simulated bench.

    document = published_document("usb2-a-b")

is a USB 2.0 A-B cable as a careful person would map it: a net for each signal, a core for each net, and every
pair of contacts read with a meter that errs within its limits. `published_map` is the same as a value, and
`read_through` reads any map anew, such as one whose nets a test has spoilt.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

from numpy.random import default_rng

from catalogue.core.document import (
    CableName,
    Core,
    CoreKind,
    End,
    Form,
    MapDocument,
    Net,
    Role,
    Section,
    end_of,
)
from catalogue.core.reference import StandardCable, StandardContact
from catalogue.core.simulation import BenchMeter, every_pair, read, specimen
from catalogue.core.wiring import all_contacts
from catalogue.exchange.documents import canonical_json
from catalogue.tables import reference

LONGEST_NAME = 40
HEAVY_AWG, LIGHT_AWG = 24.0, 28.0
CORE_KINDS = {Role.SCREEN: CoreKind.SCREEN}
COLOURS_BY_SIGNAL = {"usb2": "usb2-cores", "usb3": "usb2-cores"}
COLOURS_BY_CONTACT = {"rj45-t568a": "t568a-pins", "rj45-t568b": "t568b-pins"}


def published_document(key: str, length_m: float = 1.8, seed: int = 1) -> dict[str, Any]:
    """The JSON map document of the standard cable `key`, with a reading of every pair of contacts."""
    document: dict[str, Any] = json.loads(canonical_json(published_map(key, length_m, seed)))
    return document


@cache
def published_map(key: str, length_m: float = 1.8, seed: int = 1) -> MapDocument:
    """The map of the standard cable `key`, with a reading of every pair of contacts. Raises KeyError."""
    return read_through(bare_map(key, length_m), seed)


def bare_map(key: str, length_m: float = 1.8) -> MapDocument:
    """The map of a standard cable before anything was read."""
    cable = {cable.key: cable for cable in reference().cables}[key]
    nets = tuple(_nets(cable))
    return MapDocument(
        cable=CableName("By the book (invented)", cable.title, summary="Invented example."),
        ends=(End("A", cable.connector_a, Form.PLUG), End("B", cable.connector_b, Form.PLUG)),
        sections=(Section("main", "A", "B", length_m),),
        cores=tuple(_cores(cable, nets)),
        nets=nets,
    )


def read_through(document: MapDocument, seed: int = 1) -> MapDocument:
    """The document with a reading of every pair of contacts, as a cable built by its nets would show them."""
    rng = default_rng(seed)
    contacts = all_contacts(document, reference())
    acts = every_pair(contacts)
    readings = read(specimen(document, rng, contacts), acts, BenchMeter.of(document.meter, rng))
    return replace(document, readings=readings)


def _nets(cable: StandardCable) -> Iterator[Net]:
    """A net for each group of contacts that the cable joins, told by its first contact at end A."""
    names: set[str] = set()
    for group in _groups(cable):
        first = _standard(cable, group[0])
        name = _free_name(first.signal[:LONGEST_NAME].strip(), names)
        names.add(name)
        yield Net(name, group, first.role, first.volts, first.pair)


def _groups(cable: StandardCable) -> list[tuple[str, ...]]:
    joins = [(f"A:{a}", f"B:{b}") for a, b in cable.joins]
    joins += [(f"{side.upper()}:{one}", f"{side.upper()}:{other}") for side, one, other in cable.local]
    group_of: dict[str, set[str]] = {}
    for one, other in joins:
        merged = group_of.get(one, {one}) | group_of.get(other, {other})
        group_of |= dict.fromkeys(merged, merged)
    in_order = [f"A:{contact.contact}" for contact in reference().connectors[cable.connector_a].contacts]
    in_order += [f"B:{contact.contact}" for contact in reference().connectors[cable.connector_b].contacts]
    groups = {min(group_of[point], key=in_order.index): group_of[point] for point in in_order if point in group_of}
    return [tuple(sorted(group, key=in_order.index)) for group in groups.values()]


def _standard(cable: StandardCable, contact: str) -> StandardContact:
    end, _, number = contact.partition(":")
    key = cable.connector_a if end == "A" else cable.connector_b
    return reference().connectors[key].by_contact[number]


def _free_name(wanted: str, taken: set[str]) -> str:
    name, number = wanted, 1
    while name in taken:
        number += 1
        name = f"{wanted} {number}"
    return name


def _cores(cable: StandardCable, nets: tuple[Net, ...]) -> Iterator[Core]:
    """One core for each net that runs from end to end, coloured by the standard, else as DIN 47100 counts."""
    order = iter([codes for _, codes, _ in reference().schemes["din47100"].entries])
    through = [net for net in nets if {"A", "B"} == {end_of(contact) for contact in net.contacts}]
    for number, net in enumerate(through, 1):
        kind = CORE_KINDS.get(net.role, CoreKind.COPPER)
        insulated = kind is CoreKind.COPPER
        yield Core(
            name=f"k{number}",
            section="main",
            kind=kind,
            colours=(_standard_colours(cable, net) or next(order)) if insulated else (),
            awg=HEAVY_AWG if net.role in (Role.POWER, Role.GROUND, Role.SCREEN) else LIGHT_AWG,
            bundle=net.pair,
            carries=net.name,
        )


def _standard_colours(cable: StandardCable, net: Net) -> tuple[str, ...]:
    schemes = reference().schemes
    if cable.connector_a in COLOURS_BY_CONTACT:
        entries = schemes[COLOURS_BY_CONTACT[cable.connector_a]].entries
        return next(codes for position, codes, _ in entries if f"A:{position}" == net.contacts[0])
    scheme = COLOURS_BY_SIGNAL.get(cable.connector_a.partition("-")[0])
    entries = schemes[scheme].entries if scheme else ()
    return next((codes for _, codes, signal in entries if signal == net.name), ())
