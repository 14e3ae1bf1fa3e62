"""Every way to lay the plugs that somebody reads over the plugs of the maps of one shape."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, islice, permutations, product

from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from catalogue.core.document import Point
from catalogue.core.matching.index import CableShape, Index
from catalogue.core.matching.plugs import Fit, Plug, PlugShape, fits
from catalogue.core.problems import BadRequest

MOST_READ_ENDS = 4
"""Ends that readings may touch: with each more, the ways to lay them over those of a map multiply."""

MOST_PLACINGS = 10_000
"""Ways to lay the plugs over those of one shape of cable."""


@dataclass(frozen=True, slots=True)
class Placed:
    """One asked plug laid over plug number `held` of a map, its plugs in the order of their shapes."""

    asked: Plug
    held: int
    fit: Fit


Placing = tuple[Placed, ...]
"""All plugs that were read, each on a plug of its own."""


def seats(placing: Placing, shape: CableShape) -> dict[Point, int]:
    """For each contact that is placed, its row in the table of the group of this shape."""
    first = list(accumulate((plug.seats for plug in shape), initial=0))
    return {
        contact: first[placed.held] + seat
        for placed in placing
        for contact, seat in zip(placed.asked.contacts, placed.fit.seats, strict=True)
    }


def shapes_that_fit(index: Index, asked: Sequence[Plug]) -> list[CableShape]:
    """The shapes of cable that have a plug for each of those asked, if not yet one for all of them at once."""
    fitting = [
        {shape for held, shapes in index.shapes_by_plug.items() if fits(plug.shape, held) for shape in shapes}
        for plug in asked
    ]
    return sorted(set.intersection(*fitting))


def placings(asked: Sequence[Plug], read: set[Point], shape: CableShape) -> list[Placing]:
    """Every way to lay the plugs with contacts in `read` over those of a shape, the others having room beside them.

    Raises `BadRequest` when there are too many.
    """
    touched = [plug for plug in asked if read.intersection(plug.contacts)]
    if len(touched) > MOST_READ_ENDS:
        raise BadRequest(f"The readings touch more than {MOST_READ_ENDS} ends. Send those of fewer ends.")
    if not _has_room([plug.shape for plug in asked], shape):
        return []
    others = [plug.shape for plug in asked if plug not in touched]
    found = list(islice(_laid(touched, others, shape), MOST_PLACINGS + 1))
    if len(found) > MOST_PLACINGS:
        raise BadRequest(
            f"The ends that were read can be taken for each other in more than {MOST_PLACINGS:,} ways. "
            "Send the readings of fewer ends."
        )
    return found


def _laid(touched: Sequence[Plug], others: Sequence[PlugShape], shape: CableShape) -> Iterator[Placing]:
    for chosen in permutations(range(len(shape)), len(touched)):
        ways = [
            [Placed(plug, held, fit) for fit in fits(plug.shape, shape[held])]
            for plug, held in zip(touched, chosen, strict=True)
        ]
        if all(ways) and _has_room(others, [shape[held] for held in range(len(shape)) if held not in chosen]):
            yield from product(*ways)


def _has_room(plugs: Sequence[PlugShape], free: Sequence[PlugShape]) -> bool:
    """Whether each of the plugs can be laid over a free one of its own."""
    if not plugs or len(plugs) > len(free):
        return not plugs
    possible = csr_array([[bool(fits(plug, held)) for held in free] for plug in plugs])
    return bool((maximum_bipartite_matching(possible, perm_type="column") >= 0).all())
