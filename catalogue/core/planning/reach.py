"""What a probe can be put on in one act: a single contact, or an unbroken run of contacts of one row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.core.document import Point

EVERY_RUN = 4_000
"""With more runs than this only some are weighed: of lengths that grow by halves, one after the other."""


@dataclass(frozen=True)
class Reach:
    """`rows` hold numbers of points, left to right; `runs` are what one act can touch, each a tuple of numbers.

    Every point is a run by itself. Without `sweeps` there are no others.
    """

    points: tuple[Point, ...]
    rows: tuple[tuple[int, ...], ...]
    runs: tuple[tuple[int, ...], ...]

    @classmethod
    def of(cls, points: Sequence[Point], rows: Sequence[Sequence[Point]], sweeps: bool = True) -> Reach:
        """Points of the rows that are not among `points` are left out, and break the run."""
        number = {point: place for place, point in enumerate(points)}
        pieces = [piece for row in rows for piece in _pieces([number.get(point) for point in row])]
        runs: dict[tuple[int, ...], None] = {(place,): None for place in range(len(points))}
        if sweeps:
            is_many = sum(len(piece) * (len(piece) + 1) // 2 for piece in pieces) > EVERY_RUN
            for piece in pieces:
                runs |= dict.fromkeys(_some_runs(piece) if is_many else _every_run(piece))
        return cls(tuple(points), tuple(pieces), tuple(runs))

    def touches(self, net: NDArray[np.intp], nets: int) -> NDArray[np.bool_]:
        """Of shape (nets, runs): whether a run touches a net. `net` is the net of each point."""
        found = np.zeros((nets, len(self.runs)), dtype=bool)
        for place, run in enumerate(self.runs):
            found[net[list(run)], place] = True
        return found


def _pieces(row: Sequence[int | None]) -> Iterator[tuple[int, ...]]:
    piece: list[int] = []
    for place in (*row, None):
        if place is not None:
            piece.append(place)
        elif piece:
            yield tuple(piece)
            piece = []


def _every_run(piece: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    for start in range(len(piece)):
        for stop in range(start + 1, len(piece) + 1):
            yield piece[start:stop]


def _some_runs(piece: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    length = 2
    while length < len(piece):
        for start in range(0, len(piece), length):
            yield piece[start : start + length]
        length += max(1, length // 2)
    yield piece
