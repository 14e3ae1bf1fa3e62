"""The wire list as comma-separated values, one line for each conductor of each section."""

from __future__ import annotations

from catalogue.core.document import Core, MapDocument
from catalogue.core.wire_list import WireRow, wire_list
from catalogue.exchange.shapes import number
from catalogue.exchange.spreadsheet import csv_text, guarded

HEADER = (
    "number",
    "net",
    "role",
    "from",
    "from_contacts",
    "to",
    "to_contacts",
    "section",
    "length_m",
    "core",
    "kind",
    "colour",
    "gauge",
    "bundle",
)


def wire_list_csv(document: MapDocument) -> str:
    """The from-to list of a map. `net` names a net or path; contacts are parted by spaces, sections by ` + `.

    Colours are IEC 60757 letters side by side, base colour first. Cells that a spreadsheet would run as a
    formula have an apostrophe in front.
    """
    return csv_text(HEADER, (_cells(place, row) for place, row in enumerate(wire_list(document), start=1)))


def _cells(place: int, row: WireRow) -> list[str]:
    core = row.core
    texts = (
        row.carries,
        row.role,
        row.start.place,
        " ".join(row.start.contacts),
        row.finish.place,
        " ".join(row.finish.contacts),
        " + ".join(row.sections),
        "" if row.length_m is None else str(number(row.length_m)),
        *((core.name, core.kind, "".join(core.colours), _gauge(core), core.bundle) if core else [""] * 5),
    )
    return [str(place), *map(guarded, texts)]


def _gauge(core: Core) -> str:
    awg = "" if core.awg is None else f"AWG {number(core.awg)}"
    area = "" if core.area_mm2 is None else f"{number(core.area_mm2)} mm2"
    return ", ".join(filter(None, (awg, area)))
