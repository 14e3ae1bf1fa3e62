"""Report a failure: what failed on one specimen, where, how it showed, what was tried and how it ended."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from catalogue.core.problems import BadRequest
from catalogue.forms import ReportForm
from catalogue.usecases import cables, failures, maps
from catalogue.usecases.failures import Outcome
from catalogue.views.found import or_404
from catalogue.views.kept import forget, keep_and_sign_in, kept
from catalogue.views.strip import strips

ANSWERS = {
    Outcome.STORED: "Thank you. Your report is stored; the next owner starts where you ended.",
    Outcome.TOLD_ANEW: "Thank you. Your report now says this; what it said before is kept below it.",
    Outcome.KNOWN: "Thank you. Nothing more was stored, because this event is told already.",
}


@require_http_methods(["GET", "HEAD", "POST"])
def report(request: HttpRequest, slug: str) -> HttpResponse:
    """The form, and what becomes of it. Where the event may be told already, that is asked before it is stored."""
    cable = or_404(cables.cable_by_slug, slug)
    if cable.latest is None:
        return render(request, "report.html", {"cable": cable})
    document, name = maps.wiring_of(cable.latest), f"report {slug}"
    points = failures.points_of(cable)
    context: dict[str, Any] = {"cable": cable, "strips": strips(document.sections, points, even_without_points=True)}
    if request.method != "POST":
        waiting = kept(request, name)
        context["anew"] = _own(request, cable, (waiting or request.GET).get("event", ""))
        if waiting:
            form = ReportForm.again(waiting, document, points)
        elif context["anew"]:
            form = ReportForm.telling(failures.failure_of(context["anew"]), document, points)
        else:
            form = ReportForm(document=document, points=points)
        return render(request, "report.html", context | {"form": form, "is_kept": waiting is not None})
    context["anew"] = _own(request, cable, request.POST.get("event", ""))
    form = ReportForm(request.POST, document=document, points=points)
    status = HTTPStatus.UNPROCESSABLE_ENTITY
    if form.is_valid():
        if not request.user.is_authenticated:
            return keep_and_sign_in(request, name, request.POST)
        try:
            sent = failures.send_report(request.user, cable, form.failure(), request.POST.get("event", ""))
        except BadRequest as problem:
            form.take(problem)
        else:
            if sent.outcome in ANSWERS:
                forget(request, name)
                messages.success(request, ANSWERS[sent.outcome])
                return redirect("cable", slug)
            context["alike"], status = sent.alike, HTTPStatus.CONFLICT
    return render(request, "report.html", context | {"form": form}, status=status)


def _own(request: HttpRequest, cable: Any, event: str) -> Any:
    """The report that the person is telling anew, or None."""
    return failures.own_report(request.user, cable, event) if request.user.is_authenticated else None
