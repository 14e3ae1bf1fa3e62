"""Small maps to hold against the rules: a sound invented cable that no rule speaks of, and readings.

Most tests take `sound_cable` and change one thing in it, so that whatever is found comes from that change.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from types import MappingProxyType
from typing import Any

from catalogue.core.check import check
from catalogue.core.document import (
    CableName,
    Core,
    End,
    Fault,
    FaultKind,
    MapDocument,
    Mode,
    Net,
    Opening,
    Reading,
    Result,
    Role,
    Section,
)
from catalogue.core.findings import Finding
from catalogue.core.reference import (
    Face,
    Outline,
    Reference,
    Seat,
    StandardCable,
    StandardConnector,
    StandardContact,
)

RESULTS = {"over": Result.OVER, "beeps": Result.BEEPS, "silent": Result.SILENT}


def ohms(id: str, red: str, black: str, value: float, **more: Any) -> Reading:
    return Reading(id, Mode.OHMS, red, (black,), Result.VALUE, value, **{"digit_ohms": 0.1, **more})


def over(id: str, red: str, black: str, **more: Any) -> Reading:
    return Reading(id, Mode.OHMS, red, (black,), Result.OVER, **more)


def beep(id: str, red: str, black: str, **more: Any) -> Reading:
    return Reading(id, Mode.BEEP, red, (black,), Result.BEEPS, **more)


def silent(id: str, red: str, black: str, **more: Any) -> Reading:
    return Reading(id, Mode.BEEP, red, (black,), Result.SILENT, **more)


def sweep(id: str, red: str, *black: str, beeps: bool, **more: Any) -> Reading:
    return Reading(id, Mode.SWEEP, red, black, Result.BEEPS if beeps else Result.SILENT, **more)


def diode(id: str, red: str, black: str, volts: float | None, **more: Any) -> Reading:
    result = Result.OVER if volts is None else Result.VALUE
    return Reading(id, Mode.DIODE, red, (black,), result, volts, **more)


NETS = (
    Net("V", ("L:1", "R:1"), Role.POWER, 5.0),
    Net("G", ("L:2", "R:2"), Role.GROUND),
    Net("D", ("L:3", "R:3"), Role.SINGLE),
)
JOINS = (ohms("j1", "L:1", "R:1", 0.6), ohms("j2", "L:2", "R:2", 0.6), ohms("j3", "L:3", "R:3", 0.6))
SEPARATIONS = (over("s1", "L:1", "L:2"), over("s2", "L:1", "L:3"), over("s3", "L:2", "L:3"))


def sound_cable(**changes: Any) -> MapDocument:
    """Two ends of three contacts, three nets, every pair decided by readings; with changes."""
    sound = MapDocument(
        cable=CableName("Corvane (invented)", "C-3"),
        ends=(
            End("L", "custom", rows=(("1", "2", "3"),)),
            End("R", "custom", rows=(("1", "2", "3"),)),
        ),
        sections=(Section("main", "L", "R", 2.0),),
        cores=(
            Core("k1", "main", colours=("RD",), awg=24, carries="V"),
            Core("k2", "main", colours=("BK",), awg=24, carries="G"),
            Core("k3", "main", colours=("WH",), awg=24, carries="D"),
        ),
        nets=NETS,
        readings=(*JOINS, *SEPARATIONS),
    )
    return replace(sound, **changes)


def with_readings(*more: Reading, **changes: Any) -> MapDocument:
    """The sound cable with these readings after its own."""
    return sound_cable(readings=(*JOINS, *SEPARATIONS, *more), **changes)


def opened_cable(*more: Reading, at_m: float = 0.5, **changes: Any) -> MapDocument:
    """The sound cable with an opening half a metre from L and these readings after its own."""
    return with_readings(*more, openings=(Opening("main", at_m),), **changes)


def fault(kind: FaultKind, *nets: str) -> tuple[Fault, ...]:
    return (Fault(kind, nets),)


def connector(key: str, *contacts: tuple[str, str, Role, str, float | None]) -> StandardConnector:
    """A standard connector of one row: its contacts as (contact, signal, role, pair, volts)."""
    seats = tuple(Seat(contact[0], 0, float(place), 0.0) for place, contact in enumerate(contacts))
    return StandardConnector(
        key,
        key,
        tuple(StandardContact(*contact, True, "", "", "") for contact in contacts),
        Face(Outline.RECTANGLE, 10.0, 4.0, seats, "", ""),
    )


BUS = (
    ("1", "VBUS", Role.POWER, "", 5.0),
    ("2", "D-", Role.PAIR_NEGATIVE, "D", None),
    ("3", "D+", Role.PAIR_POSITIVE, "D", None),
    ("4", "GND", Role.GROUND, "", None),
    ("5", "AUX", Role.POWER, "", 12.0),
    ("6", "ID", Role.CONTROL, "", None),
    ("7", "Shell", Role.SCREEN, "", None),
    ("8", "EXTRA", Role.SINGLE, "", None),
    ("9", "SPARE", Role.UNKNOWN, "", None),
)

REFERENCE = Reference(
    connectors=MappingProxyType(
        {
            "bus-a": connector("bus-a", *BUS),
            "bus-b": connector("bus-b", *BUS),
            "usb-c-plug": connector(
                "usb-c-plug", ("A4", "VBUS", Role.POWER, "", 5.0), ("B5", "VCONN", Role.POWER, "", 5.0)
            ),
        }
    ),
    cables=(
        StandardCable(
            "bus",
            "Bus A to B",
            "bus-a",
            "bus-b",
            frozenset({("1", "1"), ("2", "2"), ("3", "3"), ("4", "4"), ("6", "8"), ("8", "6")}),
            frozenset(),
            "",
            "",
        ),
    ),
    colours=MappingProxyType({}),
    schemes=MappingProxyType({}),
    awg_ohms_per_m=MappingProxyType({24.0: 0.084219}),
)
"""An invented bus with two supplies, a pair, ground, and two signals that its standard cable crosses."""


def bus_cable(*nets: Net, **changes: Any) -> MapDocument:
    """A bus cable between ends A and B with these nets and, if none are passed as a change, no readings."""
    return MapDocument(
        **{
            "cable": CableName("Corvane (invented)", "B-9"),
            "ends": (End("A", "bus-a"), End("B", "bus-b")),
            "nets": nets,
            **changes,
        }
    )


def findings(document: MapDocument) -> tuple[Finding, ...]:
    return check(document, REFERENCE)


def found(document: MapDocument, code: str) -> tuple[Finding, ...]:
    """What one rule finds in the map."""
    return tuple(finding for finding in findings(document) if finding.code == code)


def only(document: MapDocument, code: str) -> Finding:
    """The one thing that a rule finds in the map; fails when it is not one."""
    (finding,) = found(document, code)
    return finding


def separations(*points: str, first: int = 100) -> tuple[Reading, ...]:
    """Over limit between any two of these points."""
    return tuple(over(f"s{first + place}", *pair) for place, pair in enumerate(combinations(points, 2)))
