"""Finding cables: by words in what is known of them, and by traits (maker, connector, contacts, lanes, failures).

Search text and traits of a cable are derived from its latest map and its failure reports; `refresh` makes them anew.
Both stores look a piece of a word up in the same way (LIKE); PostgreSQL has an index of the groups of three letters.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_

from django.db.models import Count, Q, QuerySet

from catalogue import bulk
from catalogue.core.document import CUSTOM_CONNECTOR, CoreKind, MapDocument, Point, end_of
from catalogue.core.facets import Facet
from catalogue.core.failures import Failure, place_kind
from catalogue.models import Cable, Trait
from catalogue.search.query import Query, Term, mark
from catalogue.search.spelling import remember
from catalogue.search.text import fold, searchable

MOST_RANKED = 500
"""Cables of one search that are ranked and counted. Beyond them a person narrows down, and a program reads on."""

MOST_REPORTS = 500
"""Newest reports of a cable whose words it is found by."""


Asked = Mapping[Facet, str]
"""The value asked for of each facet that was asked for."""


@dataclass(frozen=True)
class Ranked:
    """The best of what fits: ids in order, how often each value of a facet occurs among them, and if there are more."""

    ids: Sequence[int]
    counts: Mapping[Facet, Counter[str]]
    has_more: bool


def find(query: Query, asked: Asked) -> QuerySet[Cable]:
    """Cables that have every term and every trait asked for; all cables when nothing is asked. In no order."""
    found = Cable.objects.shown()
    for term in query.terms:
        found = found.filter(_holds("search_text", term))
    for facet, value in asked.items():
        trait = _maker_trait(value) if facet is Facet.MAKER else value
        found = found.filter(pk__in=Trait.objects.filter(kind=facet.value, value=trait).values("cable"))
    return found


def newest_first(found: QuerySet[Cable]) -> QuerySet[Cable]:
    return found.order_by("-changed_at", "-pk")


def ranked(found: QuerySet[Cable], query: Query) -> Ranked:
    """The best first: cables whose name or device has all the words, then the others; mapped ones first in each, and
    then newest change first.
    """
    named = Q()
    for term in query.terms:
        named &= _holds("name_text", term)
    # One after the other, because the store then need not read all that fits before it knows the newest.
    rows = _newest(found.filter(named), MOST_RANKED + 1)
    others = []
    if query.terms and len(rows) <= MOST_RANKED:
        others = _newest(found.exclude(pk__in=[pk for pk, *_ in rows]), MOST_RANKED + 1 - len(rows))
    has_more = len(rows) + len(others) > MOST_RANKED
    best = [*_mapped_first(rows), *_mapped_first(others)][:MOST_RANKED]
    ids = [pk for pk, *_ in best]
    counts: dict[Facet, Counter[str]] = {facet: Counter() for facet in Facet}
    # Folded, makers are no names to show, so they are counted as the maps write them.
    counts[Facet.MAKER] = _one_spelling(Counter(maker for _, maker, *_ in best))
    kinds = [facet.value for facet in Facet if facet is not Facet.MAKER]
    traits = Trait.objects.filter(cable__in=ids, kind__in=kinds).values_list("kind", "value")
    for kind, value, count in traits.annotate(count=Count("pk")).order_by():
        counts[Facet(kind)][value] = count
    return Ranked(ids, counts, has_more)


def _newest(found: QuerySet[Cable], most: int) -> list[tuple[int, str, int | None]]:
    """Id, maker and latest map of the cables that changed last."""
    return list(newest_first(found).values_list("pk", "maker", "latest")[:most])


def _mapped_first(rows: list[tuple[int, str, int | None]]) -> list[tuple[int, str, int | None]]:
    # Not in the statement, whose order an index gives.
    return sorted(rows, key=lambda row: row[2] is None)


def nearly(query: Query) -> QuerySet[Cable]:
    """Cables that have all of the terms but one at most, newest change first; none when nothing was typed."""
    if not query.terms:
        return Cable.objects.none()
    if len(query.terms) == 1:
        return newest_first(find(query, {}))
    without_one = [
        reduce(Q.__and__, (_holds("search_text", term) for term in query.terms if term is not left_out))
        for left_out in query.terms
    ]
    return newest_first(Cable.objects.shown().filter(reduce(or_, without_one)))


@dataclass(frozen=True)
class Found:
    """A cable and what it is found by: its latest map, all contacts of all ends of it, its reports, newest first."""

    cable: Cable
    document: MapDocument
    contacts: Sequence[Point]
    failures: Sequence[Failure]


def refresh(cable: Cable, document: MapDocument, contacts: Sequence[Point], failures: Sequence[Failure]) -> None:
    """Derive texts and traits of one cable anew; the texts are set on the row, which the caller saves."""
    refresh_all([Found(cable, document, contacts, failures)])


def refresh_all(every: Sequence[Found]) -> None:
    """The same for several cables, in as many statements."""
    # Text and traits are made together: where there is no text yet, there are no traits to take away.
    if known := [found.cable for found in every if found.cable.search_text]:
        Trait.objects.filter(cable__in=known).delete()
    texts = []
    for found in every:
        named = found.document.cable
        marks = {mark(symptom) for failure in found.failures for symptom in failure.symptoms}
        text = searchable(_described(found.document), _told(found.failures[:MOST_REPORTS]))
        found.cable.name_text = searchable((named.maker, named.model, *named.devices))
        found.cable.search_text = " ".join((text, *sorted(marks)))
        texts.append(text)
    remember(" ".join(texts))
    bulk.write(
        Trait(cable=found.cable, kind=facet.value, value=value)
        for found in every
        for facet, value in sorted(_traits(found.document, found.contacts, found.failures))
    )


def forget(cables: Sequence[Cable]) -> None:
    """Take from cables all that they are found by; the texts are set on the rows, which the caller saves."""
    for cable in cables:
        cable.search_text = cable.name_text = ""
    if cables:
        Trait.objects.filter(cable__in=cables).delete()


def rides_on(document: MapDocument) -> set[str]:
    """What the cable's lanes ride on: `copper`, and `fibre`, `capacitor`, `chip` where paths or cores say so."""
    ways = {path.via.value for path in document.paths}
    if document.nets or any(core.kind is not CoreKind.FIBRE for core in document.cores):
        ways.add("copper")
    if any(core.kind is CoreKind.FIBRE for core in document.cores):
        ways.add("fibre")
    return ways


def _holds(column: str, term: Term) -> Q:
    """Whether a text holds what the term asks for, in any of its ways."""
    ways = [reduce(Q.__and__, (Q(**{f"{column}__contains": piece}) for piece in way)) for way in term.ways]
    if term.symptom:
        ways.append(Q(search_text__contains=mark(term.symptom)))
    return reduce(or_, ways)


def _one_spelling(makers: Counter[str]) -> Counter[str]:
    """Each maker as it was written first, also where others write it with other capitals."""
    first: dict[str, str] = {}
    counts: Counter[str] = Counter()
    for maker, count in makers.items():
        counts[first.setdefault(fold(maker), maker)] += count
    return counts


def _described(document: MapDocument) -> Iterable[str]:
    yield from (document.cable.maker, document.cable.model, document.cable.revision, document.cable.summary)
    yield from document.cable.devices
    yield from (f"{end.name} {end.connector}" for end in document.ends)
    yield from (module.name for module in document.modules)
    yield from (net.name for net in document.nets)
    yield from (path.name for path in document.paths)


def _told(failures: Iterable[Failure]) -> Iterable[str]:
    for failure in failures:
        yield from (failure.words, failure.kind, failure.cause, failure.section, failure.place, *failure.symptoms)


def _traits(document: MapDocument, contacts: Sequence[Point], failures: Sequence[Failure]) -> set[tuple[Facet, str]]:
    traits = {(Facet.MAKER, _maker_trait(document.cable.maker))}
    traits |= {(Facet.CONNECTOR, end.connector) for end in document.ends if end.connector != CUSTOM_CONNECTOR}
    traits |= {(Facet.CONTACTS, str(count)) for count in Counter(map(end_of, contacts)).values()}
    traits |= {(Facet.RIDES_ON, way) for way in rides_on(document)}
    for failure in failures:
        traits |= {(Facet.SYMPTOM, symptom.value) for symptom in failure.symptoms}
        traits.add((Facet.ENDING, failure.ending.value))
        if kind := place_kind(failure, document):
            traits.add((Facet.PLACE, kind.value))
    return traits


def _maker_trait(maker: str) -> str:
    """The maker as a trait: folding can lengthen a text, and a trait is short."""
    return fold(maker)[:120]
