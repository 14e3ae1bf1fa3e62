"""The fault chart: the rail chart of one specimen, with the state of each net, and the density of the break."""

from __future__ import annotations

from collections.abc import Sequence

from catalogue.core.diagnosis.states import Rail
from catalogue.core.document import MapDocument
from catalogue.core.reference import Reference
from catalogue.drawing.density import Break
from catalogue.drawing.rail import RailChart
from catalogue.drawing.specimen import specimen_of
from catalogue.drawing.title import ReportCount, TitleBlock


def fault_chart(
    document: MapDocument,
    reference: Reference,
    title: TitleBlock,
    states: Sequence[Rail],
    located: Break | None = None,
    reports: Sequence[ReportCount] = (),
) -> str:
    """The fault chart of a specimen as DOT with pinned positions, in points, for `neato -n2`.

    `document` has the nets as they should be, and the marks and openings of the specimen; `states` is what was read of
    its nets and paths. The same input gives the same bytes.
    """
    return RailChart(document, reference, reports, specimen_of(states, located)).draw(title, "Fault chart")
