"""Where cables fail, across all of them: by place, symptom, connector and what the signals go through."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from catalogue.core.facets import Facet
from catalogue.core.failures import PlaceKind, Spot
from catalogue.core.tallies import Tally
from catalogue.forms import FailurePointsForm
from catalogue.usecases.failure_points import FailurePoints, failure_points_of_all
from catalogue.views.facets import WORDS, chosen, query_with

TITLES: Mapping[Facet, str] = {
    Facet.PLACE: "Where it failed",
    Facet.SYMPTOM: "How it showed",
    Facet.CONNECTOR: "At which connector",
    Facet.RIDES_ON: "What the signals go through",
}

ALONG = (Spot.NEAR_AN_END, Spot.MIDDLE)


@dataclass(frozen=True, slots=True)
class Row:
    """One value that reports share: `query` narrows this page down to it, `cables` searches for their cables."""

    words: str
    tally: Tally
    query: str
    cables: str


@dataclass(frozen=True, slots=True)
class Group:
    facet: Facet
    title: str
    rows: tuple[Row, ...]


@require_safe
def failing(request: HttpRequest) -> HttpResponse:
    """The counts of what fits all that is asked. A field that could not be read is told, and not counted by."""
    form = FailurePointsForm(request.GET)
    asked = form.asked()
    points = failure_points_of_all(words=asked.get("q", ""), **{name: asked[name] for name in asked if name != "q"})
    context = {
        "form": form,
        "asked": asked,
        "has_errors": bool(form.errors),
        "found": points.found,
        "all": points.counted.all,
        "cables": _search(asked),
        "chosen": chosen(asked, request.GET),
        "groups": _groups(points, asked, request.GET),
    }
    return render(request, "failing.html", context)


def _groups(points: FailurePoints, asked: Mapping[str, Any], data: QueryDict) -> list[Group]:
    return [
        Group(facet, title, tuple(_row(facet, tally, asked, data) for tally in points.counted.groups[facet]))
        for facet, title in TITLES.items()
        if points.counted.groups[facet]
    ]


def _row(facet: Facet, tally: Tally, asked: Mapping[str, Any], data: QueryDict) -> Row:
    name = facet.name.lower()
    return Row(
        words=WORDS[facet](tally.value),
        tally=tally,
        query="" if asked.get(name) == tally.value else query_with(data, name, tally.value),
        cables=_search({**asked, name: tally.value}),
    )


def _search(asked: Mapping[str, Any]) -> str:
    """The search for the cables of what was asked: it knows kinds of place, and none closer."""
    place = asked.get("place", "")
    # A connector that failed is more than one that the cable has.
    kind = PlaceKind.ALONG if place in ALONG else place or (PlaceKind.CONNECTOR if asked.get("connector") else "")
    known = {**asked, "place": kind if kind in list(PlaceKind) else ""}
    return "?" + urlencode({name: str(value) for name, value in known.items() if value})
