"""JSON objects to the frozen values of the core and back, by one table of fields for each kind of value.

Reading expects an object that the schema has accepted. Writing leaves out what is at its default and keeps
the order of the schema, so equal values give equal text. Where a field's name depends on the value (what a
core carries, what a reading shows) a small function stands beside the table.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Generic, TypeVar

from catalogue.core.document import (
    FORMAT,
    Basis,
    CableName,
    Core,
    CoreKind,
    End,
    Fault,
    FaultKind,
    Form,
    Holds,
    MapDocument,
    Mark,
    MarkKind,
    Meter,
    Mode,
    Module,
    Net,
    Opening,
    Part,
    PartKind,
    Path,
    Point,
    Reading,
    Result,
    Role,
    Section,
    Via,
    core_point,
    split_core_point,
)

Json = dict[str, Any]
Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Field:
    """A JSON key, the attribute when called otherwise, and how its value is read and written."""

    key: str
    attribute: str = ""
    read: Callable[[Any], Any] = str
    write: Callable[[Any], Any] = str

    @property
    def name(self) -> str:
        return self.attribute or self.key


@dataclass(frozen=True)
class Shape(Generic[Value]):
    """How a value of the core stands in JSON: its fields in the order of the schema."""

    kind: type[Value]
    fields: tuple[Field, ...]

    @cached_property
    def defaults(self) -> dict[str, Any]:
        return {field.name: field.default for field in dataclasses.fields(self.kind)}  # type: ignore[arg-type]

    def read(self, plain: Json, **more: Any) -> Value:
        """The value, with attributes in `more` that no single field holds."""
        given = {field.name: field.read(plain[field.key]) for field in self.fields if field.key in plain}
        return self.kind(**given, **more)

    def write(self, value: Value) -> Json:
        plain = {}
        for field in self.fields:
            held = getattr(value, field.name)
            if held != self.defaults[field.name]:
                plain[field.key] = field.write(held)
        return plain


def number(value: float) -> int | float:
    """A number as it is written: whole ones without a point, as in `5` for 5.0."""
    return int(value) if float(value).is_integer() and abs(value) < 1e15 else value


def read_point(text: str) -> Point:
    """A probe point in its one way of writing: `k1@3.10` becomes `k1@3.1`."""
    in_opening = split_core_point(text)
    return core_point(*in_opening) if in_opening else text


def read_document(plain: Json) -> MapDocument:
    """Build the values from an object that the schema has accepted."""
    lists = {key: tuple(map(read, plain.get(key, ()))) for key, (read, _) in _LISTS.items()}
    return MapDocument(cable=CABLE.read(plain["cable"]), meter=METER.read(plain.get("meter", {})), **lists)


def write_document(document: MapDocument) -> Json:
    """The JSON object of a document: keys in the order of the schema, defaults left out."""
    plain: Json = {"format": FORMAT, "cable": CABLE.write(document.cable)}
    for key, (_, write) in _LISTS.items():
        if key == "readings" and (meter := METER.write(document.meter)):
            plain["meter"] = meter
        if entries := getattr(document, key):
            plain[key] = [write(entry) for entry in entries]
    carried_by = {path.name for path in document.paths}
    for core, entry in zip(document.cores, plain.get("cores", ()), strict=True):
        if core.carries:
            entry["path" if core.carries in carried_by else "net"] = core.carries
    return plain


def read_reading(plain: Json) -> Reading:
    mode = Mode(plain["mode"])
    value = None
    if "beeps" in plain:
        result = Result.BEEPS if plain["beeps"] else Result.SILENT
    elif "over" in plain:
        result = Result.OVER
    else:
        result, value = Result.VALUE, float(plain[VALUE_KEYS[mode]])
    black = plain["black"]
    return _READING.read(
        plain,
        mode=mode,
        black=tuple(map(read_point, black)) if mode is Mode.SWEEP else (read_point(black),),
        result=result,
        value=value,
    )


def write_reading(reading: Reading) -> Json:
    plain: Json = {
        "id": reading.id,
        "mode": reading.mode.value,
        "red": reading.red,
        "black": list(reading.black) if reading.mode is Mode.SWEEP else reading.black[0],
    }
    if reading.value is not None:
        plain[VALUE_KEYS[reading.mode]] = number(reading.value)
    elif reading.result is Result.OVER:
        plain["over"] = True
    else:
        plain["beeps"] = reading.result is Result.BEEPS
    return plain | _READING.write(reading)


VALUE_KEYS = {Mode.OHMS: "ohms", Mode.DIODE: "volts", Mode.FARADS: "farads"}
"""The field that holds the number shown, by mode."""

_PART_KEYS = {PartKind.RESISTOR: "ohms", PartKind.CAPACITOR: "farads", PartKind.DIODE: "volts"}


def _read_core(plain: Json) -> Core:
    return _CORE.read(plain, carries=plain.get("net", plain.get("path", "")))


def _read_part(plain: Json) -> Part:
    value = plain.get(_PART_KEYS[PartKind(plain["kind"])])
    return _PART.read(plain, value=None if value is None else float(value))


def _write_part(part: Part) -> Json:
    return _PART.write(part) | ({} if part.value is None else {_PART_KEYS[part.kind]: number(part.value)})


def _read_fault(plain: Json) -> Fault:
    return _FAULT.read(plain, nets=tuple(plain["nets"]) if "nets" in plain else (plain["net"],))


def _write_fault(fault: Fault) -> Json:
    nets: Json = {"nets": list(fault.nets)} if fault.kind is FaultKind.SHORT else {"net": fault.nets[0]}
    return {"kind": fault.kind.value} | nets | _FAULT.write(fault)


def _write_split(name: str) -> Json:
    return {"name": name}


def _read_split(plain: Json) -> str:
    return str(plain["name"])


def _rows(plain: list[list[str | None]]) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(seat or "" for seat in row) for row in plain)


def _lists(rows: Iterable[Iterable[str]]) -> list[list[str]]:
    return [list(row) for row in rows]


def _numbers(plain: list[float]) -> tuple[float, ...]:
    return tuple(map(float, plain))


def _plain_numbers(values: tuple[float, ...]) -> list[int | float]:
    return list(map(number, values))


def _number_field(key: str) -> Field:
    return Field(key, read=float, write=number)


def _list_field(key: str, attribute: str = "") -> Field:
    return Field(key, attribute, read=tuple, write=list)


CABLE = Shape(CableName, (Field("maker"), Field("model"), Field("revision"), _list_field("devices"), Field("summary")))
METER = Shape(
    Meter,
    (
        _number_field("lead_ohms"),
        _number_field("contact_ohms"),
        _number_field("accuracy_pct"),
        _number_field("accuracy_digits"),
        _number_field("range_ohms"),
        Field("beep_ohms", read=_numbers, write=_plain_numbers),
        _number_field("join_ohms"),
    ),
)
_END = Shape(
    End,
    (
        Field("name"),
        Field("connector"),
        Field("form", read=Form),
        Field("rows", read=_rows, write=_lists),
        _number_field("pitch_mm"),
    ),
)
_MODULE = Shape(Module, (Field("name"), Field("holds", read=Holds)))
_SECTION = Shape(Section, (Field("name"), Field("from", "start"), Field("to", "finish"), _number_field("length_m")))
_CORE = Shape(
    Core,
    (
        Field("name"),
        Field("section"),
        Field("kind", read=CoreKind),
        _list_field("colour", "colours"),
        _number_field("awg"),
        _number_field("area_mm2"),
        Field("bundle"),
    ),
)
NET = Shape(
    Net,
    (Field("name"), Field("role", read=Role), _number_field("volts"), Field("pair"), _list_field("contacts")),
)
_PATH = Shape(
    Path,
    (
        Field("name"),
        Field("via", read=Via),
        Field("from", "start"),
        Field("to", "finish"),
        Field("basis", read=Basis),
        Field("pair"),
    ),
)
_PART = Shape(Part, (Field("kind", read=PartKind), _list_field("between")))
_MARK = Shape(Mark, (Field("kind", read=MarkKind), Field("section"), _number_field("at_m"), Field("note")))
_OPENING = Shape(Opening, (Field("section"), _number_field("at_m")))
_FAULT = Shape(Fault, (Field("kind", read=FaultKind), Field("section"), _number_field("at_m")))
_READING = Shape(
    Reading,
    (
        Field("id"),
        Field("red", read=read_point),
        _number_field("digit_ohms"),
        _number_field("range_ohms"),
        Field("flexed", read=bool, write=bool),
        Field("note"),
    ),
)

_LISTS: dict[str, tuple[Callable[[Any], Any], Callable[[Any], Json]]] = {
    "ends": (_END.read, _END.write),
    "modules": (_MODULE.read, _MODULE.write),
    "splits": (_read_split, _write_split),
    "sections": (_SECTION.read, _SECTION.write),
    "cores": (_read_core, _CORE.write),
    "nets": (NET.read, NET.write),
    "paths": (_PATH.read, _PATH.write),
    "parts": (_read_part, _write_part),
    "marks": (_MARK.read, _MARK.write),
    "openings": (_OPENING.read, _OPENING.write),
    "faults": (_read_fault, _write_fault),
    "readings": (read_reading, write_reading),
}
