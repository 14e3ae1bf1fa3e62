"""The rule that resistances read between several nets must fit some network of resistors."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

import numpy as np

from catalogue.core.bounds import Bound
from catalogue.core.document import Mode, Point, Result
from catalogue.core.findings import Limit
from catalogue.core.network import network_within
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import listed
from catalogue.core.rules.remark import Remark

FEWEST_NETS = 4
"""Any three resistances that keep the triangle inequality are those of a star; others are violations."""

MOST_NETS = 12
"""The search grows with the fourth power of the number of nets."""


Between = dict[tuple[int, int], list[Bound]]
"""Readings between two nets, by the places of both among all nets, the lower first."""


def no_network(context: Context) -> Iterator[Remark]:
    told = {link.reading for each in context.violations for link in (each.bound, *each.path)}
    between = _read_between_nets(context)
    for group in _groups(between):
        pairs = list(combinations(group, 2))
        if not FEWEST_NETS <= len(group) <= MOST_NETS or not all(pair in between for pair in pairs):
            continue
        readings = tuple(dict.fromkeys(bound.reading for pair in pairs for bound in between[pair]))
        if told.isdisjoint(readings) and not _fits(context, group, between):
            yield _remark(context, group, readings)


def _remark(context: Context, group: Sequence[int], readings: tuple[str, ...]) -> Remark:
    contacts = tuple(context.deduction.nets[net][0] for net in group)
    return Remark(
        f"No network of resistors was found that reads like this between the nets of {listed(contacts)} "
        f"({listed(readings)}). One of these readings is off, or a part in between is not a resistor.",
        contacts=contacts,
        readings=readings,
        at=context.readings_at(readings),
    )


def _fits(context: Context, group: Sequence[int], between: Between) -> bool:
    probed = {point for pair in combinations(group, 2) for bound in between[pair] for point in (bound.a, bound.b)}
    within = {point: _within_net(context, point) for point in probed}
    lower, upper = np.zeros((2, len(group), len(group)))
    for row, column in combinations(range(len(group)), 2):
        low, high = _span(between[group[row], group[column]], within)
        lower[row, column] = lower[column, row] = low
        upper[row, column] = upper[column, row] = high
    return bool((lower > upper).any()) or network_within(lower, upper) is not None


def _read_between_nets(context: Context) -> Between:
    """Values in ohms read between two nets."""
    found: Between = {}
    for bound in context.bounds:
        if math.isinf(bound.upper) or bound.lower <= 0:
            continue
        reading = context.reading(bound.reading)
        if reading.mode is Mode.OHMS and reading.result is Result.VALUE:
            one, other = (context.deduction.net_index[point] for point in (bound.a, bound.b))
            if one != other:
                found.setdefault((min(one, other), max(one, other)), []).append(bound)
    return found


def _groups(between: Between) -> list[list[int]]:
    """Nets that hang together by such readings."""
    neighbours: dict[int, set[int]] = {}
    for one, other in between:
        neighbours.setdefault(one, set()).add(other)
        neighbours.setdefault(other, set()).add(one)
    groups = []
    seen: set[int] = set()
    for start in sorted(neighbours):
        if start in seen:
            continue
        group, ahead = {start}, [start]
        while ahead:
            new = neighbours[ahead.pop()] - group
            group |= new
            ahead.extend(new)
        seen |= group
        groups.append(sorted(group))
    return groups


def _span(found: Sequence[Bound], within: Mapping[Point, float]) -> tuple[float, float]:
    """Least and most resistance between the first points of two nets, from all readings between the two.

    What lies within a net between the point that was read and its first point may add or take away as much.
    """
    slack = [within[bound.a] + within[bound.b] for bound in found]
    return (
        max(max(bound.lower - give, 0.0) for bound, give in zip(found, slack, strict=True)),
        min(bound.upper + give for bound, give in zip(found, slack, strict=True)),
    )


def _within_net(context: Context, point: Point) -> float:
    """The most resistance that the readings leave between a point and the first point of its net."""
    first = context.deduction.nets[context.deduction.net_index[point]][0]
    proof = context.deduction.joined_proof(first, point)
    return sum(step.ohms for step in proof if step.limit is Limit.AT_MOST)
