"""How a specimen ought to be wired: as its map says, else as a standard cable, else as its standard contacts promise.

`expected` gives the document the nets that its readings are held against. A map's nets stay as they are.
Without a map, two ends that a published standard cable joins get that cable's nets. Where there is no such
cable, the contacts of one supply or ground are a net, to which belongs what the readings join to it and no standard
forbids; every signal of a standard contact is one that should lead on.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from catalogue.core.document import MapDocument, Point, Role, end_of
from catalogue.core.nets import deduce
from catalogue.core.partition import Partition
from catalogue.core.reference import Reference, StandardCable, StandardContact
from catalogue.core.wiring import all_contacts, nets_of_groups, standard_contacts

TO_THE_FAR_END = frozenset(Role) - {Role.UNKNOWN, Role.SCREEN}
"""Roles of standard contacts that a cable is expected to carry on: a shell often ends where it is."""

Standards = Mapping[Point, StandardContact]


@dataclass(frozen=True)
class Expectation:
    """The specimen's document with the nets it should have.

    `leading` names the nets at one end that should lead to another, nobody knows to which contact. `standard` is
    the key of the standard cable that the nets are from, empty when they are from elsewhere.
    """

    document: MapDocument
    leading: frozenset[str] = frozenset()
    standard: str = ""


def expected(document: MapDocument, reference: Reference) -> Expectation:
    """The nets to hold the readings of `document` against."""
    if document.nets or document.paths:
        return Expectation(document)
    for cable in reference.cables:
        groups = _groups(document, reference, cable)
        if groups:
            nets = nets_of_groups(document, reference, groups)
            return Expectation(replace(document, nets=nets), standard=cable.key)
    standards = standard_contacts(document, reference)
    promised = _promised(document, reference, standards)
    nets = nets_of_groups(document, reference, promised)
    leading = [net.name for net in nets if len(set(map(end_of, net.contacts))) == 1 and len(document.ends) > 1]
    return Expectation(replace(document, nets=nets), frozenset(leading))


def _groups(document: MapDocument, reference: Reference, cable: StandardCable) -> tuple[tuple[Point, ...], ...]:
    """The contacts that a standard cable joins between the two ends; empty where it does not fit them."""
    connectors = [end.connector for end in document.ends]
    if connectors == [cable.connector_a, cable.connector_b]:
        a, b = (end.name for end in document.ends)
    elif connectors == [cable.connector_b, cable.connector_a]:
        b, a = (end.name for end in document.ends)
    else:
        return ()
    contacts = Partition(all_contacts(document, reference))
    known = set(contacts.points)
    pairs = [(f"{a}:{one}", f"{b}:{other}") for one, other in cable.joins]
    pairs += [
        (f"{a if side == 'a' else b}:{one}", f"{a if side == 'a' else b}:{other}") for side, one, other in cable.local
    ]
    for one, other in pairs:
        if one in known and other in known:
            contacts.merge(one, other)
    return tuple(group for group in contacts.classes() if len(group) > 1)


def _promised(document: MapDocument, reference: Reference, standards: Standards) -> list[tuple[Point, ...]]:
    """What hangs together by the readings and by the standard of each end, as far as no standard forbids it; and
    each contact by itself whose signal a cable is expected to carry on."""
    contacts = Partition(all_contacts(document, reference))
    known = set(contacts.points)
    for net in deduce(contacts.points, document.readings, document.meter).nets:
        for group in _agreeing([point for point in net if point in known], standards):
            for point in group[1:]:
                contacts.merge(group[0], point)
    first: dict[tuple[str, str], Point] = {}
    for point in contacts.points:
        if point in standards and standards[point].role in (Role.POWER, Role.GROUND):
            contacts.merge(first.setdefault((end_of(point), standards[point].signal), point), point)
    return [group for group in contacts.classes() if len(group) > 1 or _leads_on(group[0], standards)]


def _leads_on(point: Point, standards: Standards) -> bool:
    return point in standards and standards[point].role in TO_THE_FAR_END


def _agreeing(points: Iterable[Point], standards: Standards) -> list[list[Point]]:
    """Contacts that readings join, parted where no cable may join them: then by what they carry, and contacts of
    which nobody knows that by themselves."""
    by_kind: defaultdict[object, list[Point]] = defaultdict(list)
    for point in points:
        by_kind[_kind(standards.get(point))].append(point)
    unknown = by_kind.pop(None, [])
    if len(by_kind) <= 1 and all(_is_one_signal(group, standards) for group in by_kind.values()):
        return [[point for group in (*by_kind.values(), unknown) for point in group]]
    return [group for group in by_kind.values() if _is_one_signal(group, standards)]


def _kind(contact: StandardContact | None) -> object:
    """What may be one conductor: supplies of like volts, grounds and screens, signals of one role."""
    if contact is None or contact.role is Role.UNKNOWN:
        return None
    if contact.role is Role.POWER:
        return contact.role, contact.volts
    return Role.GROUND if contact.role is Role.SCREEN else contact.role


def _is_one_signal(group: Iterable[Point], standards: Standards) -> bool:
    """Whether no end has two signals in a group; supplies, grounds and screens may be many contacts."""
    signals = {(end_of(point), standards[point].signal) for point in group if not _carries_current(standards[point])}
    return max(Counter(end for end, _ in signals).values(), default=0) <= 1


def _carries_current(contact: StandardContact) -> bool:
    return contact.role in (Role.POWER, Role.GROUND, Role.SCREEN)
