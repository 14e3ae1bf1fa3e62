"""Rules that hold the declared nets against what the readings prove of their contacts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from catalogue.core.document import Point
from catalogue.core.findings import Limit, Severity, Step
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import counted, listed, readings_of, shown_apart, verb
from catalogue.core.rules.remark import Remark

PART_TOLERANCE = 0.2
"""Share by which a resistor may be below its marked value, that of the coarsest series in use, E6 (IEC 60063)."""


def net_split(context: Context) -> Iterator[Remark]:
    for name, (a, b), witness in _splits(context):
        declared = name in context.declared_interrupted
        hint = (
            "A fault is declared on this net, which explains it."
            if declared
            else "Take that reading again; if only this specimen is broken, declare an open fault on the net."
        )
        yield Remark(
            f"{a} and {b} are both in net {name}, but {shown_apart(witness)}.",
            contacts=(a, b),
            witness=witness,
            at=(*context.readings_at(readings_of(witness)), context.net_pointers[name]),
            severity=Severity.NOTE if declared else None,
            hint=hint,
        )


def _splits(context: Context) -> Iterator[tuple[str, tuple[Point, Point], tuple[Step, ...]]]:
    """For each declared net that falls apart two of its points and the proof, if possible one reading."""
    single: dict[str, Step] = {}
    for step in context.deduction.separations:
        name = context.net_of.get(step.start)
        if name is not None and name == context.net_of.get(step.finish):
            single.setdefault(name, step)
    members: dict[str, dict[int, Point]] = {}
    for point, name in context.net_of.items():
        members.setdefault(name, {}).setdefault(context.deduction.conductor_index[point], point)
    for name in sorted(context.nets, key=context.declared_interrupted.__contains__):
        if name in single:
            step = single[name]
            yield name, (step.start, step.finish), (step,)
            continue
        for a, b in combinations(members.get(name, {}).values(), 2):
            if context.deduction.is_apart(a, b):
                yield name, (a, b), context.deduction.apart_proof(a, b)
                break


def nets_joined(context: Context) -> Iterator[Remark]:
    links = [(context.declared_shorted(link.net, link.other), link) for link in _links(context)]
    for declared, link in sorted(links, key=lambda each: each[0]):
        witness = context.deduction.joined_proof(link.a, link.b)
        if _through_parts(context, link, witness):
            continue
        readings = readings_of(witness)
        hint = (
            "A short between them is declared, which explains it."
            if declared
            else "If they are one conductor, make one net of them; if only this specimen is broken, declare "
            "a short fault."
        )
        yield Remark(
            f"{link.a} is in net {link.net} and {link.b} in net {link.other}, but {listed(readings)} "
            f"{verb(readings, 'joins', 'join')} them.",
            contacts=(link.a, link.b),
            witness=witness,
            at=(
                *context.readings_at(readings),
                context.net_pointers[link.net],
                context.net_pointers[link.other],
            ),
            severity=Severity.NOTE if declared else None,
            hint=hint,
        )


@dataclass(frozen=True, slots=True)
class _Link:
    """Two declared nets that readings join, and a point of each, in the order of the nets."""

    net: str
    other: str
    a: Point
    b: Point


def _links(context: Context) -> list[_Link]:
    """Links that hold together every group of declared nets that readings join, one fewer than it has nets.

    A link that one reading proves is taken before one that needs a chain through undeclared contacts, the
    reading of least resistance first.
    """
    order = {name: place for place, name in enumerate(context.nets)}
    pairs = [(step.start, step.finish) for step in sorted(context.deduction.joins, key=lambda step: step.ohms)]
    for points in context.deduction.nets:
        declared = [point for point in points if point in context.net_of]
        pairs += [(declared[0], point) for point in declared[1:]]
    group = {name: {name} for name in context.nets}
    links = []
    for pair in pairs:
        if all(point in context.net_of for point in pair):
            a, b = sorted(pair, key=lambda point: order[context.net_of[point]])
            net, other = context.net_of[a], context.net_of[b]
            if group[net] is not group[other]:
                links.append(_Link(net, other, a, b))
                group[net] |= group[other]
                group |= dict.fromkeys(group[other], group[net])
    return sorted(links, key=lambda link: (order[link.net], order[link.other]))


def _through_parts(context: Context, link: _Link, witness: tuple[Step, ...]) -> bool:
    """Whether the declared resistors between two nets already account for what joins them: a beep is no proof
    of a joint where a resistor low enough to beep is declared."""
    at_most = sum(step.ohms for step in witness if step.limit is Limit.AT_MOST)
    return at_most >= context.part_ohms(link.net, link.other) * (1 - PART_TOLERANCE)


def unproved_net(context: Context) -> Iterator[Remark]:
    unproved = {
        index: net
        for index, net in enumerate(context.document.nets)
        if len(contacts := context.known_contacts(net)) > 1
        and len({context.deduction.net_index[contact] for contact in contacts}) == len(contacts)
    }
    if not context.document.readings and unproved:
        yield Remark(
            f"There are no readings, so nothing bears out {counted(len(unproved), 'net')} of this map: "
            f"{listed(net.name for net in unproved.values())}.",
            at=tuple(f"/nets/{index}" for index in unproved),
        )
        return
    for index, net in unproved.items():
        yield Remark(
            f"No reading bears out that the contacts of net {net.name} are one conductor: {listed(net.contacts)}.",
            contacts=context.known_contacts(net),
            at=(f"/nets/{index}",),
        )
