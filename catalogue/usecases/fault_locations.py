"""Where a break is: answer a question of observations, with what the catalogue knows of the cable."""

from dataclasses import dataclass
from typing import Any

from django.conf import settings

from catalogue.core.failures import FailureKind
from catalogue.core.location.locate import Location, NoPlaceLeft, locate
from catalogue.core.location.observations import Opened
from catalogue.core.location.prior import Prior
from catalogue.core.problems import BadRequest, Defect, TooLarge
from catalogue.exchange.fault_locations import Question, location_json, parse_question
from catalogue.usecases.cables import cable_by_slug
from catalogue.usecases.failures import failures_as_values
from catalogue.usecases.maps import wiring_of

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
    if len(raw) > settings.DOCUMENT_BYTES:
        raise TooLarge(f"The question has {len(raw):,} bytes; at most {settings.DOCUMENT_BYTES:,} are read.")
    question = parse_question(raw)
    prior = Prior(question.length_m, question.marks, _reports_m(question))
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
    return tuple(
        failure.at_m
        for failure in failures_as_values(cable)
        if failure.section == question.section and failure.at_m is not None and failure.kind in IN_A_CONDUCTOR
    )


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
