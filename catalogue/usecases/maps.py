"""Maps: check one, submit one, read what is stored. A refused submission stays as a draft of its author."""

import functools
import hashlib
from dataclasses import dataclass, replace

from django.conf import settings
from django.db import transaction
from django.db.models import Max, Q, QuerySet
from django.utils import timezone
from django.utils.text import slugify

from catalogue import store, tables
from catalogue.core.check import check
from catalogue.core.document import MapDocument, Point
from catalogue.core.failures import Failure
from catalogue.core.findings import Finding, accepted
from catalogue.core.matching.plugs import WiredPlug, wired_plugs
from catalogue.core.problems import BadDocument, Defect, NotFound
from catalogue.core.wiring import all_contacts, with_deduced_nets
from catalogue.exchange.documents import canonical_json, content_hash, parse_map, read_canonical
from catalogue.exchange.wire_list_csv import wire_list_csv
from catalogue.models import Cable, Draft, MapRevision, User
from catalogue.search import cables as cable_search
from catalogue.search.text import fold

DOCUMENTS_AT_HAND = 16
"""Documents that a process keeps in memory: at most 32 MiB, since each has at most 2."""


@dataclass(frozen=True)
class Submission:
    """What became of a submission: exactly one of `map` (accepted) and `draft` (refused) is there.

    `is_new` is False when the same map of the same cable was stored before, which is then the answer.
    """

    findings: tuple[Finding, ...]
    map: MapRevision | None = None
    draft: Draft | None = None
    is_new: bool = True


def read_document(raw: bytes) -> MapDocument:
    """The map document in `raw` JSON. Raises BadDocument or TooLarge, naming every place and remedy."""
    return parse_map(raw, settings.DOCUMENT_BYTES)


def check_map(document: MapDocument) -> tuple[Finding, ...]:
    """What the rules have to say about a map. Stores nothing."""
    return check(document, tables.reference())


def submit_map(author: User, raw: bytes) -> Submission:
    """Check a map and store it as the next revision of its cable, or keep it as a draft when it is refused.

    Raises BadDocument (after keeping the text as a draft) or TooLarge.
    """
    try:
        document = read_document(raw)
    except BadDocument as problem:
        _keep_draft(author, raw, "A document that could not be read", (), problem.defects)
        raise
    findings = check_map(document)
    if not accepted(findings):
        title = f"{document.cable.maker} {document.cable.model}"
        return Submission(findings, draft=_keep_draft(author, raw, title, findings, ()))
    return _store(author, document, findings)


def newest_maps() -> QuerySet[MapRevision]:
    return MapRevision.objects.select_related("cable").defer("document", "wiring").order_by("-created_at", "-pk")


def map_by_id(map_id: int) -> MapRevision:
    """One revision with its cable. Raises NotFound."""
    try:
        return MapRevision.objects.select_related("cable", "author").get(pk=map_id)
    except MapRevision.DoesNotExist:
        raise _no_map(map_id) from None


def map_of_cable(slug: str, number: int) -> MapRevision:
    """Revision `number` of a cable's map. Raises NotFound."""
    try:
        return MapRevision.objects.select_related("cable", "author").get(cable__slug=slug, number=number)
    except MapRevision.DoesNotExist:
        raise NotFound(f"The cable {slug} has no map revision {number}.") from None


def document_bytes(map_id: int) -> tuple[bytes, str]:
    """The canonical JSON of a map and its content hash. Raises NotFound.

    A revision never changes, so what was read before is asked for again by its hash only.
    """
    digest = store.content_hash_of(map_id)
    if digest is None:
        raise _no_map(map_id)
    return _document_bytes(map_id, digest), digest


def document_of(row: MapRevision) -> MapDocument:
    """The document as submitted, with its readings."""
    return read_canonical(row.document)


def wiring_of(row: MapRevision) -> MapDocument:
    """How the cable is wired: the document with its deduced nets, without readings."""
    return read_canonical(row.wiring)


def findings_of(row: MapRevision | Draft) -> tuple[Finding, ...]:
    return store.findings_of(row)


def wire_list(row: MapRevision) -> str:
    """The from-to list of a map as CSV."""
    return wire_list_csv(wiring_of(row))


def drafts_of(author: User) -> QuerySet[Draft]:
    return Draft.objects.filter(author=author).defer("text").order_by("-changed_at", "-pk")


def draft_by_id(author: User, draft_id: int) -> Draft:
    """One of the author's own drafts. Raises NotFound, also for the drafts of others."""
    try:
        return Draft.objects.get(author=author, pk=draft_id)
    except Draft.DoesNotExist:
        raise NotFound(f"You have no draft {draft_id}.") from None


def defects_of(draft: Draft) -> tuple[Defect, ...]:
    return store.defects_of(draft)


def map_ids() -> list[int]:
    """The numbers of all maps, oldest first."""
    return list(MapRevision.objects.order_by("pk").values_list("pk", flat=True))


def rebuild_derived(row: MapRevision) -> None:
    """Derive wiring, counts, findings, rows and search traits of one map anew from its document."""
    document = document_of(row)
    wiring, contacts, ends = _wiring(document)
    with transaction.atomic():
        store.replace_derived(row, document, wiring, contacts, ends, _wiring_json(wiring), check_map(document))
        if row.cable.latest_id == row.pk:
            cable_search.refresh(row.cable, wiring, contacts, _failures_of(row.cable))
            row.cable.save()


@functools.lru_cache(maxsize=DOCUMENTS_AT_HAND)
def _document_bytes(map_id: int, _: str) -> bytes:
    return map_by_id(map_id).document.encode()


def _no_map(map_id: int) -> NotFound:
    return NotFound(f"There is no map {map_id}. The list of maps names those that are there.")


def _store(author: User, document: MapDocument, findings: tuple[Finding, ...]) -> Submission:
    canonical = canonical_json(document)
    digest = content_hash(canonical)
    wiring, contacts, ends = _wiring(document)
    texts = canonical.decode(), _wiring_json(wiring), digest
    now = timezone.now()
    with transaction.atomic():
        cable = _locked_cable(document)
        known = cable.maps.aggregate(last=Max("number"), same=Max("pk", filter=Q(content_hash=digest)))
        if known["same"] is not None:
            same = cable.maps.get(pk=known["same"])
            return Submission(store.findings_of(same), map=same, is_new=False)
        number = (known["last"] or 0) + 1
        row = store.add_map(cable, number, document, wiring, contacts, ends, texts, findings, author, now)
        cable.latest = row
        cable.devices = list(document.cable.devices)
        cable.summary = document.cable.summary
        cable.changed_at = now
        # Only a mapped cable can have reports, so a first map need not ask for them.
        failures = _failures_of(cable) if number > 1 else []
        cable_search.refresh(cable, wiring, contacts, failures)
        cable.save()
    return Submission(findings, map=row)


def _wiring(document: MapDocument) -> tuple[MapDocument, tuple[Point, ...], tuple[WiredPlug, ...]]:
    """The document with its deduced nets, all its contacts, and its ends with the net at each seat."""
    reference = tables.reference()
    wiring = with_deduced_nets(document, reference)
    return wiring, all_contacts(document, reference), wired_plugs(wiring, reference)


def _wiring_json(wiring: MapDocument) -> str:
    return canonical_json(replace(wiring, readings=())).decode()


def _locked_cable(document: MapDocument) -> Cable:
    """The cable's row, made when missing, locked until the transaction ends: two submitters get two revision numbers.

    A row that is there already, by its identity or its address, is left alone by the insertion; an address
    that another cable has gets a suffix.
    """
    maker, model = document.cable.maker, document.cable.model
    identity = hashlib.sha256(f"{fold(maker)}\n{fold(model)}".encode()).hexdigest()
    plain = slugify(f"{maker} {model}")[:80] or "cable"
    locked = Cable.objects.select_for_update()
    for slug in (plain, f"{plain}-{identity[:8]}"):
        if cable := locked.filter(identity=identity).first():
            return cable
        fresh = Cable(slug=slug, identity=identity, maker=maker, model=model, changed_at=timezone.now())
        Cable.objects.bulk_create([fresh], ignore_conflicts=True)
    return locked.get(identity=identity)


def _failures_of(cable: Cable) -> list[Failure]:
    return [store.failure_of(row) for row in cable.failures.all()]


def _keep_draft(
    author: User, raw: bytes, title: str, findings: tuple[Finding, ...], defects: tuple[Defect, ...]
) -> Draft:
    # A database's text takes no NUL and no broken UTF-8; what was sent stays readable otherwise.
    text = raw.decode("utf-8", errors="replace").replace("\0", "\N{REPLACEMENT CHARACTER}")
    return store.keep_draft(author, text, content_hash(raw), title, findings, defects, timezone.now())
