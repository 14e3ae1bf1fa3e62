"""What to do about a dead cable: options from prices, hours and chances, with what the catalogue knows of both.

A chance that is not stated is worked out from the outcomes that reports tell of; how it came about goes along with
the answer. A cable or map that is named adds what to keep when building it anew. Nothing is stored.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Count, QuerySet

from catalogue import tables
from catalogue.core.building import Build, BuildingAdvice, Facts, building_advice
from catalogue.core.cautions import CAUTIONS, Caution
from catalogue.core.chances import Chance
from catalogue.core.decision import Attempt, Decision, Stakes, decide
from catalogue.core.document import MapDocument, Role
from catalogue.core.failures import Ending, FailureKind, Remedy
from catalogue.core.outcomes import (
    NO_OUTCOMES,
    Option,
    Outcomes,
    Prior,
    Told,
    chance_of_success,
    outcomes_of,
    prior_of,
)
from catalogue.core.problems import BadRequest, Defect
from catalogue.core.reference import Limit
from catalogue.core.wire_list import WireRow, wire_list
from catalogue.exchange.violations import pointer
from catalogue.models import Cable, FailureReport
from catalogue.usecases.cables import cable_by_slug
from catalogue.usecases.maps import map_by_id, wiring_of

MOST_TOLD = 20
"""Supplies told that a map does not have; with each goes the list of those it has."""

HANDWORK = frozenset({Option.MEND, Option.BUILD})

SPOKEN = {
    Option.MEND: "mending it",
    Option.BUILD: "building one",
    Option.BUY_USED: "buying a used one",
    Option.BUY_NEW: "buying a new one",
    Option.STOP: "stopping",
}

ASSUMPTIONS = (
    "Each attempt costs its price and its hours whether it succeeds or not.",
    "Attempts succeed or fail independently of each other, and are made one after the other until one succeeds.",
    "Reported outcomes are those of people who cared to report; what they tell counts as if it were of everybody.",
    "Outcomes on other cables count for a few trials at most, and priors are judgement.",
    "For the hours after which to stop: if it can be done at all, each hour is as likely as any to be the one.",
)

EXTRA_LOW_IF_DIRECT = "selv-equipment-dc"
EXTRA_LOW_IF_ALTERNATING = "selv-equipment-ac-peak"


@dataclass(frozen=True, slots=True)
class Way:
    """What is said of one option: money, hours, and a chance, or outcomes that the asker knows of, or neither."""

    price: float
    hours: float
    chance: float | None = None
    outcomes: Outcomes | None = None


@dataclass(frozen=True)
class Question:
    """What is asked. `cable` is a slug and `map_id` a map, of which at most one is given."""

    stakes: Stakes
    ways: Mapping[Option, Way]
    build: Build
    cable: str = ""
    map_id: int | None = None
    failure: FailureKind | None = None
    volts: float | None = None


@dataclass(frozen=True, slots=True)
class Grounds:
    """What a chance rests on. A stated chance has no prior and no outcomes."""

    chance: Chance
    prior: Prior | None = None
    here: Outcomes = NO_OUTCOMES
    elsewhere: Outcomes = NO_OUTCOMES


@dataclass(frozen=True, slots=True)
class Warned:
    code: str
    text: str
    source: str = ""


@dataclass(frozen=True)
class Answer:
    """`building` and `wires` are there when a cable or map was named that has a map. `licensed_only` are options
    that are for licensed people at this cable's volts."""

    decision: Decision
    verdict: str
    grounds: Mapping[Option, Grounds]
    licensed_only: frozenset[Option]
    cautions: tuple[Warned, ...]
    building: BuildingAdvice | None = None
    wires: tuple[WireRow, ...] = ()


def answer(question: Question) -> Answer:
    """Rank the options that the question names, and stopping.

    Raises NotFound for the cable or map, BadRequest when the question does not fit the cable's map.
    """
    cable, document = _looked_up(question)
    _check_loads(question.build, document)
    grounds = {option: _grounds(option, way, cable, question.failure) for option, way in question.ways.items()}
    attempts = [Attempt(option, way.price, way.hours, grounds[option].chance) for option, way in question.ways.items()]
    decision = decide(attempts, question.stakes)
    volts = _highest_volts(question.volts, document)
    limits = tables.limits()
    handwork = HANDWORK & set(question.ways)
    licensed_only = frozenset(handwork if volts > limits[EXTRA_LOW_IF_DIRECT].value else ())
    return Answer(
        decision=decision,
        verdict=_verdict(decision, licensed_only),
        grounds=grounds,
        licensed_only=licensed_only,
        cautions=tuple(_cautions(handwork, volts, limits)),
        building=building(document, question.build) if document else None,
        wires=wire_list(document) if document else (),
    )


def _looked_up(question: Question) -> tuple[Cable | None, MapDocument | None]:
    if question.map_id is not None:
        row = map_by_id(question.map_id)
        return row.cable, wiring_of(row)
    if question.cable:
        cable = cable_by_slug(question.cable)
        return cable, wiring_of(cable.latest) if cable.latest else None
    return None, None


def _check_loads(build: Build, document: MapDocument | None) -> None:
    if not build.loads:
        return
    if document is None:
        defect = Defect(
            "/building/supplies", "No map says where these supplies run.", "Name a cable or a map that has them."
        )
        raise BadRequest("Currents were told without a map.", [defect])
    supplies = [net.name for net in document.nets if net.role is Role.POWER]
    known = ", ".join(supplies) or "none"
    unknown = [name for name in build.loads if name not in supplies]
    if unknown:
        raise BadRequest(
            "The question does not fit the cable's map.",
            [
                Defect(
                    pointer(("building", "supplies", name)),
                    f"This map has no supply {name!r}.",
                    f"Its supplies are: {known}.",
                )
                for name in unknown[:MOST_TOLD]
            ],
        )


def _grounds(option: Option, way: Way, cable: Cable | None, kind: FailureKind | None) -> Grounds:
    if way.chance is not None:
        return Grounds(Chance(way.chance))
    prior = prior_of(option, kind)
    if way.outcomes is not None:
        here, elsewhere = way.outcomes, NO_OUTCOMES
    else:
        here, elsewhere = _reported(option, cable, kind)
    return Grounds(chance_of_success(prior, here, elsewhere), prior, here, elsewhere)


def _reported(option: Option, cable: Cable | None, kind: FailureKind | None) -> tuple[Outcomes, Outcomes]:
    """Outcomes on this cable, and on all others for a mend of one kind of failure.

    How building goes does not depend on what failed in the old cable, and of another cable tells little.
    """
    if option not in HANDWORK:
        return NO_OUTCOMES, NO_OUTCOMES
    reports = FailureReport.objects.shown()
    if option is Option.MEND and kind is not None:
        reports = reports.filter(kind=kind)
        others = reports.exclude(cable=cable) if cable else reports
        elsewhere = outcomes_of(option, _told(others))
    else:
        elsewhere = NO_OUTCOMES
    here = outcomes_of(option, _told(reports.filter(cable=cable))) if cable else NO_OUTCOMES
    return here, elsewhere


def _told(reports: QuerySet[FailureReport]) -> Iterable[Told]:
    """The reports counted by how they ended and what was tried; the store counts, whatever their number."""
    for group in reports.order_by().values("ending", "tried").annotate(count=Count("pk")):
        yield Told(Ending(group["ending"]), frozenset(Remedy(remedy) for remedy in group["tried"]), group["count"])


def building(document: MapDocument, build: Build) -> BuildingAdvice:
    """What to keep when building the cable of a map anew."""
    facts = Facts(tables.wires(), tables.limits(), tables.pair_impedances())
    return building_advice(document, tables.reference(), facts, build)


def _highest_volts(said: float | None, document: MapDocument | None) -> float:
    mapped = [abs(net.volts) for net in document.nets if net.volts is not None] if document else []
    return max([abs(said or 0.0), *mapped])


def _cautions(handwork: Iterable[Option], volts: float, limits: Mapping[str, Limit]) -> Iterable[Warned]:
    direct, alternating = limits[EXTRA_LOW_IF_DIRECT], limits[EXTRA_LOW_IF_ALTERNATING]
    if volts > direct.value:
        text = f"This cable carries {volts:g} V, which is above extra-low voltage ({direct.value:g} V direct). "
        yield Warned("above-extra-low-voltage", text + "Mending and building it is for licensed people.", direct.source)
    elif volts > alternating.value:
        text = f"This cable carries {volts:g} V: if that alternates, it is above extra-low voltage "
        text += f"({alternating.value:g} V at its peak), and mending and building it is for licensed people."
        yield Warned("perhaps-above-extra-low-voltage", text, alternating.source)
    if handwork:
        yield Warned(Caution.OPENING, CAUTIONS[Caution.OPENING])
        yield Warned(Caution.POWERING, CAUTIONS[Caution.POWERING])


def _verdict(decision: Decision, licensed_only: frozenset[Option]) -> str:
    first = decision.ranked[0]
    if first.option is Option.STOP:
        said = "Stop: no way to a working cable is worth what it is expected to cost."
    else:
        said = f"Begin with {SPOKEN[first.option]}"
        said += "".join(f"; if that fails, go on with {SPOKEN[option]}" for option in first.then) + "."
    if decision.close:
        others = " or ".join(SPOKEN[option] for option in decision.close)
        said += f" What is known cannot tell this from beginning with {others}."
    if first.option in licensed_only:
        said += " At these volts that is work for licensed people, at their price."
    return said
