"""The rules that every map is checked by: all of them, and one explained."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from catalogue.usecases import published
from catalogue.views.found import or_404


@require_safe
def rules(request: HttpRequest) -> HttpResponse:
    return render(request, "rules/rules.html", {"rules": published.rules()})


@require_safe
def rule(request: HttpRequest, code: str) -> HttpResponse:
    return render(request, "rules/rule.html", {"rule": or_404(published.rule_by_code, code)})
