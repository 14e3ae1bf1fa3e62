"""What the words of the trade mean."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from catalogue.core.glossary import MEANINGS


@require_safe
def words(request: HttpRequest) -> HttpResponse:
    """Every word with its meaning."""
    return render(request, "words.html", {"meanings": MEANINGS})
