"""One's own account: what is there, tokens for programs, all of it as a file, and removal.

Signing up and in, and changing address and password, are views of the library for accounts.
"""

from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from catalogue.core.problems import BadRequest, NotAllowed
from catalogue.forms import MailsForm, NotedForm, RemovalForm, TokenForm
from catalogue.usecases import accounts, notices, people
from catalogue.views.found import or_404
from catalogue.views.signed_in import SignedIn


@require_safe
@login_required
def account(request: SignedIn) -> HttpResponse:
    return _page(request, {"token_form": TokenForm()})


@require_POST
@login_required
def note_decisions(request: SignedIn) -> HttpResponse:
    """Take the decisions that the page showed off it."""
    form = NotedForm(request.POST)
    if form.is_valid():
        notices.note_decisions(request.user, form.cleaned_data["last"])
        messages.success(request, "Noted. What was decided stands with each of your contributions.")
    return redirect("account")


@require_POST
@login_required
def choose_mail(request: SignedIn) -> HttpResponse:
    form = MailsForm(request.POST)
    form.full_clean()
    notices.choose_mail(request.user, form.cleaned_data["wants_mail"])
    comes = "comes by mail too" if form.cleaned_data["wants_mail"] else "comes by no mail; this page still tells you"
    messages.success(request, f"Kept: what reviewers decide {comes}.")
    return redirect("account")


@require_POST
@login_required
@never_cache
def new_token(request: SignedIn) -> HttpResponse:
    """A new token, on the page that answers and nowhere else."""
    form = TokenForm(request.POST)
    if not form.is_valid():
        return _page(request, {"token_form": form}, HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        token = people.token_of(request.user, form.cleaned_data["name"], form.cleaned_data["days"])
    except NotAllowed as problem:
        form.add_error(None, problem.text)
        return _page(request, {"token_form": form}, HTTPStatus.FORBIDDEN)
    return render(request, "account/new_token.html", {"token": token, "name": form.cleaned_data["name"]})


@require_POST
@login_required
def revoke_token(request: SignedIn, key: str) -> HttpResponse:
    or_404(people.revoke_token, request.user, key)
    messages.success(request, "The token is revoked: what carries it is let in no more.")
    return redirect("account")


@require_safe
@login_required
@never_cache
def own_data(request: SignedIn) -> HttpResponse:
    """Everything kept about the person, as one JSON file."""
    response = JsonResponse(accounts.own_data(request.user), json_dumps_params={"indent": 1, "ensure_ascii": False})
    response["Content-Disposition"] = 'attachment; filename="corelore-own-data.json"'
    return response


@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def remove(request: SignedIn) -> HttpResponse:
    """What removal takes and leaves; and with the password, the removal."""
    form = RemovalForm(request.POST or None)
    if form.is_valid():
        try:
            accounts.remove_account(request.user, form.cleaned_data["password"])
        except BadRequest as problem:
            form.take(problem)
        else:
            logout(request)
            messages.success(request, "Your account is removed. Thank you for what you contributed.")
            return redirect("start")
    status = HTTPStatus.UNPROCESSABLE_ENTITY if form.errors else HTTPStatus.OK
    found = accounts.account_of(request.user)
    return render(request, "account/remove.html", {"form": form, "account": found}, status=status)


def _page(request: SignedIn, more: dict[str, Any], status: int = HTTPStatus.OK) -> HttpResponse:
    found = accounts.account_of(request.user)
    mails_form = MailsForm(initial={"wants_mail": request.user.wants_mail})
    context = {"account": found, "listed": accounts.LISTED, "mails_form": mails_form}
    return render(request, "account/account.html", context | more, status=status)
