"""The columns at both sides of the cable in a rail chart: names, parts, pads, and how wide each must be."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from catalogue.drawing.captions import MARGIN
from catalogue.drawing.dot import TEXT
from catalogue.drawing.pads import PadLine, line_width
from catalogue.drawing.rails import Rail
from catalogue.drawing.symbols import STATE_WIDTH
from catalogue.drawing.text import fitted, width_of
from catalogue.drawing.tree import Side, Tree
from catalogue.drawing.wires import TAG_SPARE

NAME = 9.0
"""Font size of the names at the left."""

NAME_ROOM = 124.0
DETAIL_ROOM = 104.0
STATE_ROOM = 132.0
TAG_ROOM = 62.0
GAP = 8.0
LEAST_LEFT = 200.0
LEAST_RIGHT = 184.0
"""Points at each side of the cable that the name of an end needs."""

LEAST_RIGHT_EDGE = 556.0
PadsOfRails = Mapping[int, Mapping[str, Sequence[PadLine]]]


@dataclass(frozen=True)
class Columns:
    """Widths in points. `tags` are the names of ends beside their pads, where several ends share a side."""

    heading: float
    name: float
    state: float
    detail: float
    parts: float
    pads: Mapping[Side, float]
    tags: Mapping[Side, float]
    right_name: float

    @property
    def names_x(self) -> float:
        return MARGIN + GAP

    @property
    def states_x(self) -> float:
        return self.names_x + self.name + GAP

    @property
    def details_x(self) -> float:
        return self.states_x + (self.state + GAP if self.state else 0.0)

    @property
    def parts_x(self) -> float:
        """Where parts begin: beyond names, and beyond headings, which stand between the rows they join."""
        return max(self.details_x + (self.detail + GAP if self.detail else 0.0), MARGIN + self.heading + GAP)

    @property
    def cable_x(self) -> float:
        """Where the cable begins."""
        return max(self.parts_x + self.parts + self.pads[Side.LEFT] + self.tags[Side.LEFT], LEAST_LEFT)

    def right_names_x(self, cable_end: float) -> float:
        return cable_end + self.tags[Side.RIGHT] + self.pads[Side.RIGHT] + GAP

    def right_edge(self, cable_end: float) -> float:
        """Where the chart ends, without its margin."""
        return max(self.right_names_x(cable_end) + self.right_name, cable_end + LEAST_RIGHT, LEAST_RIGHT_EDGE)


def columns_of(
    rails: Sequence[Rail], pads: PadsOfRails, tree: Tree, parts: float, states: Iterable[str] = ()
) -> Columns:
    """Columns wide enough for what stands in them. `pads` are lines of pads by rail number and end.

    `states` are the words of the states, none where the chart shows no states.
    """
    state = _widest(states, STATE_ROOM, TEXT)
    ends = {Side.LEFT: tree.left, Side.RIGHT: tree.right}
    return Columns(
        heading=_widest({rail.group for rail in rails if rail.via is None}, NAME_ROOM, NAME, bold=True),
        name=_widest((rail.name for rail in rails), NAME_ROOM, NAME, bold=True),
        state=STATE_WIDTH + 4 + state if state else 0.0,
        detail=_widest((rail.detail for rail in rails), DETAIL_ROOM, TEXT),
        parts=parts,
        pads={side: max((pad_column(pads, end) for end in ends[side]), default=0.0) for side in Side},
        tags={side: _tag_width(ends[side]) for side in Side},
        right_name=_widest((rail.name for rail in rails), NAME_ROOM, TEXT) if tree.links else 0.0,
    )


def pad_column(pads: PadsOfRails, end: str) -> float:
    """Points that the widest line of an end's pads takes."""
    lines = (line for of_rail in pads.values() for line in of_rail.get(end, ()))
    return max((line_width(line) for line in lines), default=0.0)


def _tag_width(ends: Sequence[str]) -> float:
    return TAG_SPARE + (_widest(ends, TAG_ROOM, TEXT) + 6 if len(ends) > 1 else 0.0)


def _widest(texts: Iterable[str], room: float, size: float, bold: bool = False) -> float:
    """Points that the widest of some texts takes, each fitted to a room."""
    return max((width_of(fitted(text, room, size, bold), size, bold) for text in texts), default=0.0)
