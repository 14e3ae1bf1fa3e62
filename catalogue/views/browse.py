"""Where everybody starts: the start page, and the search for cables."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from catalogue.forms import SearchForm
from catalogue.usecases import cables, maps

NEWEST = 8
ON_A_PAGE = 20
LAST_PAGE = 500


@require_safe
def start(request: HttpRequest) -> HttpResponse:
    return render(request, "start.html", {"newest": maps.newest_maps()[:NEWEST]})


@require_safe
def search(request: HttpRequest) -> HttpResponse:
    """Cables that have everything asked for. A field that could not be read is told, and not searched by."""
    form = SearchForm(request.GET)
    asked = form.asked()
    page = _page_number(request)
    found = cables.search_cables(words=asked.get("q", ""), **{k: asked[k] for k in asked if k != "q"})
    first = (page - 1) * ON_A_PAGE
    # One more than is shown tells whether there is a next page, which a count would tell at a price.
    rows = list(found.prefetch_related("latest__ends", "traits")[first : first + ON_A_PAGE + 1])
    context = {
        "form": form,
        "asked": asked,
        "has_facets": bool(asked.keys() - {"q"}) or bool(form.errors),
        "cables": rows[:ON_A_PAGE],
        "first_number": first + 1,
        "page": page,
        "next_page": page + 1 if len(rows) > ON_A_PAGE and page < LAST_PAGE else None,
        "previous_page": page - 1 or None,
    }
    return render(request, "search.html", context)


def _page_number(request: HttpRequest) -> int:
    number = request.GET.get("page", "")
    return min(max(1, int(number)), LAST_PAGE) if number.isdecimal() and len(number) < 5 else 1
