"""The wire list of a map: from which contacts to which contacts each conductor runs, and on what.

One row stands for one core in its section. Contacts of a net or path that no declared core reaches get a row
without a core, which joins them to the rest along the sections between; so no contact of a net is left out.
Rows are in the order of the nets, then of the paths, then come cores of which nobody knows what they carry.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import fsum

from catalogue.core.document import Core, MapDocument, Point, Section, end_of

Contacts = Mapping[str, tuple[Point, ...]]
"""The contacts of one net or path by the end they are on."""


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a row: a place, and the contacts of the net or path there (none at a module or split)."""

    place: str = ""
    contacts: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class WireRow:
    """One line of the wire list.

    `carries` is the net or path, empty when not known. `role` is the net's role, or `through fibre` and the
    like for a path. `sections` are those between the two sides, in order, and `length_m` their lengths
    together, None when one of them is not known. `core` is None where none was declared. A contact that is
    joined to nothing has an empty finish.
    """

    carries: str
    role: str
    start: Side
    finish: Side
    sections: tuple[str, ...] = ()
    length_m: float | None = None
    core: Core | None = None


def wire_list(document: MapDocument) -> tuple[WireRow, ...]:
    """The rows of a map. Names that the document does not declare give empty places, not errors."""
    return tuple(_rows(document))


def _rows(document: MapDocument) -> Iterator[WireRow]:
    sections = {section.name: section for section in document.sections}
    carried: dict[str, list[Core]] = {}
    for core in document.cores:
        carried.setdefault(core.carries, []).append(core)
    for net in document.nets:
        yield from _conductor(net.name, net.role, net.contacts, carried.pop(net.name, []), sections)
    for path in document.paths:
        contacts, cores = (path.start, path.finish), carried.pop(path.name, [])
        yield from _conductor(path.name, f"through {path.via}", contacts, cores, sections)
    for cores in carried.values():
        for core in cores:
            yield _core_row(core.carries, "", core, {}, sections)


def _conductor(
    name: str, role: str, points: Iterable[Point], cores: list[Core], sections: Mapping[str, Section]
) -> Iterator[WireRow]:
    contacts = _by_end(points)
    rows = [_core_row(name, role, core, contacts, sections) for core in cores]
    yield from rows
    reached = {side.place: None for row in rows for side in (row.start, row.finish)}
    if contacts and not rows:
        first = next(iter(contacts))
        reached[first] = None
        if len(contacts) == 1:
            yield _within(name, role, first, contacts[first])
    for end in contacts:
        if end not in reached:
            yield _joining_row(name, role, end, reached, contacts, sections)


def _by_end(points: Iterable[Point]) -> Contacts:
    contacts: dict[str, tuple[Point, ...]] = {}
    for point in points:
        contacts[end_of(point)] = (*contacts.get(end_of(point), ()), point)
    return contacts


def _core_row(name: str, role: str, core: Core, contacts: Contacts, sections: Mapping[str, Section]) -> WireRow:
    section = sections.get(core.section)
    if section is None:
        return WireRow(name, role, Side(), Side(), (core.section,), None, core)
    start, finish = (Side(place, contacts.get(place, ())) for place in (section.start, section.finish))
    return WireRow(name, role, start, finish, (section.name,), section.length_m, core)


def _within(name: str, role: str, end: str, contacts: tuple[Point, ...]) -> WireRow:
    """Contacts joined inside one end, or a single contact joined to nothing."""
    finish = Side(end, contacts[1:]) if len(contacts) > 1 else Side()
    return WireRow(name, role, Side(end, contacts[:1]), finish)


def _joining_row(
    name: str,
    role: str,
    end: str,
    reached: Iterable[str],
    contacts: Contacts,
    sections: Mapping[str, Section],
) -> WireRow:
    place, between = _shortest_way(reached, end, sections.values())
    lengths = [section.length_m for section in between]
    known = [length for length in lengths if length is not None]
    return WireRow(
        name,
        role,
        Side(place, contacts.get(place, ())),
        Side(end, contacts[end]),
        tuple(section.name for section in between),
        round(fsum(known), 4) if known and len(known) == len(lengths) else None,
    )


def _shortest_way(starts: Iterable[str], finish: str, sections: Iterable[Section]) -> tuple[str, tuple[Section, ...]]:
    """The start with the fewest sections to the finish, and those sections; none where no way leads there."""
    starts = list(starts)
    ways: dict[str, tuple[str, tuple[Section, ...]]] = {place: (place, ()) for place in starts}
    waiting = deque(starts)
    while waiting and finish not in ways:
        here = waiting.popleft()
        first, way = ways[here]
        for section in sections:
            for near, far in ((section.start, section.finish), (section.finish, section.start)):
                if near == here and far not in ways:
                    ways[far] = (first, (*way, section))
                    waiting.append(far)
    return ways.get(finish, (starts[0], ()))
