"""The map document as frozen values: how a cable model is wired, and the readings that bear it.

One `MapDocument` is one JSON document of format `corelore.map/1` (lengths in metres, resistance in ohms,
capacitance in farads, everywhere). The values here hold what was said, right or wrong: whether a cable can be
so is the business of `catalogue.core.rules`. Reading and writing JSON and CSV is `catalogue.exchange`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

FORMAT = "corelore.map/1"
CUSTOM_CONNECTOR = "custom"

Point = str
"""A probe point: `END:contact` (the colon before a terminal designation, IEC 61666), or `core@metres` in an opening."""


class Role(StrEnum):
    POWER = "power"
    GROUND = "ground"
    SCREEN = "screen"
    PAIR_POSITIVE = "pair+"
    PAIR_NEGATIVE = "pair-"
    SINGLE = "single"
    CONTROL = "control"
    UNKNOWN = "unknown"


class Form(StrEnum):
    """What an end looks like from outside; `loose` is bare cores without a connector."""

    PLUG = "plug"
    RECEPTACLE = "receptacle"
    LOOSE = "loose"
    UNKNOWN = "unknown"


class Holds(StrEnum):
    """What a module hides."""

    UNKNOWN = "unknown"
    PASSIVE = "passive"
    ACTIVE = "active"
    OPTICAL = "optical"


class CoreKind(StrEnum):
    COPPER = "copper"
    COAX_CENTRE = "coax-centre"
    SCREEN = "screen"
    DRAIN = "drain"
    FIBRE = "fibre"


class Via(StrEnum):
    """What a path goes through that is not one conductor."""

    FIBRE = "fibre"
    CAPACITOR = "capacitor"
    CHIP = "chip"
    UNKNOWN = "unknown"


class Basis(StrEnum):
    """How a path is known."""

    READ = "read"
    INFERRED = "inferred"
    DOCUMENTED = "documented"
    GUESSED = "guessed"


class PartKind(StrEnum):
    RESISTOR = "resistor"
    CAPACITOR = "capacitor"
    DIODE = "diode"


class MarkKind(StrEnum):
    KINK = "kink"
    CRUSH = "crush"
    ABRASION = "abrasion"
    CUT = "cut"
    BURN = "burn"
    STRAIN_RELIEF = "strain-relief"


class FaultKind(StrEnum):
    OPEN = "open"
    SHORT = "short"
    HIGH = "high"


class Mode(StrEnum):
    OHMS = "ohms"
    BEEP = "beep"
    SWEEP = "sweep"
    DIODE = "diode"
    FARADS = "farads"


class Result(StrEnum):
    """What the meter showed: a number, over limit (OL), a beep, or no beep."""

    VALUE = "value"
    OVER = "over"
    BEEPS = "beeps"
    SILENT = "silent"


@dataclass(frozen=True, slots=True)
class CableName:
    """Which cable model the map is of. `revision` is the maker's hardware revision, empty when not known."""

    maker: str
    model: str
    revision: str = ""
    devices: tuple[str, ...] = ()
    summary: str = ""


@dataclass(frozen=True, slots=True)
class End:
    """One connector of the cable.

    `connector` is the key of a standard connector or `custom`. `rows` are contacts as seen looking into the mating
    face, top row first, left to right; an empty string keeps a seat free. Rows are empty for a standard connector.
    """

    name: str
    connector: str
    form: Form = Form.UNKNOWN
    rows: tuple[tuple[str, ...], ...] = ()
    pitch_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Module:
    name: str
    holds: Holds = Holds.UNKNOWN


@dataclass(frozen=True, slots=True)
class Section:
    """The stretch of cable between two places. `length_m` is None when nobody measured it."""

    name: str
    start: str
    finish: str
    length_m: float | None = None


@dataclass(frozen=True, slots=True)
class Core:
    """One conductor or fibre inside a section.

    `carries` names the net or path it belongs to, empty when not known. `colours` are IEC 60757 codes, base first.
    """

    name: str
    section: str
    kind: CoreKind = CoreKind.COPPER
    colours: tuple[str, ...] = ()
    awg: float | None = None
    area_mm2: float | None = None
    bundle: str = ""
    carries: str = ""


@dataclass(frozen=True, slots=True)
class Net:
    """Contacts that are one conductor at direct current. `pair` is the common name of the two legs of a pair."""

    name: str
    contacts: tuple[Point, ...]
    role: Role = Role.UNKNOWN
    volts: float | None = None
    pair: str = ""


@dataclass(frozen=True, slots=True)
class Path:
    """A signal way from contact to contact that is not one conductor."""

    name: str
    via: Via
    start: Point
    finish: Point
    basis: Basis = Basis.GUESSED
    pair: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """A component between two nets; `value` is ohms, farads or volts by kind, None when not known."""

    kind: PartKind
    between: tuple[str, str]
    value: float | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    kind: MarkKind
    section: str
    at_m: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class Opening:
    section: str
    at_m: float


@dataclass(frozen=True, slots=True)
class Fault:
    """What is broken on the specimen read, not on the model: one net for open and high, two or more for short."""

    kind: FaultKind
    nets: tuple[str, ...]
    section: str = ""
    at_m: float | None = None


@dataclass(frozen=True, slots=True)
class Meter:
    """The meter's limits. Defaults are a common hand-held meter: common practice, each overridable in the document.

    `beep_ohms` is the span within which the buzzer's threshold lies: below the first it certainly beeps, above the
    second it certainly does not.
    """

    lead_ohms: float = 0.2
    contact_ohms: float = 0.5
    accuracy_pct: float = 0.8
    accuracy_digits: float = 2.0
    range_ohms: float = 40e6
    beep_ohms: tuple[float, float] = (20.0, 60.0)
    join_ohms: float = 10.0


@dataclass(frozen=True, slots=True)
class Reading:
    """One act with the meter: red probe on one point, black on one (or, for a sweep, dragged along several).

    `value` is ohms, volts or farads by mode, and is None exactly when `result` is not VALUE. `digit_ohms` is the
    weight of the last digit shown, `range_ohms` the range in use; None means as the meter section says.
    """

    id: str
    mode: Mode
    red: Point
    black: tuple[Point, ...]
    result: Result
    value: float | None = None
    digit_ohms: float | None = None
    range_ohms: float | None = None
    flexed: bool = False
    note: str = ""

    def __post_init__(self) -> None:
        if (self.value is None) is (self.result is Result.VALUE):
            raise ValueError("a reading has a value exactly when its result is a value")
        if not self.black or (len(self.black) > 1 and self.mode is not Mode.SWEEP):
            raise ValueError("only a sweep has several black points, and every reading has one")


@dataclass(frozen=True)
class MapDocument:
    """The claim how one cable model is wired, with what was read on a specimen."""

    cable: CableName
    ends: tuple[End, ...]
    modules: tuple[Module, ...] = ()
    splits: tuple[str, ...] = ()
    sections: tuple[Section, ...] = ()
    cores: tuple[Core, ...] = ()
    nets: tuple[Net, ...] = ()
    paths: tuple[Path, ...] = ()
    parts: tuple[Part, ...] = ()
    marks: tuple[Mark, ...] = ()
    openings: tuple[Opening, ...] = ()
    faults: tuple[Fault, ...] = ()
    meter: Meter = field(default_factory=Meter)
    readings: tuple[Reading, ...] = ()

    @cached_property
    def net_of_contact(self) -> dict[Point, str]:
        """Contact to the name of the first net that lists it."""
        owner: dict[Point, str] = {}
        for net in self.nets:
            for contact in net.contacts:
                owner.setdefault(contact, net.name)
        return owner

    @cached_property
    def place_names(self) -> tuple[str, ...]:
        """Ends, modules and splits, in the order of the document."""
        return (*(end.name for end in self.ends), *(module.name for module in self.modules), *self.splits)


def core_point(core: str, at_m: float) -> Point:
    """The probe point `core@metres`, written one way only: `core_point("k1", 3.10)` is `k1@3.1`."""
    return f"{core}@{at_m:.4f}".rstrip("0").rstrip(".")


def split_core_point(point: Point) -> tuple[str, float] | None:
    """Core and metres of a point in an opening, or None when the point is a contact."""
    core, mark, metres = point.rpartition("@")
    return (core, float(metres)) if mark else None


def end_of(contact: Point) -> str:
    """The end's name of a contact: `USB` of `USB:1`."""
    return contact.partition(":")[0]
