"""Readings of several people on one cable, taken together: the fewest hardware variants that explain them.

Contributions that contradict nothing of one another, as far as joined and apart go, are of one variant. Each
may be of another specimen, so resistances are not compared. Contradiction need not be between two: A-B joined,
B-C joined and A-C apart, each read by somebody else, are three contributions of which any two agree.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from itertools import combinations, islice

from catalogue.core.document import Meter, Point, Reading, Result
from catalogue.core.nets import Deduction, deduce

EXACT_CONTRIBUTIONS = 7
"""Up to so many contributions every grouping is tried. Beyond, each goes to the first variant that takes it."""

MOST_DIFFERENCES = 50

Groups = tuple[tuple[int, ...], ...]


class Says(StrEnum):
    JOINED = "joined"
    APART = "apart"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one person read of one specimen, under a name that no other contribution has."""

    name: str
    readings: tuple[Reading, ...]
    meter: Meter


@dataclass(frozen=True)
class Variant:
    """Contributions that nothing sets at odds, and what they come to together.

    `may_be_broken`: all that tells it from the others is what it reads apart and they read joined, as a
    specimen of the same hardware with broken cores would.
    """

    members: tuple[str, ...]
    deduction: Deduction
    may_be_broken: bool


@dataclass(frozen=True, slots=True)
class Difference:
    """Two variants contradict each other on `contact` and `against` (several are the members of a sweep).

    `says` has what each of all variants says. `readings` prove it, each with the name of its contribution
    before a slash.
    """

    contact: Point
    against: tuple[Point, ...]
    says: tuple[Says, ...]
    readings: tuple[str, ...]


@dataclass(frozen=True)
class Pool:
    """Variants, the one of most contributions first. `fewest` when it is proved that fewer cannot do.

    `at_odds` are contributions that contradict themselves, and are in no variant. Of many differences the first
    are told, and how many there are.
    """

    variants: tuple[Variant, ...]
    fewest: bool
    at_odds: tuple[str, ...]
    differences: tuple[Difference, ...]
    differences_total: int


def pool(contacts: Sequence[Point], contributions: Sequence[Contribution]) -> Pool:
    """Group contributions on one cable into variants. All name their contacts alike; the names are unique.

    Up to `EXACT_CONTRIBUTIONS` the variants are the fewest, else as few as come of taking the contributions
    with most readings first.
    """
    meter = widest_meter([each.meter for each in contributions])
    labelled = [_labelled(each) for each in contributions]

    def together(members: Sequence[int]) -> _Together:
        readings = tuple(one for member in members for one in labelled[member])
        return _Together(readings, deduce(contacts, readings, meter))

    sound = [number for number in range(len(contributions)) if together([number]).is_consistent]
    order = sorted(sound, key=lambda number: -len(labelled[number]))
    groups, fewest = fewest_groups(order, lambda members: together(members).is_consistent)
    deductions = [together(group).deduction for group in groups]
    clashes: dict[_Clash, Deduction] = {}
    for one, other in combinations(range(len(groups)), 2):
        both = together((*groups[one], *groups[other]))
        plainest = _plainest(both.clashes(), deductions[one], deductions[other])
        clashes |= dict.fromkeys(plainest, both.deduction)
    said = [tuple(_says(each, clash) for each in deductions) for clash in clashes]
    variants = tuple(
        Variant(tuple(contributions[member].name for member in group), deductions[place], _only_lacks(said, place))
        for place, group in enumerate(groups)
    )
    differences = tuple(
        Difference(clash.contact, clash.against, says, _proof(clash, both))
        for (clash, both), says in islice(zip(clashes.items(), said, strict=True), MOST_DIFFERENCES)
    )
    at_odds = tuple(each.name for number, each in enumerate(contributions) if number not in sound)
    return Pool(variants, fewest, at_odds, differences, len(clashes))


def widest_meter(meters: Sequence[Meter]) -> Meter:
    """A meter with the limits of all: what contradicts under it contradicts whichever of them was used."""
    if not meters:
        return Meter()
    least_lead = min(meter.lead_ohms for meter in meters)
    return Meter(
        lead_ohms=least_lead,
        contact_ohms=max(meter.lead_ohms + meter.contact_ohms for meter in meters) - least_lead,
        accuracy_pct=max(meter.accuracy_pct for meter in meters),
        accuracy_digits=max(meter.accuracy_digits for meter in meters),
        range_ohms=min(meter.range_ohms for meter in meters),
        beep_ohms=(min(meter.beep_ohms[0] for meter in meters), max(meter.beep_ohms[1] for meter in meters)),
        join_ohms=max(meter.join_ohms for meter in meters),
    )


def fewest_groups(order: Sequence[int], agree: Callable[[Sequence[int]], bool]) -> tuple[Groups, bool]:
    """The fewest groups of numbers that `agree`, largest first, and whether it is proved that fewer cannot do.

    `agree` is asked of sorted numbers, must hold for each alone, and for every part of what it holds for.
    """
    known: dict[tuple[int, ...], bool] = {}

    def agreeing(members: Sequence[int]) -> bool:
        key = tuple(sorted(members))
        if key not in known:
            known[key] = agree(key)
        return known[key]

    groups = _one_by_one(order, agreeing)
    # Numbers of which no two agree need a group each, so as many groups as such numbers are the fewest.
    exact = not any(agreeing(pair) for pair in combinations([group[0] for group in groups], 2))
    if not exact and len(order) <= EXACT_CONTRIBUTIONS:
        groups, exact = _fewest(order, agreeing, groups), True
    sorted_groups = sorted((tuple(sorted(group)) for group in groups), key=lambda group: (-len(group), group))
    return tuple(sorted_groups), exact


def _one_by_one(order: Sequence[int], agreeing: Callable[[Sequence[int]], bool]) -> list[list[int]]:
    if order and agreeing(order):
        return [list(order)]
    groups: list[list[int]] = []
    for number in order:
        home = next((group for group in groups if agreeing([*group, number])), None)
        if home is None:
            groups.append([number])
        else:
            home.append(number)
    return groups


def _fewest(order: Sequence[int], agreeing: Callable[[Sequence[int]], bool], best: list[list[int]]) -> list[list[int]]:
    """The fewest groups, by trying every home for each number that leaves fewer groups than the best so far."""

    def search(place: int, groups: list[list[int]]) -> None:
        nonlocal best
        if len(groups) >= len(best):
            return
        if place == len(order):
            best = [list(group) for group in groups]
            return
        number = order[place]
        for group in groups:
            if agreeing([*group, number]):
                group.append(number)
                search(place + 1, groups)
                group.pop()
        groups.append([number])
        search(place + 1, groups)
        groups.pop()

    search(0, [])
    return best


def _labelled(contribution: Contribution) -> tuple[Reading, ...]:
    """Its readings under ids that no other contribution has."""
    return tuple(replace(each, id=f"{contribution.name}/{each.id}") for each in contribution.readings)


@dataclass(frozen=True, slots=True)
class _Clash:
    """What is read both joined and apart. `reading` is one that says so; clashes are told apart without it."""

    contact: Point
    against: tuple[Point, ...]
    reading: str = field(compare=False)


@dataclass(frozen=True, slots=True)
class _Together:
    """Readings of several contributions, and what they come to."""

    readings: tuple[Reading, ...]
    deduction: Deduction

    @property
    def is_consistent(self) -> bool:
        return next(self.clashes(), None) is None

    def clashes(self) -> Iterator[_Clash]:
        """Points read apart that are joined, sweeps that beeped on nothing, beeps where others found silence.

        To one person a beep and a silence may be a part of some tens of ohms; between two it is a difference.
        """
        deduction = self.deduction
        for step in deduction.apart_within:
            yield _pair_clash(step.start, step.finish, step.reading)
        net_of = deduction.net_index
        silent = {frozenset((net_of[step.start], net_of[step.finish])) for step in deduction.silences}
        impossible = set(deduction.impossible_sweeps)
        for reading in self.readings:
            if reading.id in impossible:
                yield _Clash(reading.red, reading.black, reading.id)
            elif _beeps_on_one(reading) and frozenset((net_of[reading.red], net_of[reading.black[0]])) in silent:
                yield _pair_clash(reading.red, reading.black[0], reading.id)


def _beeps_on_one(reading: Reading) -> bool:
    return reading.result is Result.BEEPS and len(reading.black) == 1 and not reading.flexed


def _pair_clash(one: Point, other: Point, reading: str) -> _Clash:
    first, second = sorted((one, other))
    return _Clash(first, (second,), reading)


def _plainest(clashes: Iterable[_Clash], one: Deduction, other: Deduction) -> list[_Clash]:
    """Those on which one variant says joined and the other apart; all, where there are none such."""
    found = list(clashes)
    plain = [each for each in found if {_says(one, each), _says(other, each)} == {Says.JOINED, Says.APART}]
    return plain or found


def _says(deduction: Deduction, clash: _Clash) -> Says:
    if any(deduction.is_joined(clash.contact, other) for other in clash.against):
        return Says.JOINED
    apart = all(deduction.is_apart(clash.contact, other) for other in clash.against)
    return Says.APART if apart else Says.UNDECIDED


def _proof(clash: _Clash, both: Deduction) -> tuple[str, ...]:
    """The readings that join, or that rule out each member of the sweep, and the one that says otherwise."""
    chains = [
        both.joined_proof(clash.contact, other) or both.apart_proof(clash.contact, other) for other in clash.against
    ]
    return tuple(dict.fromkeys((*(step.reading for chain in chains for step in chain), clash.reading)))


def _only_lacks(rows: Sequence[tuple[Says, ...]], place: int) -> bool:
    """Whether a variant is never the one that says joined where another says apart, and once the other way round."""
    clashes = [says for says in rows if {Says.JOINED, Says.APART} <= set(says) and says[place] is not Says.UNDECIDED]
    return bool(clashes) and all(says[place] is Says.APART for says in clashes)
