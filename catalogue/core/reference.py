"""Published facts as values: standard connectors with their faces, standard cables, colours, copper.

The values are read from `fixtures/tables` by `catalogue.tables`; every row there has a source and a basis
(published, memory, common practice). The core only receives them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import pairwise

from catalogue.core.document import Form, Role


class Outline(StrEnum):
    """The shape around the contacts as seen looking into the mating face."""

    RECTANGLE = "rectangle"
    ROUNDED = "rounded"
    D_SHAPE = "d-shape"
    CIRCLE = "circle"


@dataclass(frozen=True, slots=True)
class StandardContact:
    """One contact of a standard connector. `present` is False for a seat that a cable's plug leaves empty."""

    contact: str
    signal: str
    role: Role
    pair: str
    volts: float | None
    present: bool
    source: str
    basis: str
    notes: str


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a contact sits in the mating face: mm right of and below its centre, and its row (0 on top)."""

    contact: str
    row: int
    x_mm: float
    y_mm: float


@dataclass(frozen=True)
class Face:
    """A connector as seen looking into the mating face. Seats are in row order, left to right.

    `form` says of which form the face is; the other form of the same connector is its mirror image.
    """

    outline: Outline
    width_mm: float
    height_mm: float
    seats: tuple[Seat, ...]
    source: str
    basis: str
    form: Form = Form.PLUG

    @cached_property
    def rows(self) -> tuple[tuple[str, ...], ...]:
        """Contacts by row, top row first."""
        rows: dict[int, list[str]] = {}
        for seat in self.seats:
            rows.setdefault(seat.row, []).append(seat.contact)
        return tuple(tuple(rows[row]) for row in sorted(rows))

    @cached_property
    def rows_with_gaps(self) -> tuple[tuple[str, ...], ...]:
        """The same with an empty name for each seat that a row leaves out, where no probe can be dragged on."""
        places = {seat.contact: seat.x_mm for seat in self.seats}
        return tuple(tuple(_with_gaps(row, [places[contact] for contact in row])) for row in self.rows)


def _with_gaps(row: Sequence[str], places_mm: Sequence[float]) -> Iterator[str]:
    """The contacts of a row, parted by an empty name for each pitch that is left out between two of them."""
    steps = [after - before for before, after in pairwise(places_mm)]
    for contact, step in zip(row, [0.0, *steps], strict=True):
        yield from [""] * (round(step / min(steps)) - 1 if step else 0)
        yield contact


@dataclass(frozen=True)
class StandardConnector:
    key: str
    title: str
    contacts: tuple[StandardContact, ...]
    face: Face

    @cached_property
    def by_contact(self) -> dict[str, StandardContact]:
        return {contact.contact: contact for contact in self.contacts}


@dataclass(frozen=True)
class StandardCable:
    """A cable that a standard or a handbook describes contact by contact, between two standard connectors.

    `joins` holds (contact of connector a, contact of connector b); `local` holds pairs of contacts joined
    within one connector, as ("a" or "b", contact, contact).
    """

    key: str
    title: str
    connector_a: str
    connector_b: str
    joins: frozenset[tuple[str, str]]
    local: frozenset[tuple[str, str, str]]
    source: str
    basis: str


@dataclass(frozen=True, slots=True)
class Colour:
    """One IEC 60757 colour. The hex value is the project's own choice for drawing it.

    `hex_second` is empty but for green-and-yellow, the one code of the standard that means two colours.
    """

    code: str
    name: str
    hex: str
    source: str
    basis: str
    hex_second: str = ""


@dataclass(frozen=True, slots=True)
class ColourScheme:
    """A published order of core colours, e.g. the 44 of DIN 47100: entries are (position, codes, meaning)."""

    key: str
    entries: tuple[tuple[str, tuple[str, ...], str], ...]
    source: str


@dataclass(frozen=True, slots=True)
class Limit:
    """One published limit that is a number: `value` in SI units, named by `unit`."""

    key: str
    value: float
    unit: str
    meaning: str
    source: str
    basis: str


@dataclass(frozen=True, slots=True)
class PairImpedance:
    """The impedance between the legs of a pair that a connector's standard asks for.

    `tolerance_ohms` is None where the row gives none.
    """

    connector: str
    pair: str
    ohms: float
    tolerance_ohms: float | None
    source: str
    basis: str


@dataclass(frozen=True, slots=True)
class KnownResistor:
    """A resistor by which cables, plugs or chargers identify themselves, with the span of its values.

    `where` describes between what it sits; the first words of `key` say in which connectors.
    """

    key: str
    least_ohms: float
    most_ohms: float
    where: str
    notes: str
    source: str
    basis: str


@dataclass(frozen=True)
class Reference:
    """Everything published that the rules and drawings look up."""

    connectors: Mapping[str, StandardConnector]
    cables: tuple[StandardCable, ...]
    colours: Mapping[str, Colour]
    schemes: Mapping[str, ColourScheme]
    awg_ohms_per_m: Mapping[float, float]
