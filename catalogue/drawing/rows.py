"""Where each rail of a chart lies: which lines of its row its sections, cores and pads take.

A row has as many lines as its rail needs side by side: one for each core of a section, one for each line of
pads, and one below the other where the cable's sections run in parallel. The trunk's come first, so that a
rail runs on straight.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf

from catalogue.drawing.pads import PadLine
from catalogue.drawing.places import Plan
from catalogue.drawing.rails import Rail
from catalogue.drawing.tree import Kind

PITCH = 15.0
"""Points from line to line."""

GAP = 4.0
"""Points between rows."""


@dataclass
class Row:
    """The place of one rail.

    `links` and `pads` give the first line of each section (by its number) and of each end's pads, `strands`
    how many cores are drawn in each section.
    """

    rail: Rail
    pad_lines: Mapping[str, tuple[PadLine, ...]]
    links: dict[int, int] = field(default_factory=dict)
    strands: dict[int, int] = field(default_factory=dict)
    pads: dict[str, int] = field(default_factory=dict)
    lines: int = 1
    top: float = 0.0

    def y(self, line: int) -> float:
        return self.top + (line + 0.5) * PITCH

    @property
    def bottom(self) -> float:
        return self.top + self.lines * PITCH


def row_of(rail: Rail, plan: Plan, pad_lines: Mapping[str, tuple[PadLine, ...]]) -> Row:
    """The row of a rail, everything in it as high up as it goes. `pad_lines` are the rail's own, by end."""
    row = Row(rail, pad_lines)
    tree = plan.tree
    places = {end for end in pad_lines if tree.kinds.get(end) is Kind.END}
    for link in tree.links:
        if link.section.name in rail.cores:
            places.update((link.near, link.far))
    shelf = _Shelf()
    for number in tree.way(frozenset(places)):
        link, track = tree.links[number], plan.tracks[number]
        lines = row.strands[number] = max(1, len(rail.cores.get(link.section.name, ())))
        x0, x1 = track.x0, track.x1
        held = [end for end in _pads_with(plan, number) if end in pad_lines]
        for end in held:
            lines = max(lines, len(pad_lines[end]))
            x0, x1 = min(x0, _reach(plan, end)[0]), max(x1, _reach(plan, end)[1])
        row.links[number] = shelf.put(x0, x1, lines)
        row.pads.update(dict.fromkeys(held, row.links[number]))
    for end in places & pad_lines.keys() - row.pads.keys():
        row.pads[end] = shelf.put(*_reach(plan, end), len(pad_lines[end]))
    row.lines = shelf.lines
    return row


class _Shelf:
    """Lines of a row that are taken, each from one x to another."""

    def __init__(self) -> None:
        self.lines = 1
        self._taken: list[tuple[float, float, int, int]] = []

    def put(self, x0: float, x1: float, lines: int) -> int:
        """Takes so many lines next to each other, as high up as they are free. Returns the first."""
        first = 0
        for a, b, start, finish in sorted(self._taken, key=lambda taken: taken[2]):
            if a < x1 and x0 < b and start < first + lines and first < finish:
                first = finish
        self._taken.append((x0, x1, first, first + lines))
        self.lines = max(self.lines, first + lines)
        return first


def _pads_with(plan: Plan, number: int) -> tuple[str, ...]:
    """The ends whose pads stand on the lines of a section: the outer one, and the trunk's first."""
    link = plan.tree.links[number]
    return (link.near, link.far) if number == 0 else (link.far,)


def _reach(plan: Plan, end: str) -> tuple[float, float]:
    """From where to where an end's pads lie."""
    if end in plan.tree.left:
        return -inf, plan.x0
    if end in plan.tree.right:
        return plan.x1, inf
    return plan.bands[end].x0, plan.bands[end].x1
