"""What is dead in a specimen and why: readings held against a stored map, or against the standard of the connectors."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.conf import settings

from catalogue import tables
from catalogue.core.bounds import violations
from catalogue.core.diagnosis.evidence import LOOKS, Evidence
from catalogue.core.diagnosis.expectation import expected
from catalogue.core.diagnosis.verdicts import diagnose
from catalogue.core.document import MapDocument
from catalogue.core.failures import Failure
from catalogue.core.powering import powering
from catalogue.core.problems import BadDocument, BadRequest, Defect
from catalogue.core.rules.context import Context
from catalogue.exchange.diagnoses import Json, diagnosis_json
from catalogue.exchange.document_parts import read_parts
from catalogue.exchange.json_values import decoded
from catalogue.exchange.violations import shortened
from catalogue.models import MapRevision
from catalogue.usecases.cables import cable_by_slug
from catalogue.usecases.failures import failures_as_values
from catalogue.usecases.maps import map_by_id, read_document, wiring_of

OF_THE_SPECIMEN = ("meter", "readings", "marks", "openings")
WITHOUT_A_MAP = ("ends", "sections", "modules", "splits", *OF_THE_SPECIMEN)


def diagnose_specimen(raw: bytes) -> Json:
    """The answer to `{"map" or "cable" or "ends", "readings", "meter"?, "marks"?, "openings"?, "looks"?}` in JSON.

    `map` is the number of a map and `cable` the address of a cable, whose newest map then counts. With `ends`
    alone the standard of the connectors is what the readings are held against; `sections`, `modules` and `splits`
    may be told with them. A whole map document is taken too: its nets are as they should be, its readings as they
    are. The marks of a stored map are those of another specimen, so that only marks sent count.

    Raises BadRequest or BadDocument naming each place and remedy, NotFound, or TooLarge.
    """
    asked = _asked(raw)
    reference = tables.reference()
    _refuse_strangers(Context(asked.specimen, reference))
    specimen = expected(asked.specimen, reference)
    context = Context(specimen.document, reference)
    diagnosis = diagnose(context, tables.weights(), asked.looks, asked.failures, specimen.leading)
    against: Json = {"map": asked.map_id, "cable": asked.cable, "standard": specimen.standard or None}
    disputed = dict.fromkeys(
        reading
        for violation in violations(context.bounds)
        for reading in (violation.bound.reading, *(link.reading for link in violation.path))
    )
    return diagnosis_json(diagnosis, powering(context), against, disputed)


@dataclass(frozen=True)
class _Asked:
    specimen: MapDocument
    looks: dict[Evidence, bool]
    failures: Sequence[Failure] = ()
    map_id: int | None = None
    cable: str | None = None


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
    specimen = replace(
        wiring, meter=read.meter, readings=read.readings, marks=read.marks, openings=read.openings, faults=()
    )
    return _Asked(specimen, _looks(others), failures_as_values(row.cable), row.pk, row.cable.slug)


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
    if not isinstance(sent["cable"], str):
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
        Defect(f"/looks/{name[:40]}", "There is no such look.", f"Known looks are: {known}.")
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
