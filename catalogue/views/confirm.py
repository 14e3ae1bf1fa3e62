"""Confirm a map with one's own readings, and see the hardware variants that everybody's readings come to."""

from http import HTTPStatus

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_http_methods, require_safe

from catalogue.core.confirming import Outcome, Verdict
from catalogue.core.problems import Problem
from catalogue.forms import ConfirmForm
from catalogue.usecases import cables, confirmations, maps
from catalogue.views.found import or_404
from catalogue.views.kept import forget, keep_and_sign_in, kept

PAGE = "cable/confirm.html"
SEND_GOOD_ROWS = "send-good-rows"
"""What the second button asks for, where some lines cannot be read."""


@require_http_methods(["GET", "HEAD", "POST"])
def confirm(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """Readings of another specimen, held against one revision of a map."""
    row, name = or_404(maps.map_of_cable, slug, number), f"confirm {slug} {number}"
    context = {
        "row": row,
        "cable": row.cable,
        "sample": confirmations.sample_of(row),
        "is_own": row.author_id == request.user.pk,
    }
    if request.method != "POST":
        waiting = kept(request, name)
        form = ConfirmForm.again(waiting) if waiting else ConfirmForm()
        return render(request, PAGE, context | {"form": form, "is_kept": waiting is not None})
    form = ConfirmForm.sent(request.POST, request.FILES)
    context["form"] = form
    if not form.is_valid():
        return render(request, PAGE, context, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    if not request.user.is_authenticated:
        return keep_and_sign_in(request, name, form.data)
    given, good_rows_only = form.cleaned_data, request.POST.get("act") == SEND_GOOD_ROWS
    note = given["note"].replace("\r\n", "\n")
    try:
        confirmation, _ = confirmations.confirm_with_text(
            request.user, row, form.given_text, form.meter(), note, good_rows_only
        )
    except Problem as problem:
        return render(request, PAGE, context | {"problem": problem}, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    forget(request, name)
    messages.success(request, f"Thank you. {_told(confirmations.verdict_of(confirmation))}")
    return redirect(f"{reverse('map', args=[slug, number])}#confirmations")


@gzip_page
@require_safe
def variants(request: HttpRequest, slug: str) -> HttpResponse:
    """The hardware variants of a cable side by side, and where they differ."""
    cable = or_404(cables.cable_by_slug, slug)
    return render(request, "cable/variants.html", {"cable": cable, "found": confirmations.variants_of(cable)})


def _told(verdict: Verdict) -> str:
    tested = f"Your readings tested {verdict.nets_tested} of {verdict.nets_total} nets"
    if verdict.outcome is Outcome.DIFFERS:
        return f"{tested}, and differ from the map; below is where. They are kept, and may show another variant."
    if verdict.outcome is Outcome.AGREES_IN_PART:
        return f"{tested}, and nothing differs. More readings would confirm the map."
    return f"{tested}, and confirm the map."
