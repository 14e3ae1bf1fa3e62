"""What changed from one map to another: things added, removed and changed, nets renamed, contacts moved.

Things are known by their names. A net that was only renamed keeps its contacts, so it is told as renamed, and
what names it elsewhere counts as unchanged. Marks, openings, faults and parts have no names: they were there or
were not. The order of things says nothing, and readings are only counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Any, TypeAlias

from catalogue.core.document import MapDocument, Net, Part, Point

Facts: TypeAlias = Mapping[str, Any]
"""What a thing says of itself, by the names of its fields."""


class Thing(StrEnum):
    """What a map is made of, in the order in which changes are told."""

    CABLE = "cable"
    END = "end"
    MODULE = "module"
    SPLIT = "split"
    SECTION = "section"
    NET = "net"
    PATH = "path"
    CORE = "core"
    PART = "part"
    MARK = "mark"
    OPENING = "opening"
    FAULT = "fault"
    METER = "meter"


class Sign(StrEnum):
    ADDED = "added"
    REMOVED = "removed"
    CHANGED = "changed"


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One field of a thing, before and after, as the document's values have it."""

    field: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True)
class Change:
    """A thing that only one map has, with all it says, or that both have and say something else of.

    `name` is empty for what has none. `before` of what was added and `after` of what was removed are None.
    """

    thing: Thing
    sign: Sign
    name: str
    fields: tuple[FieldChange, ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """A contact that is in another net than before; an empty name is no net. `before` is the name after renaming."""

    contact: Point
    before: str
    after: str


@dataclass(frozen=True)
class Difference:
    """`renamed` has old and new names of nets whose contacts stayed; all else is told by the new names.

    A net's contacts are in `moved`, unless the net itself was added or removed.
    """

    renamed: tuple[tuple[str, str], ...]
    changes: tuple[Change, ...]
    moved: tuple[Moved, ...]
    readings_added: int
    readings_removed: int

    @property
    def is_empty(self) -> bool:
        return not (self.renamed or self.changes or self.moved or self.readings_added or self.readings_removed)


def difference(before: MapDocument, after: MapDocument) -> Difference:
    """What has to be done to one map to get the other. Work grows with the size of the two."""
    renames = renamed_nets(before, after)
    old = with_nets_renamed(before, renames)
    was, now = _things(old), _things(after)
    changes = [
        change
        for key in dict.fromkeys((*was, *now))
        if (change := _change(*key[:2], was.get(key), now.get(key))) is not None
    ]
    order = list(Thing)
    changes.sort(key=lambda change: order.index(change.thing))
    lost, gained = Counter(_readings(before)), Counter(_readings(after))
    return Difference(
        renamed=tuple(renames.items()),
        changes=tuple(changes),
        moved=tuple(_moved(old, after)),
        readings_added=(gained - lost).total(),
        readings_removed=(lost - gained).total(),
    )


def renamed_nets(before: MapDocument, after: MapDocument) -> dict[str, str]:
    """Old to new names of nets that have the same contacts, where neither name stands in the other map too."""
    old_names, new_names = _rail_names(before), _rail_names(after)
    waiting: dict[frozenset[Point], list[Net]] = {}
    for net in before.nets:
        if net.contacts and net.name not in new_names:
            waiting.setdefault(frozenset(net.contacts), []).append(net)
    renames: dict[str, str] = {}
    for net in after.nets:
        same = waiting.get(frozenset(net.contacts))
        if same and net.name not in old_names and net.name not in renames.values():
            renames.setdefault(same.pop(0).name, net.name)
    return renames


def with_nets_renamed(document: MapDocument, names: Mapping[str, str]) -> MapDocument:
    """The document with other names for some nets, wherever they are named."""

    def new(name: str) -> str:
        return names.get(name, name)

    return replace(
        document,
        nets=tuple(replace(net, name=new(net.name)) for net in document.nets),
        cores=tuple(replace(core, carries=new(core.carries)) for core in document.cores),
        parts=tuple(replace(part, between=(new(part.between[0]), new(part.between[1]))) for part in document.parts),
        faults=tuple(replace(fault, nets=tuple(map(new, fault.nets))) for fault in document.faults),
    )


_Key: TypeAlias = tuple[Thing, str, int, Any]
"""What things are told apart by: kind, name, which of those alike it is, and all of what has no name."""


def _things(document: MapDocument) -> dict[_Key, Facts]:
    found: dict[_Key, Facts] = {}
    named: list[tuple[Thing, str, Facts]] = [
        (Thing.CABLE, "", _facts(document.cable)),
        *((Thing.END, end.name, _facts(end, "name")) for end in document.ends),
        *((Thing.MODULE, module.name, _facts(module, "name")) for module in document.modules),
        *((Thing.SPLIT, name, {}) for name in document.splits),
        *((Thing.SECTION, section.name, _facts(section, "name")) for section in document.sections),
        *((Thing.NET, net.name, _net_facts(net)) for net in document.nets),
        *((Thing.PATH, path.name, _facts(path, "name")) for path in document.paths),
        *((Thing.CORE, core.name, _facts(core, "name")) for core in document.cores),
        (Thing.METER, "", _facts(document.meter)),
    ]
    nameless: list[tuple[Thing, Facts]] = [
        *((Thing.PART, _part_facts(part)) for part in document.parts),
        *((Thing.MARK, _facts(mark)) for mark in document.marks),
        *((Thing.OPENING, _facts(opening)) for opening in document.openings),
        *((Thing.FAULT, _facts(fault)) for fault in document.faults),
    ]
    alike: Counter[tuple[Thing, str, Any]] = Counter()
    for thing, name, facts, whole in (
        *((thing, name, facts, None) for thing, name, facts in named),
        *((thing, "", facts, tuple(facts.items())) for thing, facts in nameless),
    ):
        found[thing, name, alike[thing, name, whole], whole] = facts
        alike[thing, name, whole] += 1
    return found


def _facts(value: Any, *but: str) -> dict[str, Any]:
    return {field.name: getattr(value, field.name) for field in fields(value) if field.name not in but}


def _net_facts(net: Net) -> Facts:
    return _facts(net, "name") | {"contacts": tuple(sorted(set(net.contacts)))}


def _part_facts(part: Part) -> Facts:
    return _facts(part) | {"between": tuple(sorted(part.between))}


def _change(thing: Thing, name: str, was: Facts | None, now: Facts | None) -> Change | None:
    if was is None:
        return Change(thing, Sign.ADDED, name, tuple(FieldChange(key, None, told) for key, told in (now or {}).items()))
    if now is None:
        return Change(thing, Sign.REMOVED, name, tuple(FieldChange(key, told, None) for key, told in was.items()))
    # Where both maps have a net, its contacts are told as those that moved.
    kept = [key for key in was if (thing, key) != (Thing.NET, "contacts")]
    changed = tuple(FieldChange(key, was[key], now[key]) for key in kept if was[key] != now[key])
    return Change(thing, Sign.CHANGED, name, changed) if changed else None


def _moved(before: MapDocument, after: MapDocument) -> Iterator[Moved]:
    was, now = before.net_of_contact, after.net_of_contact
    for contact in sorted(was.keys() | now.keys()):
        old, new = was.get(contact, ""), now.get(contact, "")
        if old != new:
            yield Moved(contact, old, new)


def _rail_names(document: MapDocument) -> set[str]:
    return {*(net.name for net in document.nets), *(path.name for path in document.paths)}


def _readings(document: MapDocument) -> Iterable[Any]:
    return (replace(reading, id="") for reading in document.readings)
