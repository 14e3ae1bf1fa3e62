"""Where cables fail, counted over the reports of many cables: what they share, and how they ended.

What is counted of a report is its `code`, made when it is told. Those of the reports on a cable that are shown are kept
together, so that all there are can be counted in one reading; `gather` puts them together anew.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from django.db.models import QuerySet

from catalogue import bulk
from catalogue.core.counting import packed
from catalogue.core.facets import Facet
from catalogue.core.failures import Ending
from catalogue.models import Cable, CountedReports, FailureReport, Trait


def gather(cables: Sequence[Cable]) -> None:
    """Put together what is counted of these cables' reports, in four statements however many they are.

    To be called in the transaction that changed reports, reviews of them, or the cables' newest maps and traits.
    """
    shown = [cable.pk for cable in cables if cable.latest_id]
    codes: dict[int, list[int]] = defaultdict(list)
    mended: Counter[int] = Counter()
    reports = FailureReport.objects.shown().filter(cable__in=shown)
    for cable, code, ending in reports.values_list("cable", "code", "ending"):
        if code is not None:
            codes[cable].append(code)
            mended[cable] += ending == Ending.MENDED
    lanes: dict[int, list[str]] = defaultdict(list)
    for cable, lane in Trait.objects.filter(cable__in=list(codes), kind=Facet.RIDES_ON.value).values_list(
        "cable", "value"
    ):
        lanes[cable].append(lane)
    CountedReports.objects.filter(cable__in=cables).delete()
    bulk.write(
        CountedReports(cable_id=cable, reports=len(own), mended=mended[cable], codes=packed(own, lanes[cable]))
        for cable, own in codes.items()
    )


def codes_of(cables: QuerySet[Cable] | None = None) -> bytes:
    """What is counted of the reports on these cables, or on all that are shown."""
    rows = CountedReports.objects.all()
    if cables is not None:
        rows = rows.filter(cable__in=cables.order_by().values("pk"))
    return bulk.joined(rows.values_list("codes"))
