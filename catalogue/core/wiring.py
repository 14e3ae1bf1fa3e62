"""The contacts a map declares, and its nets completed from its readings.

An author may map a cable by readings alone. What the readings prove joined is then a net too, named after the
standard contact it reaches where there is one, so that drawings and lists show the whole cable.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from itertools import count

from catalogue.core.document import CUSTOM_CONNECTOR, End, MapDocument, Net, Point, Role, end_of
from catalogue.core.nets import deduce
from catalogue.core.reference import Reference, StandardContact


def all_contacts(document: MapDocument, reference: Reference) -> tuple[Point, ...]:
    """Every contact the ends declare, as `END:contact`: the rows of custom ends, the seats a standard
    connector fills.

    In the order of the ends, rows from the top, left to right; of a standard connector in the order of its
    table. A connector that the reference does not know has no contacts.
    """
    return tuple(
        dict.fromkeys(f"{end.name}:{contact}" for end in document.ends for contact in _contacts_of(end, reference))
    )


def _contacts_of(end: End, reference: Reference) -> Iterable[str]:
    if end.connector == CUSTOM_CONNECTOR:
        return (contact for row in end.rows for contact in row if contact)
    standard = reference.connectors.get(end.connector)
    return (contact.contact for contact in standard.contacts if contact.present) if standard else ()


def contact_rows(document: MapDocument, reference: Reference) -> tuple[tuple[Point, ...], ...]:
    """The contacts of each row of each mating face, left to right, as a probe can be dragged along them.

    An empty text stands for a free seat, and for one that a standard leaves empty in a cable's plug.
    """
    contacts = set(all_contacts(document, reference))
    faces = [(end, _face(end, reference)) for end in document.ends]
    named = (
        tuple(f"{end.name}:{contact}" if contact else "" for contact in row) for end, rows in faces for row in rows
    )
    return tuple(tuple(point if point in contacts else "" for point in row) for row in named)


def _face(end: End, reference: Reference) -> tuple[tuple[str, ...], ...]:
    standard = reference.connectors.get(end.connector)
    return end.rows if end.connector == CUSTOM_CONNECTOR or standard is None else standard.face.rows


def with_deduced_nets(document: MapDocument, reference: Reference) -> MapDocument:
    """The document with a net for every group of contacts that the readings prove joined and the author
    left out.

    Declared nets stay as they are: contacts that are joined to a declared net without being listed in it
    form no net of their own, and contacts alone stay in none. A net takes name, role, volts and pair from
    the standard contacts in it: role and volts where they agree, the name and the pair from the first of
    them (a crossed pair has another name at its far end). Without any it is called `N1`, `N2` and so on.
    """
    contacts = all_contacts(document, reference)
    declared = document.net_of_contact
    known = set(contacts)
    groups = [
        tuple(point for point in net if point in known)
        for net in deduce(contacts, document.readings, document.meter).nets
        if not any(point in declared for point in net)
    ]
    extra = nets_of_groups(document, reference, [group for group in groups if len(group) > 1])
    return replace(document, nets=document.nets + extra) if extra else document


def nets_of_groups(document: MapDocument, reference: Reference, groups: Iterable[tuple[Point, ...]]) -> tuple[Net, ...]:
    """A net for each group of contacts, named as `with_deduced_nets` does, none like a net or path of the document."""
    naming = _Naming(document, standard_contacts(document, reference))
    return tuple(map(naming.net, groups))


def standard_contacts(document: MapDocument, reference: Reference) -> dict[Point, StandardContact]:
    """What the standards of its connectors say about the contacts of a document; seats left empty included."""
    return {
        f"{end.name}:{contact.contact}": contact
        for end in document.ends
        if (standard := reference.connectors.get(end.connector))
        for contact in standard.contacts
    }


class _Naming:
    """Names nets so that no two share a name, and no two ends share a pair that is not one pair."""

    def __init__(self, document: MapDocument, standard: Mapping[Point, StandardContact]) -> None:
        self._standard = standard
        self._names = {net.name for net in document.nets} | {path.name for path in document.paths}
        self._pairs: dict[tuple[str, str], str] = {}
        for net in document.nets:
            if net.pair:
                for contact, known in self._known(net.contacts):
                    self._pairs.setdefault((end_of(contact), known.pair), net.pair)
        self._pair_names = {net.pair for net in document.nets} | {path.pair for path in document.paths}

    def net(self, contacts: tuple[Point, ...]) -> Net:
        known = self._known(contacts)
        roles = {contact.role for _, contact in known}
        volts = {contact.volts for _, contact in known}
        return Net(
            name=self._name(known),
            contacts=contacts,
            role=roles.pop() if len(roles) == 1 else Role.UNKNOWN,
            volts=volts.pop() if len(volts) == 1 else None,
            pair=self._pair(known),
        )

    def _known(self, contacts: Iterable[Point]) -> list[tuple[Point, StandardContact]]:
        return [(contact, self._standard[contact]) for contact in contacts if contact in self._standard]

    def _name(self, known: list[tuple[Point, StandardContact]]) -> str:
        # Standard tables explain a signal in brackets behind its name, which is too long for a net's name.
        signal = next((contact.signal.partition(" (")[0] for _, contact in known if contact.signal), "")
        wanted = _numbered(signal) if signal else (f"N{number}" for number in count(1))
        name = _first_free(wanted, self._names)
        self._names.add(name)
        return name

    def _pair(self, known: list[tuple[Point, StandardContact]]) -> str:
        """Both legs of a pair get one name through the end they share; the far end may call it another."""
        if not known or not all(contact.pair for _, contact in known):
            return ""
        key = (end_of(known[0][0]), known[0][1].pair)
        if key not in self._pairs:
            self._pairs[key] = _first_free(_numbered(key[1]), self._pair_names)
            self._pair_names.add(self._pairs[key])
        return self._pairs[key]


def _numbered(name: str) -> Iterable[str]:
    """`GND`, `GND-2`, `GND-3` and so on."""
    yield name
    for number in count(2):
        yield f"{name}-{number}"


def _first_free(wanted: Iterable[str], taken: Collection[str]) -> str:
    return next(name for name in wanted if name not in taken)
