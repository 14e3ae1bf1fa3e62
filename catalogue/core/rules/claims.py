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
    """For each declared net that falls apart, two members of it and the proof; a single reading where one
    proves it."""
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
    """Pairs of declared nets that readings join, each with a contact of both.

    Every pair that one reading joins, and for each group the first net with all others: enough to name every
    net.
    """
    order = {name: place for place, name in enumerate(context.nets)}
    found: dict[tuple[str, str], tuple[Point, Point]] = {}

    def note(a: Point, b: Point) -> None:
        (one, a), (other, b) = sorted(
            ((context.net_of[a], a), (context.net_of[b], b)), key=lambda each: order[each[0]]
        )
        if one != other:
            found.setdefault((one, other), (a, b))

    for step in context.deduction.joins:
        if step.start in context.net_of and step.finish in context.net_of:
            note(step.start, step.finish)
    for points in context.deduction.nets:
        first_of: dict[str, Point] = {}
        for point in points:
            if point in context.net_of:
                first_of.setdefault(context.net_of[point], point)
        for point in tuple(first_of.values())[1:]:
            note(next(iter(first_of.values())), point)
    return dict(sorted(found.items(), key=lambda each: (order[each[0][0]], order[each[0][1]])))


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
