"""Where a break is: answer a question of observations, with what the catalogue knows of the cable."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from catalogue.core.document import Mark
from catalogue.core.failures import FailureKind
from catalogue.core.location.locate import Location, NoPlaceLeft, locate
from catalogue.core.location.observations import Opened
from catalogue.core.location.prior import Prior
from catalogue.core.location.ways import Way
from catalogue.core.problems import BadRequest, Defect
from catalogue.exchange.fault_locations import Question, location_json, parse_question, read_question
from catalogue.models import Cable
from catalogue.usecases.cables import cable_by_slug
from catalogue.usecases.failures import failures_as_values
from catalogue.usecases.maps import wiring_of
from catalogue.usecases.sizes import refuse_too_large

IN_A_CONDUCTOR = frozenset(
    {FailureKind.CORE_OPEN, FailureKind.CORE_SHORT, FailureKind.HIGH_RESISTANCE, FailureKind.INTERMITTENT}
)
"""Kinds of reported failures that tell where conductors break."""


@dataclass(frozen=True)
class Answer:
    question: Question
    location: Location


def answer_json(answer: Answer) -> dict[str, Any]:
    """The answer as JSON values, in the shape that the API gives."""
    return location_json(answer.question, answer.location)


def locate_fault(raw: bytes) -> Answer:
    """The answer to a question in JSON.

    Raises BadDocument, BadRequest with a pointer for each defect, TooLarge, or NotFound for the cable.
    """
    refuse_too_large(raw, "The question")
    question = parse_question(raw)
    return _answered(question, _reports_m(question))


def locate_on_way(
    cable: Cable, way: Way, observations: Sequence[Mapping[str, object]], marks: Iterable[Mark] = ()
) -> Answer:
    """Where the break is along a way through the sections of a cable.

    `observations` are as in a question in JSON, in metres from the way's near end; of the marks only those on the way
    count, and of the failures that the catalogue knows likewise. Raises BadRequest as `locate_fault` does.
    """
    placed = ((mark.kind, way.along_m(mark.section, mark.at_m)) for mark in marks)
    on_way = [{"kind": kind.value, "at_m": at_m} for kind, at_m in placed if at_m is not None]
    question = read_question({"length_m": way.length_m, "observations": list(observations), "marks": on_way})
    reported = (way.along_m(section, at_m) for section, at_m in _breaks_of(cable))
    return _answered(question, tuple(at_m for at_m in reported if at_m is not None))


def _answered(question: Question, reports_m: tuple[float, ...]) -> Answer:
    prior = Prior(question.length_m, question.marks, reports_m)
    try:
        return Answer(question, locate(question.observations, prior))
    except NoPlaceLeft as problem:
        raise BadRequest("No place is left where the break could be.", _contradictions(question, problem)) from None


def _reports_m(question: Question) -> tuple[float, ...]:
    """Where others found breaks in the section that the question names, in metres from its start."""
    if not question.cable:
        return ()
    cable = cable_by_slug(question.cable)
    sections = [section.name for section in wiring_of(cable.latest).sections] if cable.latest else []
    if question.section not in sections:
        known = ", ".join(sections) or "none"
        raise BadRequest(
            "The question does not fit the cable.",
            [Defect("/section", f"This cable has no section {question.section!r}.", f"It has: {known}.")],
        )
    return tuple(at_m for section, at_m in _breaks_of(cable) if section == question.section)


def _breaks_of(cable: Cable) -> Iterator[tuple[str, float]]:
    """Where others found conductors of this cable broken: section, and metres from its start."""
    for failure in failures_as_values(cable):
        if failure.section and failure.at_m is not None and failure.kind in IN_A_CONDUCTOR:
            yield failure.section, failure.at_m


def _contradictions(question: Question, problem: NoPlaceLeft) -> list[Defect]:
    """One defect for each opening that takes part."""
    openings = {number for number, each in enumerate(question.observations) if isinstance(each, Opened)}
    named = {number for each in problem.disagreements for number in (each.one, each.other)} & openings
    return [
        Defect(
            f"/observations/{number}",
            "With the other openings, this one leaves no place for a break.",
            "Read again there towards both ends, and correct what is not so; or there are two breaks.",
        )
        for number in sorted(named or openings)
    ]
