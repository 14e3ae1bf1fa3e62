"""Where contacts sit on the face of an end: true places for standard connectors, rows for custom ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from catalogue.core.document import End, Form, Point
from catalogue.core.reference import Face, Outline, Reference

MARGIN = 10.0
HEIGHT_SHARE, WIDTH_SHARE = 1.4, 1.3
"""How much larger than one cell an outline is at least."""

MIRROR_FORMS = {Form.PLUG: Form.RECEPTACLE, Form.RECEPTACLE: Form.PLUG}


@dataclass(frozen=True, slots=True)
class Place:
    """A seat in points right of and below the face's centre; `contact` is None where it holds none."""

    contact: Point | None
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class DrawnFace:
    """An end's face in points: outline and places. `unseated` are contacts whose seat nobody has told."""

    outline: Outline
    width: float
    height: float
    places: tuple[Place, ...]
    unseated: tuple[Point, ...]


def drawn_face(
    end: End, contacts: Sequence[Point], reference: Reference, cell: tuple[float, float], mirrored: bool
) -> DrawnFace:
    """The face of an end with room for a cell of (width, height) points at each seat."""
    standard = reference.connectors.get(end.connector)
    if standard is None:
        face = _of_rows(end, cell)
    else:
        face = _of_standard(end, standard.face, cell)
        mirrored = mirrored != (MIRROR_FORMS.get(end.form) is standard.face.form)
    sign = -1 if mirrored else 1
    unseated: dict[Point | None, None] = dict.fromkeys(contacts)
    places = []
    for place in face.places:
        contact = place.contact if place.contact in unseated else None
        unseated.pop(contact, None)
        places.append(Place(contact, sign * place.x, place.y))
    left = tuple(contact for contact in contacts if contact in unseated)
    return DrawnFace(face.outline, face.width, face.height, tuple(places), left)


def _of_rows(end: End, cell: tuple[float, float]) -> DrawnFace:
    """Rows as they were written, the first seats of all rows one above the other."""
    columns = max((len(row) for row in end.rows), default=0)
    width, height = columns * cell[0], len(end.rows) * cell[1]
    places = tuple(
        Place(
            f"{end.name}:{contact}" if contact else None,
            (column + 0.5) * cell[0] - width / 2,
            (line + 0.5) * cell[1] - height / 2,
        )
        for line, row in enumerate(end.rows)
        for column, contact in enumerate(row)
    )
    return DrawnFace(Outline.ROUNDED, width + 2 * MARGIN, height + 2 * MARGIN, places, ())


def _of_standard(end: End, face: Face, cell: tuple[float, float]) -> DrawnFace:
    """True places, as small as they can be drawn without one cell over another."""
    scale = max(HEIGHT_SHARE * cell[1] / face.height_mm, WIDTH_SHARE * cell[0] / face.width_mm)
    for a, b in combinations(face.seats, 2):
        dx, dy = abs(a.x_mm - b.x_mm), abs(a.y_mm - b.y_mm)
        apart = max(dx / cell[0], dy / cell[1])
        scale = max(scale, 1 / apart) if apart else scale
    places = tuple(Place(f"{end.name}:{seat.contact}", seat.x_mm * scale, seat.y_mm * scale) for seat in face.seats)
    return DrawnFace(face.outline, face.width_mm * scale, face.height_mm * scale, places, ())
