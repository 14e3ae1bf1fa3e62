"""Review: the queue, one contribution with its decision, and what was decided lately, for everybody to read."""

from http import HTTPStatus

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from catalogue.core.problems import BadRequest, Conflict
from catalogue.core.reviewing import Kind, Standing
from catalogue.core.words import word
from catalogue.forms import ReviewForm
from catalogue.usecases import reviews
from catalogue.views.findings import grouped
from catalogue.views.found import or_404
from catalogue.views.signed_in import SignedIn

DECISIONS_SHOWN = 50


@require_safe
@login_required
def queue(request: SignedIn) -> HttpResponse:
    return render(request, "review/queue.html", {"queue": or_404(reviews.queue_for, request.user)})


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def contribution(request: SignedIn, kind: Kind, number: int) -> HttpResponse:
    """One contribution with all that was decided on it, and the form for another decision."""
    if request.method == "POST":
        return _decide(request, kind, number)
    found = or_404(reviews.reviewable, request.user, kind, number)
    return _page(request, found, ReviewForm(initial={"seen": found.seen}))


@require_safe
@login_required
def document(request: SignedIn, map_id: int) -> HttpResponse:
    """The document of a map, also of a withdrawn one, for reviewers and its author."""
    raw = or_404(reviews.document_for, request.user, map_id)
    response = HttpResponse(raw, content_type="application/json")
    response["Content-Disposition"] = f'attachment; filename="map-{map_id}.json"'
    return response


@require_safe
def decisions(request: HttpRequest) -> HttpResponse:
    return render(request, "review/decisions.html", {"decisions": reviews.recent_decisions()[:DECISIONS_SHOWN]})


def _decide(request: SignedIn, kind: Kind, number: int) -> HttpResponse:
    form, status = ReviewForm(request.POST), HTTPStatus.UNPROCESSABLE_ENTITY
    if form.is_valid():
        given = form.cleaned_data
        decision, reason = Standing(given["decision"]), given["reason"].replace("\r\n", "\n")
        account_page = request.build_absolute_uri(reverse("account"))
        try:
            or_404(reviews.decide, request.user, kind, number, decision, reason, given["seen"], account_page)
        except BadRequest as problem:
            form.take(problem)
        except Conflict as problem:
            form.add_error(None, problem.text)
            status = HTTPStatus.CONFLICT
        else:
            messages.success(request, f"Kept: the {word(kind)} is {word(decision)}.")
            return redirect("review")
    found = or_404(reviews.reviewable, request.user, kind, number)
    if status == HTTPStatus.CONFLICT:
        form.data = request.POST.copy()
        form.data["seen"] = str(found.seen)
    return _page(request, found, form, status)


def _page(request: HttpRequest, found: reviews.Reviewable, form: ReviewForm, status: int = 200) -> HttpResponse:
    context = {"found": found, "form": form, "findings": grouped(found.findings)}
    return render(request, "review/one.html", context, status=status)
