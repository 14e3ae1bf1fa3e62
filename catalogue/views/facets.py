"""The ways to narrow a search down, each with how many cables it leads to, as links."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.http import QueryDict

from catalogue.core.facets import Facet
from catalogue.core.failures import Ending, Spot, Symptom
from catalogue.core.words import RIDES_ON, word
from catalogue.usecases.cables import Listing
from catalogue.usecases.submissions import connector_titles

MOST_VALUES = 7
"""Values offered of one facet; any other can be set by hand."""

TITLES: Mapping[Facet, str] = {
    Facet.CONNECTOR: "Connector",
    Facet.CONTACTS: "Contacts on one end",
    Facet.SYMPTOM: "Symptom reported",
    Facet.PLACE: "Failed where",
    Facet.ENDING: "How it ended",
    Facet.RIDES_ON: "Signals go through",
    Facet.MAKER: "Maker",
}

WORDS: Mapping[Facet, Callable[[str], str]] = {
    Facet.CONNECTOR: lambda value: connector_titles().get(value, value),
    Facet.CONTACTS: lambda value: f"{value} contacts",
    Facet.SYMPTOM: lambda value: word(Symptom(value)),
    Facet.PLACE: lambda value: word(Spot(value)),
    Facet.ENDING: lambda value: word(Ending(value)),
    Facet.RIDES_ON: lambda value: RIDES_ON[value],
    Facet.MAKER: str,
}


@dataclass(frozen=True, slots=True)
class Choice:
    """One value of a facet: `query` leads to the search with it, or without it when it is chosen."""

    title: str
    words: str
    count: int
    query: str


@dataclass(frozen=True, slots=True)
class Group:
    """The values of one facet that occur most."""

    title: str
    choices: tuple[Choice, ...]


def chosen(asked: Mapping[str, Any], data: QueryDict) -> list[Choice]:
    """What the search is narrowed down by."""
    return [
        Choice(title, WORDS[facet](str(asked[name])), 0, query_with(data, name, None))
        for facet, title in TITLES.items()
        if (name := facet.name.lower()) in asked
    ]


def groups(listing: Listing, asked: Mapping[str, Any], data: QueryDict) -> list[Group]:
    """The facets that would narrow the search down further. What all of the cables have is left out."""
    everywhere = None if listing.has_more else listing.total
    found = []
    for facet, title in TITLES.items():
        name = facet.name.lower()
        # Sorted first, so that of equal counts the order is always the same.
        values = [] if name in asked else Counter(dict(sorted(listing.counts[facet].items()))).most_common(MOST_VALUES)
        choices = tuple(
            Choice(title, WORDS[facet](value), count, query_with(data, name, value))
            for value, count in values
            if count != everywhere
        )
        if choices:
            found.append(Group(title, choices))
    return found


def query_with(data: QueryDict, name: str, value: str | None) -> str:
    """The same page with one field set, or without it, from the first page of its list on."""
    changed = data.copy()
    changed.pop("page", None)
    changed.pop(name, None)
    if value is not None:
        changed[name] = value
    return "?" + changed.urlencode()
