"""What fails on invented cables: each model has a few weak places, and most of its reports tell of one of those.

Kind, cause, symptom, what was tried, how it ended, hours and cost go together as benches tell it: copper that broke at
a strain relief is spliced, a dead chip is given up or its cable bought.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from numpy.random import Generator

from catalogue.core.document import CoreKind, MapDocument, MarkKind, Role
from catalogue.core.failures import Cause, Ending, Failure, FailureKind, Remedy, Symptom
from catalogue.core.inventing.chance import one_of, some_of, weighted
from catalogue.core.inventing.names import Trade

SHARES = (0.6, 0.25, 0.1)
"""Of the reports that the weak places get, in their order; the rest are anywhere."""

MOST_REPORTS = 800
MIDDLE_REPORTS, REPORTS_SPREAD = 4.2, 1.4
"""Median, and spread of the logarithm, of the reports of a cable: the mean is 10, and one in 1,000 has hundreds."""

CURRENCIES = {"EUR": 6.0, "GBP": 2.0, "USD": 2.0, "SEK": 1.0}

KINDS: Mapping[str, Mapping[FailureKind, float]] = {
    "relief": {FailureKind.CORE_OPEN: 6, FailureKind.INTERMITTENT: 4, FailureKind.HIGH_RESISTANCE: 1},
    "along": {FailureKind.CORE_OPEN: 5, FailureKind.CORE_SHORT: 3, FailureKind.INTERMITTENT: 2},
    "glass": {FailureKind.FIBRE_BROKEN: 9, FailureKind.CORE_OPEN: 1},
    "contact": {FailureKind.CONTACT_WORN: 7, FailureKind.HIGH_RESISTANCE: 2, FailureKind.INTERMITTENT: 1},
    "block": {FailureKind.ELECTRONICS_DEAD: 8, FailureKind.NOT_FOUND: 1},
    "unknown": {FailureKind.NOT_FOUND: 5, FailureKind.INTERMITTENT: 2, FailureKind.CORE_OPEN: 1},
}
CAUSES: Mapping[str, Mapping[Cause, float]] = {
    "relief": {Cause.STRAIN_RELIEF: 7, Cause.KINK: 2, Cause.AGE: 1},
    "along": {Cause.KINK: 3, Cause.CRUSH: 3, Cause.ABRASION: 2, Cause.CUT: 1, Cause.WATER: 1},
    "glass": {Cause.CRUSH: 4, Cause.KINK: 4, Cause.UNKNOWN: 1},
    "contact": {Cause.AGE: 5, Cause.WATER: 2, Cause.BAD_JOINT: 3},
    "block": {Cause.OVERLOAD: 4, Cause.AGE: 2, Cause.BURN: 1, Cause.UNKNOWN: 2},
    "unknown": {Cause.UNKNOWN: 1},
}
ENDINGS: Mapping[FailureKind, Mapping[Ending, float]] = {
    FailureKind.CORE_OPEN: {Ending.MENDED: 12, Ending.BUILT: 2, Ending.BOUGHT: 3, Ending.GIVEN_UP: 2},
    FailureKind.CORE_SHORT: {Ending.MENDED: 9, Ending.BUILT: 2, Ending.BOUGHT: 2, Ending.GIVEN_UP: 2},
    FailureKind.HIGH_RESISTANCE: {Ending.MENDED: 8, Ending.BOUGHT: 3, Ending.NOT_ENDED: 2},
    FailureKind.INTERMITTENT: {Ending.MENDED: 8, Ending.BOUGHT: 3, Ending.GIVEN_UP: 2, Ending.NOT_ENDED: 2},
    FailureKind.FIBRE_BROKEN: {Ending.GIVEN_UP: 6, Ending.BOUGHT: 5, Ending.BUILT: 1, Ending.MENDED: 0.3},
    FailureKind.ELECTRONICS_DEAD: {Ending.GIVEN_UP: 6, Ending.BOUGHT: 4, Ending.BUILT: 2, Ending.MENDED: 1},
    FailureKind.CONTACT_WORN: {Ending.MENDED: 12, Ending.BOUGHT: 2, Ending.GIVEN_UP: 1},
    FailureKind.NOT_FOUND: {Ending.NOT_ENDED: 5, Ending.GIVEN_UP: 3, Ending.BOUGHT: 2},
}
REMEDIES: Mapping[FailureKind, tuple[Remedy, ...]] = {
    FailureKind.CORE_OPEN: (Remedy.CUT_AND_SPLICED, Remedy.RESOLDERED, Remedy.NEW_CONNECTOR, Remedy.CORE_BRIDGED),
    FailureKind.CORE_SHORT: (Remedy.CUT_AND_SPLICED, Remedy.NEW_CONNECTOR),
    FailureKind.HIGH_RESISTANCE: (Remedy.RESOLDERED, Remedy.CLEANED),
    FailureKind.INTERMITTENT: (Remedy.RESOLDERED, Remedy.NEW_STRAIN_RELIEF, Remedy.NEW_CONNECTOR),
    FailureKind.FIBRE_BROKEN: (Remedy.CUT_AND_SPLICED,),
    FailureKind.ELECTRONICS_DEAD: (Remedy.MODULE_REPLACED,),
    FailureKind.CONTACT_WORN: (Remedy.CLEANED, Remedy.NEW_CONNECTOR),
    FailureKind.NOT_FOUND: (Remedy.CLEANED,),
}
INSTEAD = {Ending.BUILT: Remedy.CABLE_BUILT, Ending.BOUGHT: Remedy.CABLE_BOUGHT}
SYMPTOMS: Mapping[Trade, tuple[Symptom, ...]] = {
    Trade.POWER: (Symptom.NO_POWER, Symptom.DROPS_OUT, Symptom.HOT),
    Trade.DATA: (Symptom.NO_DATA, Symptom.NOT_RECOGNISED, Symptom.DROPS_OUT, Symptom.SLOW),
    Trade.PICTURE: (Symptom.NO_PICTURE, Symptom.BAD_PICTURE, Symptom.DROPS_OUT),
    Trade.SOUND: (Symptom.NO_SOUND, Symptom.NOISE),
    Trade.MEASURING: (Symptom.WRONG_READINGS, Symptom.NOISE, Symptom.NO_DATA),
}
BY_KIND = {
    FailureKind.INTERMITTENT: Symptom.CUTS_OUT_WHEN_MOVED,
    FailureKind.CORE_SHORT: Symptom.SMELL_OR_SMOKE,
    FailureKind.CONTACT_WORN: Symptom.DROPS_OUT,
}
SAID: Mapping[Symptom, tuple[str, ...]] = {
    Symptom.NO_PICTURE: ("Black, and stays so.", "No picture at all since it fell."),
    Symptom.BAD_PICTURE: ("Snow in the picture, worse when it is warm.", "Stripes across the picture."),
    Symptom.NO_POWER: ("Dead. Not even the lamp on the front.", "Will not start, fuse is whole."),
    Symptom.NOT_RECOGNISED: ("The desk says that nothing is plugged in.", "Not recognised since last week."),
    Symptom.NO_DATA: ("Has power, sends nothing.", "The log ends in the middle of a line."),
    Symptom.DROPS_OUT: ("Drops out now and then.", "Works for a minute, then is gone."),
    Symptom.CUTS_OUT_WHEN_MOVED: ("Goes when the plug is wiggled.", "Works only while I hold it bent."),
    Symptom.WRONG_READINGS: ("Shows numbers that cannot be.", "Drifts by the hour."),
    Symptom.NOISE: ("Hums.", "Crackles whenever somebody walks past."),
    Symptom.NO_SOUND: ("Silent on one side.", "Nothing to hear."),
    Symptom.SLOW: ("Slow since it was moved.", "Takes three tries for everything."),
    Symptom.HOT: ("The plug gets too hot to hold.", "Warm along the first hand's breadth."),
    Symptom.SMELL_OR_SMOKE: ("Smelt of burnt varnish.", "A wisp of smoke, and that was that."),
    Symptom.VISIBLE_DAMAGE: ("The jacket is open down to the screen.", "A door was shut on it."),
}


@dataclass(frozen=True, slots=True)
class Weak:
    """A place where specimens of a model fail: what is there (a key of KINDS), and the net that goes first."""

    what: str
    section: str = ""
    at_m: float | None = None
    place: str = ""
    net: str = ""


def weak_places(rng: Generator, cable: MapDocument) -> list[Weak]:
    """The places where a model fails, the weakest first."""
    nets = [net.name for net in cable.nets if len(net.contacts) > 1] or [""]
    glass = {core.section for core in cable.cores if core.kind is CoreKind.FIBRE}
    paths = [path.name for path in cable.paths]
    found = [
        Weak("relief", mark.section, mark.at_m, net=one_of(rng, nets))
        for mark in cable.marks
        if mark.kind is MarkKind.STRAIN_RELIEF
    ]
    for section in cable.sections:
        at_m = round(float(rng.uniform(0.15, 0.85)) * (section.length_m or 0.0), 2)
        is_glass = section.name in glass
        victim = one_of(rng, paths if is_glass else nets)
        found.append(Weak("glass" if is_glass else "along", section.name, at_m, net=victim))
    found += [Weak("contact", place=end.name, net=one_of(rng, nets)) for end in cable.ends]
    found += [Weak("block", place=module.name, net=one_of(rng, paths or [""])) for module in cable.modules]
    return [*some_of(rng, found, len(found)), Weak("unknown")]


def reports_of(rng: Generator) -> int:
    """How many reports a cable has got."""
    return min(MOST_REPORTS, int(MIDDLE_REPORTS * float(rng.lognormal(0.0, REPORTS_SPREAD))))


def invented_failure(rng: Generator, cable: MapDocument, weak: Sequence[Weak], trade: Trade) -> Failure:
    """What one owner tells of a specimen."""
    place = _where(rng, weak)
    kind = weighted(rng, KINDS[place.what])
    ending = weighted(rng, ENDINGS[kind])
    symptoms = _symptoms(rng, cable, place, kind, trade)
    tells_hours, tells_cost, tells_words = (rng.random(3) < (0.7, 0.4, 0.8)).tolist()
    return Failure(
        kind=kind,
        ending=ending,
        symptoms=symptoms,
        words=one_of(rng, SAID[symptoms[0]]) if tells_words else "",
        section=place.section,
        at_m=_told_at_m(rng, cable, place),
        place=place.place,
        nets=(place.net,) if place.net else (),
        cause=weighted(rng, CAUSES[place.what]),
        tried=_tried(rng, kind, ending),
        hours=round(float(rng.gamma(2.0, 1.2)), 1) if tells_hours else None,
        cost=round(float(rng.gamma(1.5, 40.0 if ending is Ending.BOUGHT else 6.0)), 2) if tells_cost else None,
        currency=weighted(rng, CURRENCIES) if tells_cost else "",
    )


def _where(rng: Generator, weak: Sequence[Weak]) -> Weak:
    left = rng.random()
    for place, share in zip(weak, SHARES, strict=False):
        left -= share
        if left < 0:
            return place
    return one_of(rng, weak)


def _told_at_m(rng: Generator, cable: MapDocument, place: Weak) -> float | None:
    """The place as told with a tape measure; one in ten does not tell it."""
    if place.at_m is None or rng.random() < 0.1:
        return None
    length_m = next(section.length_m for section in cable.sections if section.name == place.section) or 0.0
    return round(min(max(0.0, place.at_m + float(rng.normal(0.0, 0.02))), length_m), 2)


def _symptoms(rng: Generator, cable: MapDocument, place: Weak, kind: FailureKind, trade: Trade) -> tuple[Symptom, ...]:
    is_supply = any(net.role is Role.POWER for net in cable.nets if net.name == place.net)
    first = Symptom.NO_POWER if is_supply else one_of(rng, SYMPTOMS[trade])
    found = [first]
    if kind in BY_KIND and rng.random() < 0.7:
        found.insert(0, BY_KIND[kind])
    if place.what == "along" and rng.random() < 0.3:
        found.append(Symptom.VISIBLE_DAMAGE)
    return tuple(dict.fromkeys(found))


def _tried(rng: Generator, kind: FailureKind, ending: Ending) -> tuple[Remedy, ...]:
    mending = one_of(rng, REMEDIES[kind])
    if ending is Ending.MENDED:
        return (mending,)
    instead = (INSTEAD[ending],) if ending in INSTEAD else ()
    if rng.random() < 0.5:
        return (mending, *instead)
    return instead or ((Remedy.NOTHING,) if ending is Ending.GIVEN_UP else ())
