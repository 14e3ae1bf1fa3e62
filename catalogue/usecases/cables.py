"""Cables: search them, read one."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from django.db.models import F, Prefetch, QuerySet
from django.db.models.functions import Coalesce

from catalogue import store, tables
from catalogue.core.facets import Facet
from catalogue.core.failures import Symptom
from catalogue.core.problems import NotFound
from catalogue.core.words import word
from catalogue.models import Cable, MapRevision, Trait
from catalogue.search import cables as cable_search
from catalogue.search.query import Phrases, Query, phrase, understood
from catalogue.search.spelling import corrected
from catalogue.search.text import fold

MOST_RANKED = cable_search.MOST_RANKED
NEAREST = 5

COUNTS = {"failure_count": "reports", "mended_count": "mended"}
"""What lists tell of the reports on a cable, and the column where it is kept."""


@dataclass(frozen=True)
class Found:
    """What a search found. `query` is how the words were taken, `slips` the words of it that were typed otherwise."""

    query: Query
    slips: Mapping[str, str]
    asked: Mapping[Facet, str]

    @property
    def cables(self) -> QuerySet[Cable]:
        """All of them, newest change first, each with its map, `failure_count` and `mended_count`."""
        return _with_counts(cable_search.newest_first(cable_search.find(self.query, self.asked)))


@dataclass(frozen=True)
class Listing:
    """Some of the best cables of a search, and how often each value of a facet occurs among all that were ranked.

    `total` are those ranked: all there are, unless it `has_more`.
    """

    cables: Sequence[Cable]
    total: int
    has_more: bool
    counts: Mapping[Facet, Counter[str]]


def search_cables(
    words: str = "",
    maker: str = "",
    connector: str = "",
    contacts: int | None = None,
    symptom: str = "",
    rides_on: str = "",
    place: str = "",
    ending: str = "",
) -> Found:
    """Cables that have all words and traits asked for.

    Where none has, words that no cable has are taken for the nearest that one has, if that finds any.
    """
    given = (maker, connector, contacts, rides_on, symptom, place, ending)
    asked = {facet: str(value) for facet, value in zip(Facet, given, strict=True) if value not in ("", None)}
    slips: Mapping[str, str] = {}
    query = understood(words, _phrases())
    plain = [fold(term.typed) for term in query.terms if not term.symptom]
    if query.terms and not cable_search.find(query, asked).exists() and (nearest := corrected(plain)):
        mended = understood(" ".join(nearest.get(fold(typed), typed) for typed in words.split()), _phrases())
        if cable_search.find(mended, asked).exists():
            query, slips = mended, nearest
    return Found(query, slips, asked)


def best_of(found: Found, first: int, most: int) -> Listing:
    """From the `first` (counted from 0) at most so many of the best, with their ends and traits."""
    ranked = cable_search.ranked(cable_search.find(found.query, found.asked), found.query)
    shown = ranked.ids[first : first + most]
    rows = {cable.pk: cable for cable in _listed(Cable.objects.filter(pk__in=shown))} if shown else {}
    cables = [rows[pk] for pk in shown if pk in rows]
    return Listing(cables, len(ranked.ids), ranked.has_more, ranked.counts)


def nearest_to(found: Found) -> list[Cable]:
    """A few cables that lack one of the words, or have all of them but not the traits."""
    return list(_listed(cable_search.nearly(found.query)[:NEAREST]))


def cable_by_slug(slug: str) -> Cable:
    """One cable with its latest map and `failure_count`. Raises NotFound, and Withdrawn when all its maps are."""
    try:
        cable = _with_counts(Cable.objects.filter(slug=slug), whole_map=True).get()
    except Cable.DoesNotExist:
        raise NotFound(f"There is no cable {slug}. Search for its maker or model.") from None
    if cable.latest is None and (newest := cable.maps.order_by("-number").first()):
        raise store.withdrawal_of(newest)
    return cable


def revisions_of(cable: Cable) -> QuerySet[MapRevision]:
    """The revisions of a cable's map that are shown, newest first."""
    return cable.maps.shown().select_related("author").defer("document", "wiring").order_by("-number")


@cache
def _phrases() -> Phrases:
    """What people call the symptoms, and what this site calls them."""
    own = {text: symptom for symptom in Symptom for text in (symptom.value, word(symptom))}
    return {phrase(text): symptom for text, symptom in (own | dict(tables.symptom_phrases())).items()}


def _listed(cables: QuerySet[Cable]) -> QuerySet[Cable]:
    """Cables as a list shows them: with the `lanes` among their traits, and the `listed_ends` of their maps."""
    lanes = Prefetch("traits", Trait.objects.filter(kind=Facet.RIDES_ON).order_by("value"), to_attr="lanes")
    ends = Prefetch("latest__ends", to_attr="listed_ends")
    return _with_counts(cables).prefetch_related(lanes, ends)


def _with_counts(cables: QuerySet[Cable], whole_map: bool = False) -> QuerySet[Cable]:
    counts = {name: Coalesce(F(f"counted_reports__{column}"), 0) for name, column in COUNTS.items()}
    counted = cables.select_related("latest").annotate(**counts)
    if whole_map:
        return counted
    return counted.defer("search_text", "name_text", "latest__document", "latest__wiring", "latest__findings")
