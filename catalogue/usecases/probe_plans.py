"""Which reading to take next on a cable that is being mapped, and what each outcome would prove."""

from __future__ import annotations

from dataclasses import replace

from catalogue import tables
from catalogue.core.conflicts import Conflicts
from catalogue.core.document import MapDocument, Point, Role
from catalogue.core.planning.plan import plan
from catalogue.core.problems import BadRequest, Defect
from catalogue.core.rules.context import Context
from catalogue.core.rules.coverage import acts_left
from catalogue.core.suspects import suspects
from catalogue.core.wiring import all_contacts, contact_rows, standard_contacts
from catalogue.exchange.document_parts import read_parts
from catalogue.exchange.documents import parse_map
from catalogue.exchange.inferences import Json
from catalogue.exchange.probe_plans import NextReadings, plan_json
from catalogue.usecases.inferences import refuse_strangers
from catalogue.usecases.maps import map_by_id, wiring_of

PARTS = ("ends", "meter", "readings")


def plan_from_request(raw: bytes) -> Json:
    """The answer to `{"ends", "meter"?, "readings"?, "similar_map"?, "sweeps"?}` in JSON.

    `similar_map` is the number of a map whose wiring is expected, as far as contacts have the same names; it
    may be wrong. Without `sweeps` only pairs are probed. Raises BadRequest, TooLarge or NotFound.
    """
    document, others = read_parts(raw, PARTS, ("similar_map", "sweeps"), may_lack_readings=True)
    defects = []
    sweeps, similar = others.get("sweeps", True), others.get("similar_map")
    if not isinstance(sweeps, bool):
        defects.append(
            Defect("/sweeps", "neither true nor false", "Write true, or false when probes cannot be dragged.")
        )
    if similar is not None and (not isinstance(similar, int) or isinstance(similar, bool) or not 0 < similar < 2**63):
        defects.append(Defect("/similar_map", "not the number of a map", "Write its `id` as `maps/` tells it."))
    if defects:
        raise BadRequest("What the plan should be made by is not right. Nothing was stored.", defects)
    return _planned(document, wiring_of(map_by_id(similar)) if similar is not None else None, sweeps)


def plan_from_map(raw: bytes, similar: bytes | None = None, sweeps: bool = True) -> Json:
    """The same for a whole map document, whose own nets are a claim and no reading. Raises BadDocument too."""
    return _planned(replace(parse_map(raw), nets=()), parse_map(similar) if similar is not None else None, sweeps)


def _planned(document: MapDocument, similar: MapDocument | None, sweeps: bool) -> Json:
    reference = tables.reference()
    refuse_strangers(document)
    contacts = all_contacts(document, reference)
    if not contacts:
        defect = Defect("/ends", "no end has contacts", "Name a standard connector, or give the rows of a custom one.")
        raise BadRequest("There is nothing to plan for: no contact is known. Nothing was stored.", [defect])
    expected = _by_standards(document)
    if similar is not None:
        expected |= similar.net_of_contact
    readings, meter = document.readings, document.meter
    found = plan(contacts, contact_rows(document, reference), readings, meter, expected, sweeps)
    context = Context(document, reference)
    return plan_json(
        NextReadings(
            plan=found,
            acts_left=len(acts_left(context)),
            pairs=context.deduction.pairs,
            suspects=suspects(Conflicts(readings, meter)),
        )
    )


def _by_standards(document: MapDocument) -> dict[Point, object]:
    """What the standards of the connectors let expect: one ground, one supply of each voltage, signals of one name."""
    expected: dict[Point, object] = {}
    for point, contact in standard_contacts(document, tables.reference()).items():
        if contact.present and contact.signal:
            if contact.role is Role.GROUND:
                expected[point] = Role.GROUND
            elif contact.role is Role.POWER:
                expected[point] = (Role.POWER, contact.volts)
            else:
                expected[point] = contact.signal
    return expected
