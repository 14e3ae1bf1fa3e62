"""Dead cables on a bench that does not exist: what their lanes are is known here, and hidden from who reads them.

All have the same map: a supply, a ground and four lanes of which nobody knows what they ride on. `lanes_open` is
what each of them shows first; the further readings differ, because the cables do.
"""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum

from numpy.random import Generator

from catalogue.core.diagnosis.evidence import Evidence
from catalogue.core.diagnosis.expectation import expected
from catalogue.core.diagnosis.verdicts import Diagnosis, diagnose
from catalogue.core.document import (
    Basis,
    CableName,
    End,
    MapDocument,
    Mark,
    MarkKind,
    Mode,
    Net,
    Path,
    Reading,
    Result,
    Role,
    Section,
    Via,
)
from catalogue.core.failures import Failure
from catalogue.core.rules.context import Context
from catalogue.tables import reference, weights
from tests.core.rules.maps import diode, ohms, over

LANES = ("T1", "T2", "T3", "T4")
LENGTH_M = 3.0
KINK_M = 1.1


class Truth(StrEnum):
    FIBRE = "fibre"
    KINK = "kink"


def hidden_lanes(*readings: Reading, kinked: bool = False) -> MapDocument:
    """A supply and a ground of copper, four lanes through something that nobody knows; maybe a kink to be seen."""
    return MapDocument(
        cable=CableName("Corvane (invented)", "H-4"),
        ends=(
            End("L", "custom", rows=(("1", "2", "3", "4", "5", "6"),)),
            End("R", "custom", rows=(("1", "2", "3", "4", "5", "6"),)),
        ),
        sections=(Section("main", "L", "R", LENGTH_M),),
        nets=(Net("V", ("L:1", "R:1"), Role.POWER, 5.0), Net("G", ("L:2", "R:2"), Role.GROUND)),
        paths=tuple(
            Path(name, Via.UNKNOWN, f"L:{number}", f"R:{number}", Basis.GUESSED) for number, name in enumerate(LANES, 3)
        ),
        marks=(Mark(MarkKind.KINK, "main", KINK_M),) if kinked else (),
        readings=readings,
    )


def lanes_open() -> tuple[Reading, ...]:
    """Supply and ground read through, apart from each other; each lane reads over limit from end to end."""
    through = (ohms("v", "L:1", "R:1", 0.6), ohms("g", "L:2", "R:2", 0.6), over("vg", "L:1", "L:2"))
    return (*through, *(over(f"lane{number}", f"L:{number}", f"R:{number}") for number in range(3, 7)))


def further_readings(truth: Truth, evidence: Evidence, rng: Generator) -> tuple[Reading, ...]:
    """What a meter shows when one of the harmless tests is done on the lane at contacts 3.

    A driver of light has junctions of 0.5 to 0.7 V to ground at both ends, and some picofarads. The stubs of broken
    copper have 45 to 65 pF for each metre (the span of the table of dielectrics for USB 2.0 pairs), no junction,
    and may touch as they are bent.
    """
    copper = truth is Truth.KINK
    match evidence:
        case Evidence.JUNCTION_TO_GROUND:
            volts = [None if copper else float(rng.uniform(0.5, 0.7)) for _ in "LR"]
            return diode("d1", "L:2", "L:3", volts[0]), diode("d2", "R:2", "R:3", volts[1])
        case Evidence.CAPACITANCE_OF_LENGTH:
            per_m = float(rng.uniform(45e-12, 65e-12))
            stubs = (KINK_M, LENGTH_M - KINK_M)
            near, far = (per_m * stub if copper else float(rng.uniform(4e-12, 12e-12)) for stub in stubs)
            return farads("c1", "L:3", "L:2", near), farads("c2", "R:3", "R:2", far)
        case Evidence.COMES_AND_GOES:
            if copper and rng.random() < 0.5:
                return (ohms("f1", "L:3", "R:3", 1.1, flexed=True),)
            return (over("f1", "L:3", "R:3", flexed=True),)
        case Evidence.CAPACITOR_BETWEEN_ENDS:
            return (farads("n1", "L:3", "R:3", float(rng.uniform(1e-12, 9e-12))),)
        case _:
            raise ValueError(f"no meter reads {evidence}")


def farads(id: str, red: str, black: str, value: float) -> Reading:
    return Reading(id, Mode.FARADS, red, (black,), Result.VALUE, value)


def diagnosed(
    document: MapDocument,
    looks: dict[Evidence, bool] | None = None,
    failures: tuple[Failure, ...] = (),
    cannot: Collection[Evidence] = (),
) -> Diagnosis:
    specimen = expected(document, reference())
    context = Context(specimen.document, reference())
    return diagnose(context, weights(), looks or {}, failures, specimen.leading, cannot)
