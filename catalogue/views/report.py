"""Report a failure: what failed on one specimen, where, how it showed, what was tried and how it ended."""

from http import HTTPStatus

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from catalogue.core.problems import BadRequest
from catalogue.forms import ReportForm
from catalogue.usecases import cables, failures, maps
from catalogue.views.found import or_404
from catalogue.views.kept import forget, keep_and_sign_in, kept


@require_http_methods(["GET", "HEAD", "POST"])
def report(request: HttpRequest, slug: str) -> HttpResponse:
    cable = or_404(cables.cable_by_slug, slug)
    if cable.latest is None:
        return render(request, "report.html", {"cable": cable})
    document, name = maps.wiring_of(cable.latest), f"report {slug}"
    if request.method != "POST":
        waiting = kept(request, name)
        form = ReportForm.again(waiting, document) if waiting else ReportForm(document=document)
        return render(request, "report.html", {"cable": cable, "form": form, "is_kept": waiting is not None})
    form = ReportForm(request.POST, document=document)
    if form.is_valid():
        if not request.user.is_authenticated:
            return keep_and_sign_in(request, name, request.POST)
        try:
            failures.report_failure(request.user, cable, form.failure())
        except BadRequest as problem:
            form.take(problem)
        else:
            forget(request, name)
            messages.success(request, "Thank you. Your report is stored; the next owner starts where you ended.")
            return redirect("cable", slug)
    context = {"cable": cable, "form": form}
    return render(request, "report.html", context, status=HTTPStatus.UNPROCESSABLE_ENTITY)
