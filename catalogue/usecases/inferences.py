"""What readings tell of a cable nobody has mapped: nets with their proof, what is at odds, which parts hide."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from catalogue import tables
from catalogue.core.conflicts import Conflicts
from catalogue.core.document import CUSTOM_CONNECTOR, MapDocument, Net, Point, end_of
from catalogue.core.findings import Step
from catalogue.core.hidden_parts import hidden_parts
from catalogue.core.identification import names_of
from catalogue.core.nets import Deduction, deduce, probed
from catalogue.core.problems import BadReadings, BadRequest, Defect, TooLarge
from catalogue.core.rules.context import Context
from catalogue.core.suspects import suspects
from catalogue.core.wiring import all_contacts, nets_of_groups
from catalogue.exchange.document_parts import UNNAMED, read_parts
from catalogue.exchange.documents import POINTS_AT_MOST, parse_map
from catalogue.exchange.inferences import Inference, Json, NamedPart, ProvedNet, ProvedPair, inference_json
from catalogue.exchange.readings_csv import parse_readings_csv
from catalogue.exchange.violations import shortened
from catalogue.usecases.sizes import refuse_too_large

PARTS = ("ends", "meter", "readings")


def infer_from_request(raw: bytes) -> Json:
    """The answer to `{"ends", "meter"?, "readings", "pair"?}` in JSON.

    `pair` names two contacts whose proof is asked for. Raises BadRequest naming each place and remedy, or
    TooLarge.
    """
    document, others = read_parts(raw, PARTS, ("pair",))
    refuse_strangers(document)
    return inference_json(_inference(document, _pair(others, document)))


def infer_from_map(raw: bytes) -> Json:
    """The same from the readings of a whole map document. Raises BadDocument, BadRequest or TooLarge."""
    document = parse_map(raw)
    if not document.readings:
        raise _without_readings("/readings")
    refuse_strangers(document)
    return inference_json(_inference(document, None))


def infer_from_csv(raw: bytes) -> Json:
    """The same from readings as CSV; their contacts are all there is.

    Raises BadReadings for any bad line, BadRequest when there is none at all, or TooLarge.
    """
    refuse_too_large(raw, "The file")
    file = parse_readings_csv(raw)
    if file.defects:
        raise BadReadings("Some lines cannot be read. Mend them, or take them out.", file.defects)
    if not file.readings:
        raise _without_readings("line 2")
    if (count := len(probed(file.readings))) > POINTS_AT_MOST:
        raise TooLarge(f"{count:,} probe points are more than the {POINTS_AT_MOST:,} that are worked with at once.")
    return inference_json(_inference(MapDocument(UNNAMED, (), readings=file.readings), None))


def _without_readings(where: str) -> BadRequest:
    defect = Defect(where, "no reading is there", "Add what the meter showed, one entry for each act with the probes.")
    return BadRequest("There are no readings, so there is nothing to tell.", (defect,))


def _inference(document: MapDocument, pair: tuple[Point, Point] | None) -> Inference:
    readings, meter = document.readings, document.meter
    deduction = deduce(all_contacts(document, tables.reference()), readings, meter)
    conflicts = Conflicts(readings, meter)
    told, conflicts_total = conflicts.every()
    found = hidden_parts(readings, meter, deduction)
    connectors = {end.name: end.connector for end in document.ends}
    known = tables.known_resistors()
    parts = (
        NamedPart(part, is_complete, names_of(part.span, _reached(part.between, deduction, connectors), known))
        for part, is_complete in zip(found.parts, found.complete, strict=True)
    )
    joined = [net for net in deduction.nets if len(net) > 1]
    # Ends and readings alone are what this is about, so nets that a map declares do not take names away.
    undeclared = replace(document, nets=(), paths=())
    proposed = dict(zip(joined, nets_of_groups(undeclared, tables.reference(), joined), strict=True))
    return Inference(
        nets=tuple(_proved(deduction, number, proposed.get(net)) for number, net in enumerate(deduction.nets)),
        pairs=deduction.pairs,
        conflicts=told,
        conflicts_total=conflicts_total,
        suspects=suspects(conflicts),
        parts=tuple(parts),
        unsolved=found.unsolved,
        pair=_proved_pair(deduction, pair) if pair else None,
    )


def _reached(between: tuple[Point, Point], deduction: Deduction, connectors: Mapping[str, str]) -> set[str]:
    """The connectors whose contacts two nets reach. Where the ends are not declared, they may be any."""
    points = (point for one in between for point in deduction.nets[deduction.net_index[one]])
    return {connectors.get(end_of(point), CUSTOM_CONNECTOR) for point in points}


def _proved(deduction: Deduction, net: int, proposed: Net | None) -> ProvedNet:
    is_whole = deduction.accounts_for_sweeps or not deduction.is_swept(net)
    proof = deduction.net_proof(net)
    return ProvedNet(deduction.nets[net], tuple(dict.fromkeys(step.reading for step in proof)), is_whole, proposed)


def _proved_pair(deduction: Deduction, pair: tuple[Point, Point]) -> ProvedPair:
    if not deduction.accounts_for_sweeps and any(deduction.is_swept(deduction.net_index[point]) for point in pair):
        raise TooLarge("The proof of this pair leans on too many sweeps to be told. Probe the pair itself.")
    state, proof = _state_and_proof(deduction, *pair)
    return ProvedPair(pair, state, proof)


def _state_and_proof(deduction: Deduction, a: Point, b: Point) -> tuple[str, tuple[Step, ...]]:
    if deduction.is_joined(a, b):
        return "joined", deduction.joined_proof(a, b)
    if deduction.is_apart(a, b):
        return "apart", deduction.apart_proof(a, b)
    return "undecided", ()


def _pair(others: dict[str, Any], document: MapDocument) -> tuple[Point, Point] | None:
    if "pair" not in others:
        return None
    match others["pair"]:
        case [str() as a, str() as b]:
            context = Context(document, tables.reference())
            defects = [
                Defect(f"/pair/{place}", f"{point[:80]}: {why}", "Name a contact of the ends.")
                for place, point in enumerate((a, b))
                if (why := context.unknown(point))
            ]
            if not defects:
                return a, b
        case _:
            defects = [Defect("/pair", "not a list of two contacts", 'Write ["A:1", "B:2"].')]
    raise BadRequest("The pair whose proof is asked for is not right. Nothing was stored.", defects)


def refuse_strangers(document: MapDocument) -> None:
    """Readings of contacts that the ends do not have would be told as nets of their own."""
    context = Context(document, tables.reference())
    defects = [
        Defect(f"/readings/{index}", f"{point}: {why}", "Mend the reading, or declare the contact among the ends.")
        for index, reading in enumerate(document.readings)
        for point in dict.fromkeys((reading.red, *reading.black))
        if (why := context.unknown(point) or context.misplaced(point))
    ]
    if defects:
        raise BadRequest("Some readings name contacts that are not there. Nothing was stored.", shortened(defects))
