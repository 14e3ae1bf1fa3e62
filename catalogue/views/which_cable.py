"""Which cable is this: a few readings on an unknown plug, and the maps that agree with them. Nothing is stored."""

from __future__ import annotations

from dataclasses import dataclass
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from catalogue.core.problems import BadReadings, BadRequest
from catalogue.forms import JottedForm, PlugForm
from catalogue.usecases.matches import FoundMap, FoundMaps, LaidEnd, find_maps_by_lines

CLEAR = 0.9
"""From this share of the chance and of the readings on, a match is taken for the cable. Judgement."""

ENOUGH = 10
"""Fewer readings than these may agree with a cable that was never mapped. Judgement."""


@dataclass(frozen=True, slots=True)
class Turned:
    """A plug as it lies on the end of a map: in words, with its first and last contact as an example."""

    end: LaidEnd
    words: str
    examples: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A map that may be the cable."""

    found: FoundMap
    percent: int
    turned: tuple[Turned, ...]


@require_http_methods(["GET", "HEAD", "POST"])
def which_cable(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        plugs = [PlugForm(prefix="plug", initial={"name": "PLUG"}), PlugForm(prefix="other")]
        return render(request, "which_cable.html", {"plugs": plugs, "form": JottedForm()})
    plugs = [
        PlugForm(request.POST, prefix="plug"),
        PlugForm(request.POST, prefix="other", empty_permitted=True, use_required_attribute=False),
    ]
    form = JottedForm(request.POST)
    context: dict[str, object] = {"plugs": plugs, "form": form}
    is_valid = all([*(plug.is_valid() for plug in plugs), form.is_valid()])
    if is_valid and plugs[0].cleaned_data["name"] == plugs[1].cleaned_data.get("name"):
        plugs[1].add_error("name", "Give the other end another name.")
        is_valid = False
    if is_valid:
        ends = tuple(plug.end() for plug in plugs if plug.has_changed())
        try:
            found, unread = find_maps_by_lines(ends, form.cleaned_data["readings"])
        except (BadReadings, BadRequest) as problem:
            context |= {"problem": problem}
        else:
            context |= {"ends": ends, "found": found, "unread": unread, "suggestions": _suggestions(found)}
            context["is_clear"] = bool(found.found) and _is_clear(found)
            return render(request, "which_cable.html", context)
    return render(request, "which_cable.html", context, status=HTTPStatus.UNPROCESSABLE_ENTITY)


def _suggestions(found: FoundMaps) -> list[Suggestion]:
    return [
        Suggestion(each, round(100 * each.match.share), tuple(_turned(end) for end in each.ends))
        for each in found.found
    ]


def _is_clear(found: FoundMaps) -> bool:
    best = found.found[0].match
    return found.used >= ENOUGH and best.share >= CLEAR and best.agreeing >= CLEAR * found.used


def _turned(end: LaidEnd) -> Turned:
    """How the rows are counted, as against the map."""
    ways = []
    if end.numbering.from_right:
        ways.append("your rows count from the right, where the map counts from the left")
    if end.numbering.bottom_first:
        ways.append("your first row is the map's last")
    words = ", and ".join(ways) or "your rows count as they do on the map"
    pairs = list(end.contacts.items())
    return Turned(end, words, tuple(dict.fromkeys((pairs[0], pairs[-1]))))
