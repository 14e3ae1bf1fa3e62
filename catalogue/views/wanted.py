"""Cables that people look for and nobody has mapped: the list, and asking for one."""

from http import HTTPStatus

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from catalogue.core.problems import BadRequest, TooMany
from catalogue.forms import WantedForm
from catalogue.usecases import wanted as wanted_cables

LISTED = 100


@require_http_methods(["GET", "HEAD", "POST"])
def wanted(request: HttpRequest) -> HttpResponse:
    form, status = WantedForm(), HTTPStatus.OK
    if request.method == "POST":
        form, status = WantedForm(request.POST), HTTPStatus.UNPROCESSABLE_ENTITY
        if form.is_valid():
            try:
                answer = wanted_cables.ask_for(**form.cleaned_data, asker=_asker(request))
            except (BadRequest, TooMany) as problem:
                form.take(problem)
                if isinstance(problem, TooMany):
                    status = HTTPStatus.TOO_MANY_REQUESTS
            else:
                if answer.slug:
                    messages.info(request, f"{answer.name} is mapped already: here it is.")
                    return redirect("cable", answer.slug)
                messages.success(request, f"{answer.name} is on the list. It leaves the list once somebody maps it.")
                return redirect("wanted")
    context = {"form": form, "wanted": wanted_cables.most_wanted()[:LISTED]}
    return render(request, "wanted.html", context, status=status)


def _asker(request: HttpRequest) -> str:
    """Who asks, as far as a flood can be told from many people. Nothing of it is stored."""
    return str(request.META.get("HTTP_X_FORWARDED_FOR") or request.META.get("REMOTE_ADDR", ""))
