"""The resistors behind the values read between nets: identification parts, pull-ups, what a block hides.

Nets that hang together by values are the terminals of a network (`catalogue.core.network`). Or of none: where no
resistors read like this, one of the values is off, or what lies between is no resistor.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, combinations

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from catalogue.core.bounds import Bound, bounds
from catalogue.core.document import Meter, Mode, Point, Reading, Result
from catalogue.core.nets import Deduction
from catalogue.core.network import Network, Span, Unsolved

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
"""The first two figures of the values that resistors within 5 % are made in (IEC 60063, series E24)."""

MOST_NETS = 9
"""Nets that hang together beyond which nothing is recovered."""

MOST_EFFORT = 20_000
"""The fourth powers of the nets of each network, added up: some seconds. Small networks come first."""

FEWEST_TO_MISFIT = 4
"""Any three resistances that keep the triangle inequality are those of a star; others are violations."""


@dataclass(frozen=True, slots=True)
class HiddenPart:
    """A resistor between the nets of two contacts.

    `readings` are those of its two nets against each other; none where the pair was not read and others show
    it. `is_ohmic`: a low value, or one alike with the probes changed over, so that it is no junction.
    """

    between: tuple[Point, Point]
    span: Span
    readings: tuple[str, ...]
    is_ohmic: bool


@dataclass(frozen=True, slots=True)
class HiddenParts:
    """`complete` tells for each part, in their order, whether every pair of the nets it hangs together with was
    read. `unsolved` holds one contact of each net for the groups of nets that are left, and why.
    """

    parts: tuple[HiddenPart, ...]
    complete: tuple[bool, ...]
    unsolved: tuple[tuple[tuple[Point, ...], Unsolved], ...]


@dataclass(frozen=True, slots=True)
class Misfit:
    """Nets, by one contact of each, of which all pairs were read, as no network of resistors reads."""

    contacts: tuple[Point, ...]
    readings: tuple[str, ...]


def hidden_parts(readings: Sequence[Reading], meter: Meter, deduction: Deduction) -> HiddenParts:
    """The resistors between nets, from values in ohms. `deduction` is that of the same readings.

    What lies within a net between the points that were probed widens the bounds; readings over limit count as
    lower bounds.
    """
    between = _Between(readings, meter, deduction)
    parts: list[HiddenPart] = []
    complete: list[bool] = []
    unsolved = []
    effort_left = MOST_EFFORT
    for group in between.groups():
        effort_left -= len(group) ** 4
        if len(group) > MOST_NETS or effort_left < 0:
            unsolved.append((between.contacts(group), Unsolved.TOO_MANY_NETS))
            continue
        network = between.network(group)
        found = network.spans()
        if isinstance(found, Unsolved):
            unsolved.append((between.contacts(group), found))
            continue
        parts += [between.part(group[a], group[b], span) for (a, b), span in found.items()]
        complete += [network.is_complete] * len(found)
    return HiddenParts(tuple(parts), tuple(complete), tuple(unsolved))


def misfits(readings: Sequence[Reading], meter: Meter, deduction: Deduction) -> Iterator[Misfit]:
    """The nets of which all pairs were read, and no network of resistors is found that reads like this.

    Bounds that cross are not among them: those are violations (`catalogue.core.bounds`). None found is strong
    evidence and no proof. Takes the same as `hidden_parts`, and looks at as much.
    """
    between = _Between(readings, meter, deduction)
    effort_left = MOST_EFFORT
    for group in between.groups():
        effort_left -= len(group) ** 4
        if len(group) > MOST_NETS or effort_left < 0:
            return
        if len(group) >= FEWEST_TO_MISFIT:
            network = between.network(group)
            if network.is_complete and not network.is_crossed and not network.fits():
                yield Misfit(between.contacts(group), between.readings(group))


def nearest_e24(ohms: float) -> float:
    """The value of the series E24 that is nearest by ratio. Takes more than 0 ohms."""
    decade = math.floor(math.log10(ohms)) - 1
    values = [float(f"{figures}e{decade + up}") for up in (-1, 0, 1) for figures in E24]
    return min(values, key=lambda value: abs(math.log(value / ohms)))


class _Between:
    """What was read between nets, by the numbers of the nets, the lower first."""

    def __init__(self, readings: Sequence[Reading], meter: Meter, deduction: Deduction) -> None:
        self._deduction = deduction
        valued = {each.id for each in readings if each.mode is Mode.OHMS and each.result is Result.VALUE}
        self._values: dict[tuple[int, int], list[Bound]] = defaultdict(list)
        self._others: dict[tuple[int, int], list[Bound]] = defaultdict(list)
        for bound in bounds(readings, meter):
            one, other = sorted(deduction.net_index[point] for point in (bound.a, bound.b))
            if one != other and bound.lower > 0:
                is_value = bound.reading in valued and math.isfinite(bound.upper)
                (self._values if is_value else self._others)[one, other].append(bound)
        self._usual = self._probed_most()
        self._within_net = self._most_within_nets()

    def _probed_most(self) -> dict[int, Point]:
        """For each net with values, the contact that most of them were read at: it stands for the net."""
        times = Counter(point for found in self._values.values() for bound in found for point in (bound.a, bound.b))
        usual: dict[int, Point] = {}
        for point, _ in times.most_common():
            usual.setdefault(self._deduction.net_index[point], point)
        return usual

    def groups(self) -> list[list[int]]:
        """Nets that hang together by values, the smallest groups first."""
        if not self._values:
            return []
        nets = sorted(self._usual)
        place = {net: number for number, net in enumerate(nets)}
        pairs = np.array([(place[one], place[other]) for one, other in self._values])
        graph = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(nets), len(nets)))
        _, label = connected_components(graph, directed=False)
        groups: dict[int, list[int]] = defaultdict(list)
        for net, number in zip(nets, label.tolist(), strict=True):
            groups[number].append(net)
        return sorted(groups.values(), key=len)

    def contacts(self, group: Sequence[int]) -> tuple[Point, ...]:
        return tuple(self._usual[net] for net in group)

    def readings(self, group: Sequence[int]) -> tuple[str, ...]:
        """The values read between nets."""
        found = chain.from_iterable(self._values.get(pair, ()) for pair in combinations(group, 2))
        return tuple(dict.fromkeys(bound.reading for bound in found))

    def network(self, group: Sequence[int]) -> Network:
        size = len(group)
        lower, upper = np.zeros((size, size)), np.full((size, size), np.inf)
        for a, b in combinations(range(size), 2):
            pair = group[a], group[b]
            both = [*self._values.get(pair, ()), *self._others.get(pair, ())]
            slacks = [self._within_net[bound.a] + self._within_net[bound.b] for bound in both]
            for bound, slack in zip(both, slacks, strict=True):
                lower[a, b] = lower[b, a] = max(lower[a, b], bound.lower - slack)
                upper[a, b] = upper[b, a] = min(upper[a, b], bound.upper + slack)
        return Network(lower, upper)

    def part(self, one: int, other: int, span: Span) -> HiddenPart:
        found = self._values.get((one, other), ())
        return HiddenPart(
            between=(self._usual[one], self._usual[other]),
            span=span,
            readings=tuple(dict.fromkeys(bound.reading for bound in found)),
            is_ohmic=any(bound.ohmic for bound in found),
        )

    def _most_within_nets(self) -> dict[Point, float]:
        """The most resistance that the readings leave between each point and the one that stands for its net."""
        most = dict.fromkeys(self._usual.values(), 0.0)
        for usual in self._usual.values():
            for step in self._deduction.net_joins(usual):
                most[step.finish] = most[step.start] + step.ohms
        return most
