"""The published tables of `fixtures/tables`, read once into a `Reference`.

Every row there has a source and a basis, and is kept as it was found: what the tables call a shield or a
positive leg is given the map document's word for it here, when it is read.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from catalogue.core.diagnosis.evidence import Evidence, Explanation, Weight, Weights
from catalogue.core.document import Form, Role
from catalogue.core.failures import Symptom
from catalogue.core.gauge import SOLD_AWG, STRANDED, Sizing, Wire
from catalogue.core.reference import (
    Colour,
    ColourScheme,
    Face,
    KnownResistor,
    Limit,
    Outline,
    PairImpedance,
    Reference,
    Seat,
    StandardCable,
    StandardConnector,
    StandardContact,
)

TABLES = Path(__file__).resolve().parent.parent / "fixtures" / "tables"

ROLES = {
    "power": Role.POWER,
    "ground": Role.GROUND,
    "shield": Role.SCREEN,
    "diff_pos": Role.PAIR_POSITIVE,
    "diff_neg": Role.PAIR_NEGATIVE,
    "single_ended": Role.SINGLE,
    "control": Role.CONTROL,
    "reserved": Role.UNKNOWN,
}
BASES = frozenset({"published", "memory", "common practice", "judgement"})
EMPTY_SEAT = "not present"
BEFORE = "before"
COLOURS = "iec60757"
CHARACTERISTIC = "characteristic"
JOIN = "join"
KINDS = (JOIN, "local-a", "local-b")

STRANDED_KINDS = frozenset({"iec60228-class5", "vde-small"})
SI_UNITS = {"mA": ("A", 1e-3), "mV": ("V", 1e-3), "mohm": ("ohm", 1e-3)}

Row = dict[str, str]
Value = TypeVar("Value")


class BadTable(ValueError):
    """A row of a table that cannot be read; the text names the file and the line."""


@cache
def reference() -> Reference:
    """All published tables as one value, read from the project's own files on the first call.

    Raises `BadTable` when a row cannot be read.
    """
    return read_reference(TABLES)


def read_reference(folder: Path) -> Reference:
    """The tables of one folder. Raises `BadTable` for a bad row, `FileNotFoundError` for a missing file."""
    connectors = _connectors(folder)
    return Reference(
        connectors=MappingProxyType(connectors),
        cables=_cables(folder, connectors),
        colours=MappingProxyType(_colours(folder)),
        schemes=MappingProxyType(_schemes(folder)),
        awg_ohms_per_m=MappingProxyType(_awg_ohms_per_m(folder)),
    )


@cache
def weights() -> Weights:
    """How much each evidence weighs for each explanation of a dead rail, read on the first call.

    Raises `BadTable` when a row cannot be read, is there twice or is missing.
    """
    return read_weights(TABLES)


def read_weights(folder: Path) -> Weights:
    """The weights of one folder's `evidence.csv`. Raises `BadTable`."""
    path = folder / "evidence.csv"
    found: defaultdict[str, dict[Explanation, Weight]] = defaultdict(dict)

    def put(row: Row) -> None:
        evidence, explanation = row["evidence"], Explanation(row["explanation"])
        if evidence != BEFORE:
            Evidence(evidence)
        if explanation in found[evidence]:
            raise ValueError(f"a second weight of {evidence} for {explanation}")
        if not row["why"]:
            raise ValueError("a weight needs a sentence that says why")
        found[evidence][explanation] = Weight(float(row["decibans"]), row["why"])

    for _ in _values(path, put):
        pass
    try:
        return Weights(found.pop(BEFORE, {}), {Evidence(name): weights for name, weights in found.items()})
    except ValueError as error:
        raise BadTable(f"{path.name}: {error}") from error


def _connectors(folder: Path) -> dict[str, StandardConnector]:
    contacts = _grouped(folder / "connectors.csv", "connector", _contact)
    seats = _grouped(folder / "faces.csv", "connector", _seat)

    def connector(row: Row) -> StandardConnector:
        key = row["key"]
        face = Face(
            outline=Outline(row["outline"]),
            width_mm=float(row["width_mm"]),
            height_mm=float(row["height_mm"]),
            seats=tuple(sorted(seats[key], key=lambda seat: (seat.row, seat.x_mm))),
            source=row["source"],
            basis=row["basis"],
            form=Form(row["form"]),
        )
        return StandardConnector(key, row["title"], tuple(contacts[key]), face)

    return {found.key: found for found in _values(folder / "connector_titles.csv", connector)}


def _contact(row: Row) -> StandardContact:
    return StandardContact(
        contact=row["contact"],
        signal=row["signal"],
        role=ROLES[row["role"]],
        pair=row["pair"],
        volts=float(row["volts"]) if row["volts"] else None,
        present=row["signal"] != EMPTY_SEAT,
        source=row["source"],
        basis=row["basis"],
        notes=row["notes"],
    )


def _seat(row: Row) -> Seat:
    return Seat(row["contact"], int(row["row"]), float(row["x_mm"]), float(row["y_mm"]))


def _cables(folder: Path, connectors: Mapping[str, StandardConnector]) -> tuple[StandardCable, ...]:
    """One cable from all rows of its key. Its sources and bases are all those that its rows name."""

    def checked(row: Row) -> Row:
        kind = row["kind"]
        if kind not in KINDS:
            raise ValueError(f"kind {kind!r} is none of {', '.join(KINDS)}")
        for side in "ab":
            home = side if kind == JOIN else kind[-1]
            connectors[row[f"connector_{home}"]].by_contact[row[f"contact_{side}"]]
        return row

    return tuple(_cable(key, rows) for key, rows in _grouped(folder / "standard_cables.csv", "cable", checked).items())


def _cable(key: str, rows: list[Row]) -> StandardCable:
    joins = [row for row in rows if row["kind"] == JOIN]
    local = [row for row in rows if row["kind"] != JOIN]
    return StandardCable(
        key=key,
        title=rows[0]["title"],
        connector_a=rows[0]["connector_a"],
        connector_b=rows[0]["connector_b"],
        joins=frozenset((row["contact_a"], row["contact_b"]) for row in joins),
        local=frozenset((row["kind"][-1], row["contact_a"], row["contact_b"]) for row in local),
        source="; ".join(dict.fromkeys(row["source"] for row in rows)),
        basis=", ".join(dict.fromkeys(row["basis"] for row in rows)),
    )


def _colours(folder: Path) -> dict[str, Colour]:
    """The codes of IEC 60757, and any single colour that only another published order names, as aqua does."""
    colours: dict[str, Colour] = {}
    rows = [row for row in _values(folder / "wire_colours.csv", dict) if row["code"]]
    for row in sorted(rows, key=lambda row: row["scheme"] != COLOURS):
        if row["scheme"] == COLOURS or not row["hex_second"]:
            colours.setdefault(row["code"], _colour(row))
    return colours


def _colour(row: Row) -> Colour:
    return Colour(row["code"], row["name"], row["hex"], row["source"], row["basis"], row["hex_second"])


def _schemes(folder: Path) -> dict[str, ColourScheme]:
    def entry(row: Row) -> tuple[tuple[str, tuple[str, ...], str], str]:
        codes = tuple(row["code"][at : at + 2] for at in range(0, len(row["code"]), 2))
        return (row["position"], codes, row["role"]), row["source"]

    found = _grouped(folder / "wire_colours.csv", "scheme", entry)
    return {
        key: ColourScheme(
            key,
            tuple(entry for entry, _ in entries),
            "; ".join(dict.fromkeys(source for _, source in entries)),
        )
        for key, entries in found.items()
        if key != COLOURS
    }


def _awg_ohms_per_m(folder: Path) -> dict[float, float]:
    """Gauge to ohms per metre of solid copper at 20 °C, by the formula of ASTM B258."""

    def gauge(row: Row) -> tuple[float, float] | None:
        if row["kind"] != "awg":
            return None
        return float(row["key"].removeprefix("AWG ")), float(row["r20_formula_ohm_per_km"]) / 1000

    return dict(pair for pair in _values(folder / "conductors.csv", gauge) if pair is not None)


@cache
def limits() -> Mapping[str, Limit]:
    """The published limits that are one number, by key, in SI units. Raises `BadTable`."""

    def limit(row: Row) -> Limit | None:
        try:
            given = float(row["value"])
        except ValueError:
            return None  # the row says it in words
        unit, factor = SI_UNITS.get(row["unit"], (row["unit"], 1.0))
        return Limit(row["key"], given * factor, unit, row["meaning"], row["source"], row["basis"])

    found = _values(TABLES / "limits.csv", limit)
    return MappingProxyType({row.key: row for row in found if row is not None})


@cache
def wires() -> tuple[Wire, ...]:
    """Stranded copper wires as they are sold, by American gauge and by area. Raises `BadTable`."""

    def wire(row: Row) -> Wire | None:
        name, source = row["key"], row["source"]
        if row["kind"] == "awg" and int(name.removeprefix("AWG ")) in SOLD_AWG:
            ohms_per_m = float(row["r20_formula_ohm_per_km"]) / 1000 * STRANDED
            return Wire(name, Sizing.AWG, float(row["area_mm2"]), ohms_per_m, source)
        if row["kind"] in STRANDED_KINDS:
            ohms_per_m = float(row["r20_tinned_ohm_per_km"]) / 1000
            return Wire(name, Sizing.METRIC, float(row["area_mm2"]), ohms_per_m, source)
        return None

    return tuple(row for row in _values(TABLES / "conductors.csv", wire) if row is not None)


@cache
def pair_impedances() -> tuple[PairImpedance, ...]:
    """The impedance of pairs by the standards of their connectors. Raises `BadTable`."""

    def impedance(row: Row) -> PairImpedance:
        tolerance_ohms = float(row["tolerance_ohms"]) if row["tolerance_ohms"] else None
        return PairImpedance(
            row["connector"], row["pair"], float(row["ohms"]), tolerance_ohms, row["source"], row["basis"]
        )

    return tuple(_values(TABLES / "pair_impedances.csv", impedance))


@cache
def known_resistors() -> tuple[KnownResistor, ...]:
    """The identification parts that are resistors with both limits given. Raises `BadTable`."""

    def resistor(row: Row) -> KnownResistor | None:
        # What a line shows to a fast signal is no resistor that a meter could read.
        if row["unit"] != "ohm" or not row["min"] or not row["max"] or CHARACTERISTIC in row["where"]:
            return None
        least_ohms, most_ohms = float(row["min"]), float(row["max"])
        return KnownResistor(row["key"], least_ohms, most_ohms, row["where"], row["notes"], row["source"], row["basis"])

    return tuple(part for part in _values(TABLES / "id_components.csv", resistor) if part is not None)


@cache
def symptom_phrases() -> Mapping[str, Symptom]:
    """What people call a symptom, and the symptom they mean. Raises `BadTable`."""

    def phrase(row: Row) -> tuple[str, Symptom]:
        return row["phrase"], Symptom(row["symptom"])

    return MappingProxyType(dict(_values(TABLES / "symptom_phrases.csv", phrase)))


def _grouped(path: Path, column: str, read: Callable[[Row], Value]) -> dict[str, list[Value]]:
    """Values by the key in one column, in the order of the file."""
    groups: defaultdict[str, list[Value]] = defaultdict(list)
    for key, value in _values(path, lambda row: (row[column], read(row))):
        groups[key].append(value)
    return dict(groups)


def _values(path: Path, read: Callable[[Row], Value]) -> Iterator[Value]:
    """`read` of each row. A row without source and basis, or that `read` cannot take, is a `BadTable`."""
    with path.open(encoding="utf-8", newline="") as file:
        table = csv.DictReader(file)
        for row in table:
            try:
                if not row["source"] or row["basis"] not in BASES:
                    raise ValueError("a row needs a source, and a basis among " + ", ".join(sorted(BASES)))
                value = read(row)
            except KeyError as error:
                raise BadTable(f"{path.name} line {table.line_num}: {error} is not known") from error
            except (TypeError, ValueError) as error:
                raise BadTable(f"{path.name} line {table.line_num}: {error}") from error
            yield value
