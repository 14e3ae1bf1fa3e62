"""Failure reports as values, the words they are told in, and the points along a cable where failures gather."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from enum import StrEnum
from statistics import median
from typing import Any

from catalogue.core.document import CUSTOM_CONNECTOR, MapDocument, MarkKind
from catalogue.core.problems import Defect
from catalogue.core.text import hidden_characters

CLUSTER_M = 0.1
"""Reports this near to their neighbour along a section are one failure point: about the reach of a kink or a strain
relief, and how well a place is told with a tape measure. Common practice."""


NEAR_M = 0.2
"""So near to an end, module or split a failure counts as being at it: the reach of a boot and what is cut back with
it. Judgement."""

OUTER_SHARE = 0.25
"""So much of a section's length at either end of it is near an end: beyond it the cable is moved less. Judgement."""

LONGEST_WORDS = 500
LONGEST_NOTE = 2000
MOST_NETS = 500
MOST_HOURS = 10_000
COST_DIGITS = 10
"""Digits of a cost with the two after the point: what it costs is told in whole cents, of any currency."""

SAME_EVENT_DAYS = 14
"""Reports that are alike and no farther apart than this may tell of one event. Judgement."""


class Symptom(StrEnum):
    """How a failure shows, in the words that people search by."""

    NO_PICTURE = "no-picture"
    BAD_PICTURE = "bad-picture"
    NO_POWER = "no-power"
    NOT_RECOGNISED = "not-recognised"
    NO_DATA = "no-data"
    DROPS_OUT = "drops-out"
    CUTS_OUT_WHEN_MOVED = "cuts-out-when-moved"
    WRONG_READINGS = "wrong-readings"
    NOISE = "noise"
    NO_SOUND = "no-sound"
    SLOW = "slow"
    HOT = "hot"
    SMELL_OR_SMOKE = "smell-or-smoke"
    VISIBLE_DAMAGE = "visible-damage"


class FailureKind(StrEnum):
    """What was found to have failed."""

    CORE_OPEN = "core-open"
    CORE_SHORT = "core-short"
    HIGH_RESISTANCE = "high-resistance"
    INTERMITTENT = "intermittent"
    FIBRE_BROKEN = "fibre-broken"
    ELECTRONICS_DEAD = "electronics-dead"
    CONTACT_WORN = "contact-worn"
    NOT_FOUND = "not-found"


class Cause(StrEnum):
    KINK = "kink"
    STRAIN_RELIEF = "strain-relief"
    CRUSH = "crush"
    ABRASION = "abrasion"
    CUT = "cut"
    BURN = "burn"
    WATER = "water"
    AGE = "age"
    BAD_JOINT = "bad-joint"
    OVERLOAD = "overload"
    UNKNOWN = "unknown"


class Remedy(StrEnum):
    """What was tried."""

    CLEANED = "cleaned"
    RESOLDERED = "resoldered"
    CUT_AND_SPLICED = "cut-and-spliced"
    NEW_CONNECTOR = "new-connector"
    NEW_STRAIN_RELIEF = "new-strain-relief"
    MODULE_REPLACED = "module-replaced"
    CORE_BRIDGED = "core-bridged"
    CABLE_BUILT = "cable-built"
    CABLE_BOUGHT = "cable-bought"
    NOTHING = "nothing"


class Ending(StrEnum):
    """How it ended."""

    MENDED = "mended"
    BUILT = "built"
    BOUGHT = "bought"
    GIVEN_UP = "given-up"
    NOT_ENDED = "not-ended"


class PlaceKind(StrEnum):
    """Where along a cable something failed, in words that fit every cable."""

    CONNECTOR = "connector"
    MODULE = "module"
    SPLIT = "split"
    ALONG = "along"


class Spot(StrEnum):
    """The same told closer, for counting across cables: the kinds of place, and more about those along a section.

    A failure may be at several: at a strain relief that is close to a connector, or in the middle of the way.
    """

    CONNECTOR = "connector"
    MODULE = "module"
    SPLIT = "split"
    ALONG = "along"
    NEAR_AN_END = "near-an-end"
    MIDDLE = "middle"
    STRAIN_RELIEF = "strain-relief"


@dataclass(frozen=True, slots=True)
class Failure:
    """What failed on one specimen: in a `section` (`at_m` from its start), at a `place`, or nobody knows where."""

    kind: FailureKind
    ending: Ending
    symptoms: tuple[Symptom, ...] = ()
    words: str = ""
    section: str = ""
    at_m: float | None = None
    place: str = ""
    nets: tuple[str, ...] = ()
    cause: Cause = Cause.UNKNOWN
    tried: tuple[Remedy, ...] = ()
    note: str = ""
    hours: float | None = None
    cost: float | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True)
class Telling:
    """A failure report as it was told at one time. Told anew, it has several; the newest counts."""

    told_at: datetime
    failure: Failure


@dataclass(frozen=True, slots=True)
class Span:
    """Numbers that several reports told: the least, the middle one (median) and the most."""

    least: float
    middle: float
    most: float


@dataclass(frozen=True)
class Spent:
    """The reports that ended alike: how many, and the hours and the costs, by currency, of those that tell them."""

    ending: Ending
    count: int
    hours: Span | None
    costs: Mapping[str, Span]


def failure_from(told: Mapping[str, Any]) -> Failure:
    """A failure report from plain words and numbers by the names of its fields; what is missing was not told.

    Names that are no field are passed over. Raises ValueError for a word that is not in its list.
    """
    words: dict[str, Callable[[Any], Any]] = {
        "kind": FailureKind,
        "ending": Ending,
        "cause": Cause,
        "symptoms": lambda values: tuple(map(Symptom, values)),
        "tried": lambda values: tuple(map(Remedy, values)),
        "nets": tuple,
        "cost": lambda value: None if value is None else float(value),
    }
    names = [field.name for field in fields(Failure) if field.name in told]
    return Failure(**{name: words[name](told[name]) if name in words else told[name] for name in names})


@dataclass(frozen=True)
class FailurePoint:
    """Failures that gather at one place: a stretch of a section, or an end, module or split.

    `at_m` is the mean of the places told, `first_m` and `last_m` their span; all None at a place, and where a
    section was told without metres.
    """

    section: str
    place: str
    at_m: float | None
    first_m: float | None
    last_m: float | None
    count: int
    kinds: Mapping[FailureKind, int]
    endings: Mapping[Ending, int]
    symptoms: Mapping[Symptom, int]


def place_kind(failure: Failure, document: MapDocument) -> PlaceKind | None:
    """Where along the cable of a map a failure was; None when it was not told, or is no place of this map."""
    place = place_of(failure, document)
    if any(end.name == place for end in document.ends):
        return PlaceKind.CONNECTOR
    if any(module.name == place for module in document.modules):
        return PlaceKind.MODULE
    if place in document.splits:
        return PlaceKind.SPLIT
    return PlaceKind.ALONG if any(section.name == failure.section for section in document.sections) else None


def place_of(failure: Failure, document: MapDocument) -> str:
    """The end, module or split at which a failure was told to be, or to which it is close; empty when at none."""
    section = next((section for section in document.sections if section.name == failure.section), None)
    if section and failure.at_m is not None:
        if failure.at_m <= NEAR_M:
            return section.start
        if section.length_m is not None and section.length_m - failure.at_m <= NEAR_M:
            return section.finish
    return failure.place


def connector_of(failure: Failure, document: MapDocument) -> str:
    """The standard connector that a failure is at or close to; empty when it is at none."""
    place = place_of(failure, document)
    connector = next((end.connector for end in document.ends if end.name == place), CUSTOM_CONNECTOR)
    return "" if connector == CUSTOM_CONNECTOR else connector


def spots_of(failure: Failure, document: MapDocument) -> frozenset[Spot]:
    """All spots of the cable of a map that a failure is at; none when it was not told, or is no place of this map.

    Along the way it is near an end or in the middle only where the length and the metres were told.
    """
    spots = set()
    if kind := place_kind(failure, document):
        spots.add(Spot(kind.value))
    is_by_relief = failure.at_m is not None and any(
        mark.section == failure.section and abs(mark.at_m - failure.at_m) <= CLUSTER_M
        for mark in document.marks
        if mark.kind is MarkKind.STRAIN_RELIEF
    )
    if failure.cause is Cause.STRAIN_RELIEF or is_by_relief:
        spots.add(Spot.STRAIN_RELIEF)
    length_m = next((section.length_m for section in document.sections if section.name == failure.section), None)
    if kind is PlaceKind.ALONG and length_m and failure.at_m is not None:
        to_nearer_m = min(failure.at_m, length_m - failure.at_m)
        spots.add(Spot.NEAR_AN_END if to_nearer_m < OUTER_SHARE * length_m else Spot.MIDDLE)
    return frozenset(spots)


def may_be_one_event(one: Failure, other: Failure) -> bool:
    """Whether two reports on one cable tell of the same place and share a symptom, as two tales of one event would."""
    if not set(one.symptoms) & set(other.symptoms):
        return False
    if (one.section, one.place) != (other.section, other.place) or not (one.section or one.place):
        return False
    return one.at_m is None or other.at_m is None or abs(one.at_m - other.at_m) <= CLUSTER_M


def failure_defects(failure: Failure, document: MapDocument) -> tuple[Defect, ...]:
    """What in a report does not fit the cable's map, each named by its field; empty when all fits."""
    defects = []
    lengths = {section.name: section.length_m for section in document.sections}
    rails = {*(net.name for net in document.nets), *(path.name for path in document.paths)}
    if failure.section and failure.place:
        defects.append(
            Defect("/place", "A failure is in a section or at a place, not both.", "Leave one of the two empty.")
        )
    if failure.section and failure.section not in lengths:
        defects.append(
            Defect(
                "/section",
                f"This cable has no section {failure.section!r}.",
                f"Use one of: {_listed(lengths)}.",
            )
        )
    if failure.place and failure.place not in document.place_names:
        defects.append(
            Defect(
                "/place",
                f"This cable has no end, module or split {failure.place!r}.",
                f"Use one of: {_listed(document.place_names)}.",
            )
        )
    if failure.at_m is not None:
        length_m = lengths.get(failure.section)
        if not failure.section:
            defects.append(
                Defect(
                    "/at_m",
                    "Metres are told along a section.",
                    "Name the section, or leave the metres empty.",
                )
            )
        elif failure.at_m < 0 or (length_m is not None and failure.at_m > length_m):
            reach = f"0 to {length_m:g} m" if length_m is not None else "0 m or more"
            defects.append(
                Defect(
                    "/at_m",
                    f"{failure.at_m:g} m is outside section {failure.section!r}.",
                    f"Give a place from {reach}, measured from the section's start.",
                )
            )
    for where, text in (("/words", failure.words), ("/note", failure.note)):
        if hidden := hidden_characters(text):
            defects.append(
                Defect(
                    where,
                    f"The text holds characters that hide or turn text round: {', '.join(hidden)}.",
                    "Type the text anew without them.",
                )
            )
    if failure.cost is not None and not failure.currency:
        defects.append(Defect("/currency", "The cost has no currency.", "Write the currency of the cost, such as EUR."))
    unknown = [name for name in failure.nets if name not in rails]
    if unknown:
        defects.append(
            Defect(
                "/nets",
                f"This cable has no net or path {_listed(unknown)}.",
                f"Use some of: {_listed(rails)}.",
            )
        )
    if len(failure.nets) > MOST_NETS:
        defects.append(
            Defect("/nets", f"{len(failure.nets)} nets are named.", f"Name at most {MOST_NETS} of them: the worst.")
        )
    return tuple(defects)


def failure_points(failures: Iterable[Failure]) -> tuple[FailurePoint, ...]:
    """Where failures gather, most reports first. Reports that tell no place count in none.

    Within a section, sorted places are parted wherever two neighbours lie more than `CLUSTER_M` apart.
    """
    by_place: dict[tuple[str, str, int], list[Failure]] = {}
    measured: dict[str, list[Failure]] = {}
    for failure in failures:
        if failure.section and failure.at_m is not None:
            measured.setdefault(failure.section, []).append(failure)
        elif failure.section or failure.place:
            by_place.setdefault((failure.section, failure.place, -1), []).append(failure)
    for section, group in measured.items():
        cluster, last_m = 0, None
        for failure in sorted(group, key=_metres):
            if last_m is not None and _metres(failure) - last_m > CLUSTER_M:
                cluster += 1
            last_m = _metres(failure)
            by_place.setdefault((section, "", cluster), []).append(failure)
    points = [_point(section, place, group) for (section, place, _), group in by_place.items()]
    return tuple(sorted(points, key=lambda point: (-point.count, point.section, point.place, point.at_m or 0.0)))


def spent(failures: Iterable[Failure]) -> tuple[Spent, ...]:
    """What each ending that occurs took, in the order of the endings."""
    by_ending: dict[Ending, list[Failure]] = {}
    for failure in failures:
        by_ending.setdefault(failure.ending, []).append(failure)
    return tuple(_spent(ending, by_ending[ending]) for ending in Ending if ending in by_ending)


def _spent(ending: Ending, group: list[Failure]) -> Spent:
    costs: dict[str, list[float]] = {}
    for failure in group:
        if failure.cost is not None:
            costs.setdefault(failure.currency, []).append(failure.cost)
    hours = [failure.hours for failure in group if failure.hours is not None]
    return Spent(
        ending=ending,
        count=len(group),
        hours=_span(hours) if hours else None,
        costs={currency: _span(numbers) for currency, numbers in sorted(costs.items())},
    )


def _span(numbers: Sequence[float]) -> Span:
    return Span(min(numbers), median(numbers), max(numbers))


def _metres(failure: Failure) -> float:
    return failure.at_m if failure.at_m is not None else 0.0


def _point(section: str, place: str, group: list[Failure]) -> FailurePoint:
    places_m = [failure.at_m for failure in group if failure.at_m is not None]
    return FailurePoint(
        section=section,
        place=place,
        at_m=sum(places_m) / len(places_m) if places_m else None,
        first_m=min(places_m, default=None),
        last_m=max(places_m, default=None),
        count=len(group),
        kinds=Counter(failure.kind for failure in group),
        endings=Counter(failure.ending for failure in group),
        symptoms=Counter(symptom for failure in group for symptom in failure.symptoms),
    )


def _listed(names: Iterable[str]) -> str:
    return ", ".join(sorted(names)) or "none declared"
