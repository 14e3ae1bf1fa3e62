"""Cables: search them, read one."""

from django.db.models import Count, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from catalogue.core.problems import NotFound
from catalogue.models import Cable, FailureReport, MapRevision
from catalogue.search import cables as cable_search


def search_cables(
    words: str = "",
    maker: str = "",
    connector: str = "",
    contacts: int | None = None,
    symptom: str = "",
    rides_on: str = "",
) -> QuerySet[Cable]:
    """Cables with all words and traits asked for, newest change first, with their map and `failure_count`."""
    found = cable_search.find(words, maker, connector, contacts, symptom, rides_on)
    return _with_counts(found)


def cable_by_slug(slug: str) -> Cable:
    """One cable with its latest map and `failure_count`. Raises NotFound."""
    try:
        return _with_counts(Cable.objects.filter(slug=slug), whole_map=True).get()
    except Cable.DoesNotExist:
        raise NotFound(f"There is no cable {slug}. Search for its maker or model.") from None


def revisions_of(cable: Cable) -> QuerySet[MapRevision]:
    return cable.maps.select_related("author").defer("document", "wiring").order_by("-number")


def _with_counts(cables: QuerySet[Cable], whole_map: bool = False) -> QuerySet[Cable]:
    # Counted for each row by itself: a join would count the reports of every cable before a page is cut.
    reports = FailureReport.objects.filter(cable=OuterRef("pk")).order_by().values("cable")
    counts = reports.annotate(count=Count("pk")).values("count")
    counted = cables.select_related("latest").annotate(failure_count=Coalesce(Subquery(counts), 0))
    return counted if whole_map else counted.defer("latest__document", "latest__wiring", "latest__findings")
