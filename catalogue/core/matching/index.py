"""The wiring of all maps, laid out so that one reading is held against 100,000 of them in one comparison.

Maps whose plugs have the same shapes form a group: a table with a row for each seat and a column for each map,
holding the number of the net at that seat. Two seats are joined in exactly those maps where their rows agree.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from catalogue.core.matching.plugs import PlugShape

CableShape = tuple[PlugShape, ...]
"""The shapes of all plugs of a map, sorted, for the order in which its author lists the ends says nothing."""

Nets = NDArray[np.uint8 | np.uint16]


@dataclass(frozen=True)
class Group:
    """All maps of one shape: `nets` has seats × maps net numbers, the seats plug by plug; ids of the maps."""

    shape: CableShape
    map_ids: NDArray[np.int64]
    nets: Nets

    def at(self, columns: NDArray[np.int64]) -> Group:
        """Some of its maps, by their place in it."""
        return Group(self.shape, self.map_ids[columns], np.ascontiguousarray(self.nets[:, columns]))


@dataclass(frozen=True)
class Index:
    """Every map that can be matched, once, in the group of its shape."""

    groups: Mapping[CableShape, Group]

    @cached_property
    def shapes_by_plug(self) -> Mapping[PlugShape, frozenset[CableShape]]:
        """For each shape of plug the shapes of cable that have it."""
        found: dict[PlugShape, set[CableShape]] = defaultdict(set)
        for shape in self.groups:
            for plug in shape:
                found[plug].add(shape)
        return {plug: frozenset(shapes) for plug, shapes in found.items()}

    def __len__(self) -> int:
        return sum(group.map_ids.size for group in self.groups.values())

    def changed(self, gone: Collection[int], added: Iterable[Group]) -> Index:
        """This index without the maps `gone` and with those of the groups `added`."""
        groups = dict(self.groups)
        if gone:
            ids = np.array(sorted(gone), np.int64)
            for shape, group in self.groups.items():
                kept = np.flatnonzero(~np.isin(group.map_ids, ids))
                if kept.size < group.map_ids.size:
                    groups[shape] = group.at(kept)
        for group in added:
            before = groups.get(group.shape)
            groups[group.shape] = _together(before, group) if before else group
        return Index(groups)


def group_of(shape: CableShape, map_ids: Sequence[int], nets: bytes) -> Group:
    """A group from the net numbers of its maps, map after map, each as little-endian 16-bit numbers."""
    table = np.frombuffer(nets, "<u2").reshape(len(map_ids), sum(plug.seats for plug in shape)).T
    small = not table.size or table.max() < 256
    return Group(shape, np.array(map_ids, np.int64), np.ascontiguousarray(table, np.uint8 if small else np.uint16))


def _together(one: Group, other: Group) -> Group:
    nets = np.concatenate((one.nets, other.nets), axis=1)
    return Group(one.shape, np.concatenate((one.map_ids, other.map_ids)), nets)
