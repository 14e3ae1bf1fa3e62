"""Known failure points across cables: which places, symptoms, connectors and constructions fail, and how it ended."""

from dataclasses import dataclass

from catalogue import tables
from catalogue.core.counting import Counted, count
from catalogue.core.facets import Facet
from catalogue.search import cables as cable_search
from catalogue.search import failure_points
from catalogue.usecases.cables import Found, search_cables


@dataclass(frozen=True)
class FailurePoints:
    """What was counted, and the search by which its cables were found."""

    found: Found
    counted: Counted


def failure_points_of_all(
    words: str = "", symptom: str = "", place: str = "", connector: str = "", rides_on: str = ""
) -> FailurePoints:
    """What the reports of all cables that are shown add up to, of those that fit all that is asked.

    `words` and `rides_on` choose cables, as in their search; `symptom`, `place` and `connector` choose reports, and
    the connector is the one that failed.
    """
    found = search_cables(words, rides_on=rides_on)
    given = {Facet.SYMPTOM: symptom, Facet.PLACE: place, Facet.CONNECTOR: connector, Facet.RIDES_ON: rides_on}
    asked = {facet: value for facet, value in given.items() if value}
    # What lanes ride on stands in the codes, so that no cable has to be looked up for it.
    cables = cable_search.find(found.query, {}) if found.query.terms else None
    return FailurePoints(found, count(failure_points.codes_of(cables), asked, tables.reference().connectors))
