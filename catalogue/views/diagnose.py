"""Diagnose a dead cable by its map: readings first, then why, where, what to do, and the proof before power.

Nothing is stored and no account is needed: every answer carries the form with all that was typed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from http import HTTPStatus
from itertools import islice

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import mark_safe
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_http_methods

from catalogue.core.building import Build
from catalogue.core.diagnosis.explanations import REPORTED_AS
from catalogue.core.diagnosis.states import DEAD
from catalogue.core.document import end_of
from catalogue.core.failures import FailureKind
from catalogue.core.location.ways import Way
from catalogue.core.powering import Outcome
from catalogue.core.problems import BadRequest, DrawingUnavailable
from catalogue.usecases import cables, decisions, diagnoses, drawings, fault_locations, maps
from catalogue.usecases.diagnoses import Answer
from catalogue.usecases.guides import Guide, guide_of
from catalogue.usecases.submissions import readings_of
from catalogue.views import diagnosed
from catalogue.views.cable import ShownChart
from catalogue.views.diagnose_forms import OPENED
from catalogue.views.found import or_404
from catalogue.views.worksheet import Worksheet

# What the buttons of the page ask for, beside working everything out.
MORE_ROWS = "more-rows"
PROVE = "prove"
SAVE = "save-"

PROPOSED = 40
"""Rows with readings still to take that are put into the form at once."""

FEW_ROWS, MANY_ROWS = 3, 12


@dataclass(frozen=True)
class Located:
    """The break by what was measured: for the fault chart, and in words."""

    drawn: drawings.Break
    place: diagnosed.Place


@gzip_page
@require_http_methods(["GET", "HEAD", "POST"])
def diagnose(request: HttpRequest, slug: str) -> HttpResponse:
    """The page, with whatever can be told of the readings in it."""
    cable = or_404(cables.cable_by_slug, slug)
    if cable.latest is None:
        return render(request, "cable/unmapped.html", {"cable": cable})
    guide = guide_of(cable, cable.latest)
    sheet = _sent(request, guide)
    answer = _answer(guide, sheet)
    if answer is None:
        told = {"sheet": sheet, "rows": sheet.rows, "seen": sheet.seen} | _looks_beside(sheet, ())
        return _page(request, guide, told, is_wrong=True)
    located = _located(guide, sheet, answer)
    act = request.POST.get("act", "")
    if act.startswith(SAVE) and (file := _file(guide, answer, located, act.removeprefix(SAVE))):
        return file
    told = _told(guide, sheet, answer, located) | {"sheet": sheet} | _form(sheet, answer, act)
    return _page(request, guide, told, is_wrong=bool(sheet.place.errors or sheet.worth.errors))


def _sent(request: HttpRequest, guide: Guide) -> Worksheet:
    """What was filled in; on a first visit nothing, or what is known of the specimen that a revision is of."""
    if request.method == "POST":
        return Worksheet.sent(guide.document, request.POST, request.FILES)
    number = request.GET.get("readings", "")
    if not (number.isascii() and number.isdecimal() and len(number) <= 6):
        return Worksheet.blank(guide.document)
    row = or_404(maps.map_of_cable, guide.cable.slug, int(number))
    document = maps.document_of(row)
    marks = [{"what": mark.kind.value, "section": mark.section, "at_m": mark.at_m} for mark in document.marks]
    openings = [{"what": OPENED, "section": each.section, "at_m": each.at_m} for each in document.openings]
    return Worksheet.blank(guide.document, readings_of(row), (*marks, *openings))


def _answer(guide: Guide, sheet: Worksheet) -> Answer | None:
    """The diagnosis; None where something cannot be read or does not fit the cable, which is then told in the form."""
    if not sheet.is_valid():
        return None
    specimen = sheet.specimen()
    try:
        return diagnoses.diagnose_by_map(guide.row, specimen, sheet.looks.looks(), sheet.looks.set_aside())
    except BadRequest as problem:
        ids = {f"/readings/{place}": reading.id for place, reading in enumerate(specimen.readings)}
        sheet.take(replace(defect, where=ids.get(defect.where, "")) for defect in problem.defects)
        return None


def _located(guide: Guide, sheet: Worksheet, answer: Answer) -> Located | None:
    """Where the break is, on the way that was chosen or that the first dead net takes; None where there is neither."""
    if not sheet.place.is_valid():
        return None
    way = sheet.place.chosen() or _way_of_the_dead(sheet, answer)
    if way is None:
        return None
    measured = sheet.place.measured(way)
    observations = [*(each.sent for each in measured), *sheet.along(way)]
    try:
        found = fault_locations.locate_on_way(guide.cable, way, observations, answer.specimen.marks)
    except BadRequest as problem:
        sheet.place.take(problem, measured)
        return None
    drawn = diagnosed.break_of(way, found, answer.diagnosis.may_open)
    return Located(drawn, diagnosed.place(drawn, found))


def _way_of_the_dead(sheet: Worksheet, answer: Answer) -> Way | None:
    """The way between two ends of the first dead net, where all of it was measured."""
    for rail in answer.diagnosis.rails:
        ends = {end_of(contact) for contact in rail.contacts}
        if rail.state in DEAD or rail.intermittent:
            found = (way for way in sheet.place.ways.values() if {way.near, way.far} <= ends)
            if way := next(found, None):
                return way
    return None


def _told(guide: Guide, sheet: Worksheet, answer: Answer, located: Located | None) -> dict[str, object]:
    """Everything that the page tells of the specimen."""
    diagnosis, powering = answer.diagnosis, answer.powering
    tests = diagnosed.tests(diagnosis, sheet.looks)
    place = located.place if located else None
    return {
        "has_readings": bool(answer.specimen.readings),
        "diagnosis": diagnosis,
        "disputed": answer.disputed,
        "states": diagnosed.states(diagnosis),
        "unread": [rail for rail in diagnosis.rails if rail.to_read],
        "groups": diagnosed.explained(diagnosis),
        "tests": tests,
        "test_cautions": diagnosed.cautions(tests),
        **_looks_beside(sheet, tests),
        "is_sound": diagnosed.is_sound(diagnosis),
        "is_hopeless": diagnosed.is_hopeless(diagnosis),
        "next_step": diagnosed.next_step(answer, tests, place),
        "place": place,
        "fault": _fault_chart(guide, answer, located),
        "powering": powering,
        "failed": diagnosed.checks(powering, Outcome.FAILED),
        "missing": diagnosed.checks(powering, Outcome.MISSING),
        "proved": diagnosed.checks(powering, Outcome.PROVED),
        "missing_count": len(powering.with_outcome(Outcome.MISSING)),
        **_decided(guide, sheet, answer),
    }


def _looks_beside(sheet: Worksheet, tests: Sequence[diagnosed.TestLine]) -> dict[str, object]:
    """The questions and boxes of the form that stand at none of the tests."""
    asked = {line.test.evidence.value for line in tests}
    questions = [field for field in sheet.looks.questions if field.name not in asked]
    boxes = [box for box in sheet.looks.boxes if box.data["value"] not in asked]
    is_used = any(field.value() for field in questions) or any(box.data["selected"] for box in boxes)
    return {"questions": questions, "boxes": boxes, "is_seen": is_used}


def _decided(guide: Guide, sheet: Worksheet, answer: Answer) -> Mapping[str, object]:
    """What to do, as far as prices are told; what to keep when building is there without any."""
    if not sheet.worth.is_valid():
        return {"building": decisions.building(guide.document, Build({}))}
    told: dict[str, object] = {"building": decisions.building(guide.document, sheet.worth.build())}
    question = sheet.worth.question(guide.cable.slug, _failure(answer))
    if question:
        decision = decisions.answer(question)
        told |= {
            "decision": decision,
            "courses": diagnosed.courses(decision),
            "turns": diagnosed.turns(decision),
        }
    return told


def _failure(answer: Answer) -> FailureKind | None:
    """The kind of failure whose outcomes count, where the diagnosis tells one."""
    told = answer.diagnosis.verdict.explanation
    return REPORTED_AS.get(told) if told else None


def _form(sheet: Worksheet, answer: Answer, act: str) -> dict[str, object]:
    """The rows to fill in next: what was typed, then what is still to be read."""
    to_read = [pair for rail in answer.diagnosis.rails for pair in rail.to_read]
    proposed = to_read[:PROPOSED]
    if act == PROVE:
        proposed += islice(diagnosed.pairs_to_prove(answer.powering), PROPOSED)
    return {
        "rows": sheet.with_rows(proposed, MANY_ROWS if act == MORE_ROWS else FEW_ROWS),
        "seen": sheet.with_seen(),
        "more_to_read": len(to_read[PROPOSED:]),
    }


def _fault_chart(guide: Guide, answer: Answer, located: Located | None) -> ShownChart:
    try:
        markup = drawings.inline_fault(guide.row, answer, located.drawn if located else None)
    except DrawingUnavailable as problem:
        return ShownChart("", problem.text)
    return ShownChart(mark_safe(markup), "")


def _file(guide: Guide, answer: Answer, located: Located | None, name: str) -> HttpResponse | None:
    """The fault chart to keep; None where it cannot be drawn, which the page then tells."""
    if name not in set(drawings.Format):
        return None
    form = drawings.Format(name)
    try:
        drawn = drawings.fault_drawing(guide.row, answer, located.drawn if located else None, form)
    except DrawingUnavailable:
        return None
    response = HttpResponse(drawn, content_type=form.media_type)
    response["Content-Disposition"] = f'attachment; filename="{guide.cable.slug}-fault.{form}"'
    return response


def _page(request: HttpRequest, guide: Guide, told: Mapping[str, object], is_wrong: bool) -> HttpResponse:
    context = {
        "cable": guide.cable,
        "row": guide.row,
        "guide": guide,
        "is_wrong": is_wrong,
        "net_of": guide.document.net_of_contact,
        "revisions": cables.revisions_of(guide.cable),
        **told,
    }
    status = HTTPStatus.UNPROCESSABLE_ENTITY if is_wrong else HTTPStatus.OK
    return render(request, "diagnose/diagnose.html", context, status=status)
