"""What is dead in a specimen and why: readings held against a stored map, or against the standard of the connectors."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.conf import settings

from catalogue import tables
from catalogue.core.bounds import disputed
from catalogue.core.diagnosis.evidence import LOOKS, Evidence
from catalogue.core.diagnosis.expectation import expected
from catalogue.core.diagnosis.verdicts import Diagnosis, diagnose
from catalogue.core.document import MapDocument
from catalogue.core.failures import Failure
from catalogue.core.powering import Powering, powering
from catalogue.core.problems import BadDocument, BadRequest, Defect
from catalogue.core.rules.context import Context
from catalogue.exchange.diagnoses import Json, diagnosis_json
from catalogue.exchange.document_parts import read_parts
from catalogue.exchange.json_values import decoded
from catalogue.exchange.violations import pointer, shortened
from catalogue.models import MapRevision
from catalogue.usecases.cables import cable_by_slug
from catalogue.usecases.failures import failures_as_values
from catalogue.usecases.maps import map_by_id, read_document, wiring_of

SLUG = r"[-\w]{1,100}"
"""How the address of a cable is written."""

OF_THE_SPECIMEN = ("meter", "readings", "marks", "openings")
WITHOUT_A_MAP = ("ends", "sections", "modules", "splits", *OF_THE_SPECIMEN)


@dataclass(frozen=True)
class Answer:
    """`specimen` has its nets as they should be and its readings as they are; `disputed` are readings at odds.

    `map_id` and `cable` tell what the readings were held against, else `standard` does.
    """

    specimen: MapDocument
    diagnosis: Diagnosis
    powering: Powering
    disputed: tuple[str, ...]
    map_id: int | None
    cable: str | None
    standard: str


def answer_json(answer: Answer) -> Json:
    """The answer as JSON values, in the shape that the API gives."""
    against: Json = {"map": answer.map_id, "cable": answer.cable, "standard": answer.standard or None}
    return diagnosis_json(answer.diagnosis, answer.powering, against, answer.disputed)


def diagnose_specimen(raw: bytes) -> Answer:
    """The answer to `{"map" or "cable" or "ends", "readings", "meter"?, "marks"?, "openings"?, "looks"?}` in JSON.

    `map` is the number of a map and `cable` the address of a cable, whose newest map then counts. With `ends`
    alone the standard of the connectors is what the readings are held against; `sections`, `modules` and `splits`
    may be told with them. A whole map document is taken too: its nets are as they should be, its readings as they
    are. The marks of a stored map are those of another specimen, so that only marks sent count.

    Raises BadRequest or BadDocument naming each place and remedy, NotFound, or TooLarge.
    """
    return _answered(_asked(raw))


def diagnose_by_map(
    row: MapRevision, seen: MapDocument, looks: Mapping[Evidence, bool], cannot: Collection[Evidence] = ()
) -> Answer:
    """What is dead in a specimen by a stored map: of `seen` the meter, readings, marks and openings count.

    `cannot` are tests that the person has no means for. Raises BadRequest for what does not fit the cable.
    """
    return _answered(_Asked(_held_against(wiring_of(row), seen), looks, failures_as_values(row.cable), row, cannot))


@dataclass(frozen=True)
class _Asked:
    specimen: MapDocument
    looks: Mapping[Evidence, bool]
    failures: Sequence[Failure] = ()
    row: MapRevision | None = None
    cannot: Collection[Evidence] = ()


def _answered(asked: _Asked) -> Answer:
    reference = tables.reference()
    _refuse_strangers(Context(asked.specimen, reference))
    specimen = expected(asked.specimen, reference)
    context = Context(specimen.document, reference)
    diagnosis = diagnose(context, tables.weights(), asked.looks, asked.failures, specimen.leading, asked.cannot)
    return Answer(
        specimen=specimen.document,
        diagnosis=diagnosis,
        powering=powering(context),
        disputed=tuple(disputed(context.violations)),
        map_id=asked.row.pk if asked.row else None,
        cable=asked.row.cable.slug if asked.row else None,
        standard=specimen.standard,
    )


def _asked(raw: bytes) -> _Asked:
    sent = _glanced(raw)
    if "format" in sent:
        return _Asked(replace(read_document(raw), faults=()), {})
    if not sent.keys() & {"map", "cable"}:
        specimen, others = read_parts(raw, WITHOUT_A_MAP, ("looks",))
        return _Asked(specimen, _looks(others))
    row = _row(sent)
    wiring = wiring_of(row)
    read, others = read_parts(raw, OF_THE_SPECIMEN, ("map", "cable", "looks"), wiring.ends)
    return _Asked(_held_against(wiring, read), _looks(others), failures_as_values(row.cable), row)


def _held_against(wiring: MapDocument, seen: MapDocument) -> MapDocument:
    """The wiring of a map with what was seen of one specimen."""
    return replace(
        wiring, meter=seen.meter, readings=seen.readings, marks=seen.marks, openings=seen.openings, faults=()
    )


def _glanced(raw: bytes) -> dict[str, Any]:
    """What was sent, unchecked; nothing when it is too large or no object, which its reader tells of."""
    if len(raw) > settings.DOCUMENT_BYTES:
        return {}
    try:
        sent = decoded(raw)
    except BadDocument:
        return {}
    return sent if isinstance(sent, dict) else {}


def _row(sent: dict[str, Any]) -> MapRevision:
    if "map" in sent and "cable" in sent:
        defect = Defect("/cable", "Both a map and a cable are named.", "Leave one of the two out.")
        raise BadRequest("The request names both a map and a cable.", [defect])
    if "map" in sent:
        number = sent["map"]
        if not isinstance(number, int) or isinstance(number, bool) or not 0 < number < 2**31:
            raise _wrong("/map", "A map is named by its number.", 'Send the "id" of the map.')
        return map_by_id(number)
    if not isinstance(sent["cable"], str) or not re.fullmatch(SLUG, sent["cable"], re.ASCII):
        raise _wrong("/cable", "A cable is named by its address.", 'Send the "slug" of the cable.')
    cable = cable_by_slug(sent["cable"])
    if cable.latest is None:
        raise _wrong("/cable", "This cable has no map yet.", 'Send its "ends" instead, or map it first.')
    return cable.latest


def _looks(others: dict[str, Any]) -> dict[Evidence, bool]:
    """The answers given; null says that nobody has looked."""
    looks, known = others.get("looks", {}), ", ".join(LOOKS)
    if not isinstance(looks, dict):
        raise _wrong("/looks", "Looks are an object.", f"Known looks are: {known}.")
    defects = [
        Defect(pointer(("looks", name)), "There is no such look.", f"Known looks are: {known}.")
        for name in looks
        if name not in LOOKS
    ]
    defects += [
        Defect(f"/looks/{name}", "A look is answered by true or false.", "Use null where nobody has looked.")
        for name, answer in looks.items()
        if name in LOOKS and not isinstance(answer, bool | None)
    ]
    if defects:
        raise BadRequest("The looks cannot be read. Nothing was stored.", shortened(defects))
    return {Evidence(name): answer for name, answer in looks.items() if answer is not None}


def _refuse_strangers(context: Context) -> None:
    """What is said of places that the cable does not have, which may be meant for another one; and contacts in two
    nets, of which nobody could say what they should be joined to."""
    document = context.document
    defects = [
        Defect(f"/readings/{index}", f"At {point}: {wrong}.", "Correct the reading, or the cable that it is of.")
        for index, reading in enumerate(document.readings)
        for point in dict.fromkeys((reading.red, *reading.black))
        if (wrong := context.unknown(point) or context.misplaced(point))
    ]
    sections = {section.name for section in document.sections}
    places = {
        "marks": [mark.section for mark in document.marks],
        "openings": [opening.section for opening in document.openings],
    }
    defects += [
        Defect(f"/{field}/{index}", f"There is no section {section}.", "Name a section of the cable.")
        for field, named in places.items()
        for index, section in enumerate(named)
        if section not in sections
    ]
    owner = document.net_of_contact
    defects += [
        Defect(f"/nets/{index}", f"{contact} is in no end, or in another net too.", "List each contact in one net.")
        for index, net in enumerate(document.nets)
        for contact in net.contacts
        if contact not in context.contacts or owner[contact] != net.name
    ]
    if defects:
        raise BadRequest("What was read does not fit the cable. Nothing was stored.", shortened(defects))


def _wrong(where: str, message: str, remedy: str) -> BadRequest:
    return BadRequest(message, [Defect(where, message, remedy)])
