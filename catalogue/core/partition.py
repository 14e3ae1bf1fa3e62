"""Points grouped into classes that can only merge: union-find with path halving."""

from __future__ import annotations

from collections.abc import Iterable

from catalogue.core.document import Point


class Partition:
    """At first each point is a class of its own. A class is known by the number of one of its points."""

    def __init__(self, points: Iterable[Point]) -> None:
        self.points = tuple(points)
        self._number = {point: number for number, point in enumerate(self.points)}
        self._parent = list(range(len(self.points)))

    def class_of(self, point: Point) -> int:
        return self._root(self._number[point])

    def merge(self, one: Point, other: Point) -> None:
        self.put(self.class_of(one), self.class_of(other))

    def put(self, gone: int, kept: int) -> None:
        """Makes one class of two; it is known by the number of the second."""
        self._parent[gone] = kept

    def index(self) -> dict[Point, int]:
        """The class of each point, as things stand."""
        return {point: self._root(number) for point, number in self._number.items()}

    def classes(self) -> tuple[tuple[Point, ...], ...]:
        """The classes and their points, both in the order of the points."""
        found: dict[int, list[Point]] = {}
        for point, number in self._number.items():
            found.setdefault(self._root(number), []).append(point)
        return tuple(map(tuple, found.values()))

    def _root(self, number: int) -> int:
        parent = self._parent
        while parent[number] != number:
            parent[number] = parent[parent[number]]
            number = parent[number]
        return number
