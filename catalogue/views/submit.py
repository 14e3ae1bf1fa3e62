"""Submit a map: check it as often as wanted, storing nothing; then submit it.

Whatever happens, what was written comes back: filled in again with what is to be said about it and where,
kept while its author signs in, and kept as a draft when it is refused.
"""

from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from catalogue.core.problems import BadDocument, Conflict, TooLarge, TooManyDrafts
from catalogue.forms import DocumentForm
from catalogue.usecases import drafts as stored_drafts
from catalogue.usecases import maps
from catalogue.usecases.submissions import submit_again
from catalogue.views.desks import Desk, again, blank, check, sent
from catalogue.views.findings import json_outcome
from catalogue.views.found import or_404
from catalogue.views.kept import forget, keep_and_sign_in, kept

FORM = "submit"
"""The name under which writing is kept while its author signs in."""

# What the buttons of the page ask for, beside submitting everything.
CHECK = "check"
SUBMIT_GOOD_ROWS = "submit-good-rows"
MORE_ENDS = "more-ends"
DISCARD = "discard"

MOST_DIGITS = 18
"""As many digits as the number of any draft can have."""


@gzip_page
@require_http_methods(["GET", "HEAD", "POST"])
def submit(request: HttpRequest) -> HttpResponse:
    """The page with both ways of writing a map down."""
    act = request.POST.get("act", CHECK)
    if request.method != "POST":
        waiting = kept(request, FORM)
        return _page(request, again(waiting) if waiting else {}, is_kept=waiting is not None)
    if act == DISCARD:
        forget(request, FORM)
        return redirect("submit")
    if act == MORE_ENDS:
        return _page(request, again(request.POST, request.FILES, more_ends=1))
    desk = sent(request.POST, request.FILES)
    if not desk.is_valid():
        return _page(request, desk.fields, status=HTTPStatus.UNPROCESSABLE_ENTITY, form_is_wrong=True)
    if act == CHECK:
        return _page(request, desk.fields, outcome=check(desk), unread=len(desk.unread_rows))
    if desk.unread_rows and act != SUBMIT_GOOD_ROWS:
        return _not_taken(request, desk, outcome=check(desk), unread=len(desk.unread_rows))
    return _submit(request, desk)


def _submit(request: HttpRequest, desk: Desk) -> HttpResponse:
    author = request.user
    if not author.is_authenticated:
        return keep_and_sign_in(request, FORM, desk.form.data)
    draft_id, version = request.POST.get("draft", ""), request.POST.get("draft_version", "")
    try:
        if draft_id.isdecimal() and version.isdecimal():
            submission = submit_again(author, int(draft_id[:MOST_DIGITS]), int(version[:MOST_DIGITS]), desk.raw)
        else:
            submission = maps.submit_map(author, desk.raw)
    except (BadDocument, Conflict) as problem:
        forget(request, FORM)
        newest = maps.drafts_of(author).first()
        return _not_taken(request, desk, outcome=desk.outcome(problem=problem), draft=newest)
    except TooLarge as problem:
        return _not_taken(request, desk, outcome=desk.outcome(problem=problem))
    except TooManyDrafts as problem:
        return _not_taken(request, desk, outcome=desk.outcome(problem.findings, problem))
    forget(request, FORM)
    if submission.map is None:
        return _not_taken(request, desk, outcome=desk.outcome(submission.findings), draft=submission.draft)
    if submission.is_new:
        messages.success(request, "Thank you. The map is stored, and everybody can read it now.")
    else:
        messages.info(request, "This very map is here already, so nothing new was stored. Here it is.")
    return redirect("map", submission.map.cable.slug, submission.map.number)


def _not_taken(request: HttpRequest, desk: Desk, **more: Any) -> HttpResponse:
    return _page(request, desk.fields, status=HTTPStatus.UNPROCESSABLE_ENTITY, submitted=True, **more)


def _page(request: HttpRequest, fields: dict[str, Any], status: int = HTTPStatus.OK, **more: Any) -> HttpResponse:
    draft = more.get("draft")
    named = {"draft_id": request.POST.get("draft", ""), "draft_version": request.POST.get("draft_version", "")}
    if draft:
        named = {"draft_id": draft.pk, "draft_version": draft.version}
    context = blank() | fields | more | named
    return render(request, "submit/submit.html", context, status=status)


@require_safe
def drafts(request: HttpRequest) -> HttpResponse:
    """The drafts of the person signed in."""
    if not request.user.is_authenticated:
        return redirect_to_login(request.path)
    return render(request, "submit/drafts.html", {"drafts": maps.drafts_of(request.user)})


@gzip_page
@require_safe
def draft(request: HttpRequest, draft_id: int) -> HttpResponse:
    """A refused text with what was said of it, to correct and submit again."""
    if not request.user.is_authenticated:
        return redirect_to_login(request.path)
    row = or_404(maps.draft_by_id, request.user, draft_id)
    said = json_outcome(row.text, maps.findings_of(row), maps.defects_of(row))
    context = {
        "draft": row,
        "draft_id": row.pk,
        "draft_version": row.version,
        "document_form": DocumentForm(initial={"text": row.text}),
        "outcome": said,
    }
    return render(request, "submit/draft.html", context)


@require_POST
def delete_draft(request: HttpRequest, draft_id: int) -> HttpResponse:
    """Delete one of one's own drafts for good."""
    if not request.user.is_authenticated:
        return redirect_to_login(reverse("drafts"))
    or_404(stored_drafts.delete_draft, request.user, draft_id)
    messages.success(request, "The draft is deleted.")
    return redirect("drafts")
