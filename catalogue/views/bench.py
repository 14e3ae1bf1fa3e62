"""The bench: a mapping session, reading by reading. The page is a frame; its script keeps and sends what is read."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from catalogue.core.document import Form
from catalogue.core.words import choices
from catalogue.usecases import drafts, published

MOST_LISTED = 50


@gzip_page
@ensure_csrf_cookie
@require_safe
def bench(request: HttpRequest) -> HttpResponse:
    context = {
        "connectors": published.connectors(),
        "forms": choices(Form),
        "drafts": drafts.to_go_on_with(request.user, MOST_LISTED) if request.user.is_authenticated else [],
    }
    return render(request, "bench/bench.html", context)
