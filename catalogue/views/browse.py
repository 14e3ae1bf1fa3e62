"""Where everybody starts: the start page, and the search for cables."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from catalogue.forms import SearchForm, WantedForm
from catalogue.usecases import cables, drafts, maps, wanted
from catalogue.views.facets import chosen, groups

NEWEST = 8
MOST_WANTED = 6
MOST_LEFT = 3
ON_A_PAGE = 20
LAST_PAGE = cables.MOST_RANKED // ON_A_PAGE


@require_safe
def start(request: HttpRequest) -> HttpResponse:
    context = {
        "newest": maps.newest_maps()[:NEWEST],
        "wanted": wanted.most_wanted()[:MOST_WANTED],
        "drafts": drafts.to_go_on_with(request.user, MOST_LEFT) if request.user.is_authenticated else [],
    }
    return render(request, "start.html", context)


@require_safe
def search(request: HttpRequest) -> HttpResponse:
    """Cables that have everything asked for. A field that could not be read is told, and not searched by."""
    form = SearchForm(request.GET)
    asked = form.asked()
    page = _page_number(request)
    words = asked.get("q", "")
    found = cables.search_cables(words=words, **{name: value for name, value in asked.items() if name != "q"})
    first = (page - 1) * ON_A_PAGE
    listing = cables.best_of(found, first, ON_A_PAGE)
    context = {
        "form": form,
        "asked": asked,
        "has_errors": bool(form.errors),
        "found": found,
        "listing": listing,
        "chosen": chosen(asked, request.GET),
        "groups": groups(listing, asked, request.GET),
        "first_number": first + 1,
        "page": page,
        "next_page": page + 1 if listing.total > first + ON_A_PAGE else None,
        "previous_page": page - 1 or None,
    }
    if asked and not listing.total:
        context["nearest"] = cables.nearest_to(found)
        context["wanted_form"] = WantedForm(initial={"maker": asked.get("maker", ""), "model": words[:80]})
    return render(request, "search.html", context)


def _page_number(request: HttpRequest) -> int:
    number = request.GET.get("page", "")
    return min(max(1, int(number)), LAST_PAGE) if number.isdecimal() and len(number) < 5 else 1
