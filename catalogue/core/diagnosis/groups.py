"""Which rails of a specimen are asked about together, because one cause would explain them together.

Dead supplies and grounds are one group and dead signals another, for what kills them differs. Signals through
something that nobody knows count with the dead ones; ways that the map knows to be no conductor are a group of
their own. When everything reads sound, the whole cable is the group: then it may be the device.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from catalogue.core.diagnosis.states import DEAD, MISWIRED, Rail, State
from catalogue.core.document import Role, Via

CARRIES_CURRENT = frozenset({Role.POWER, Role.GROUND, Role.SCREEN})


class GroupKind(StrEnum):
    SUPPLIES = "supplies"
    SIGNALS = "signals"
    PATHS = "paths"
    CABLE = "cable"


@dataclass(frozen=True)
class Group:
    kind: GroupKind
    rails: tuple[Rail, ...]

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(rail.name for rail in self.rails)


def is_signal(rail: Rail) -> bool:
    return rail.role not in CARRIES_CURRENT


def groups(rails: Sequence[Rail]) -> tuple[Group, ...]:
    """The groups that have to be explained: none while nothing is dead and something is unread or wired otherwise."""
    dead = [rail for rail in rails if rail.state in DEAD]
    unreadable = [rail for rail in rails if rail.state is State.NOT_READABLE]
    signals = [rail for rail in dead if is_signal(rail)] + [rail for rail in unreadable if rail.via is Via.UNKNOWN]
    by_kind = {
        GroupKind.SUPPLIES: [rail for rail in dead if not is_signal(rail)],
        GroupKind.SIGNALS: signals,
        GroupKind.PATHS: [rail for rail in unreadable if rail.via is not Via.UNKNOWN],
    }
    found = tuple(Group(kind, tuple(members)) for kind, members in by_kind.items() if members)
    if found or not rails or any(rail.state in MISWIRED or rail.state is State.UNREAD for rail in rails):
        return found
    return (Group(GroupKind.CABLE, tuple(rails)),)
