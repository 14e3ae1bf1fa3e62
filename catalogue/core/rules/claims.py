"""Rules that hold the declared nets against what the readings prove of their contacts."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from catalogue.core.document import Point
from catalogue.core.findings import Severity, Step
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import counted, listed, readings_of, shown_apart
from catalogue.core.rules.remark import Remark


def net_split(context: Context) -> Iterator[Remark]:
    for name, (a, b), witness in _splits(context):
        declared = name in context.declared_interrupted
        said = f"{a} and {b} are both in net {name}, but {shown_apart(witness)}."
        hint = (
            "A fault is declared on this net, which explains it."
            if declared
            else "Take that reading again; if only this specimen is broken, declare an open fault on the net."
        )
        yield Remark(
            f"{said} {hint}",
            contacts=(a, b),
            witness=witness,
            at=(*context.readings_at(readings_of(witness)), context.net_pointers[name]),
            severity=Severity.NOTE if declared else None,
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
        members.setdefault(name, {}).setdefault(context.deduction.net_index[point], point)
    for name in context.nets:
        if name in single:
            step = single[name]
            yield name, (step.start, step.finish), (step,)
            continue
        for a, b in combinations(members.get(name, {}).values(), 2):
            if context.deduction.is_apart(a, b):
                yield name, (a, b), context.deduction.apart_proof(a, b)
                break


def nets_joined(context: Context) -> Iterator[Remark]:
    for (one, other), (a, b) in _joined_nets(context).items():
        witness = context.deduction.joined_proof(a, b)
        readings = readings_of(witness)
        declared = context.declared_shorted(one, other)
        hint = (
            "A short between them is declared, which explains it."
            if declared
            else "If they are one conductor, make one net of them; if only this specimen is broken, declare "
            "a short fault."
        )
        yield Remark(
            f"{a} is in net {one} and {b} in net {other}, but {listed(readings)} "
            f"join{'s' * (len(readings) == 1)} them. {hint}",
            contacts=(a, b),
            witness=witness,
            at=(*context.readings_at(readings), context.net_pointers[one], context.net_pointers[other]),
            severity=Severity.NOTE if declared else None,
        )


def _joined_nets(context: Context) -> dict[tuple[str, str], tuple[Point, Point]]:
    """Pairs of declared nets that readings join, in the order of the nets, each with a point of both.

    Every pair that one reading joins, and in each group the first net with all others: so every net is named.
    """
    order = {name: place for place, name in enumerate(context.nets)}
    pairs = [(step.start, step.finish) for step in context.deduction.joins]
    for points in context.deduction.nets:
        declared = [point for point in points if point in context.net_of]
        pairs += [(declared[0], point) for point in declared[1:]]
    found: dict[tuple[str, str], tuple[Point, Point]] = {}
    for pair in pairs:
        if all(point in context.net_of for point in pair):
            a, b = sorted(pair, key=lambda point: order[context.net_of[point]])
            found.setdefault((context.net_of[a], context.net_of[b]), (a, b))
    apart = {names: points for names, points in found.items() if names[0] != names[1]}
    return dict(sorted(apart.items(), key=lambda each: [order[name] for name in each[0]]))


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
            f"No reading bears out that the contacts of net {net.name} are one conductor: "
            f"{listed(net.contacts)}.",
            contacts=context.known_contacts(net),
            at=(f"/nets/{index}",),
        )
