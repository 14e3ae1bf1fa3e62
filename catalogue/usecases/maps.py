"""Maps: check one, submit one, read what is stored. A refused submission stays as a draft of its author."""

import functools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.conf import settings
from django.db import transaction
from django.db.models import Max, Q, QuerySet
from django.utils import timezone

from catalogue import store, tables
from catalogue.core.check import check
from catalogue.core.counting import code_of
from catalogue.core.document import MapDocument
from catalogue.core.failures import Failure
from catalogue.core.findings import Finding, accepted
from catalogue.core.matching.plugs import wired_plugs
from catalogue.core.problems import BadDocument, Conflict, Defect, NotFound, TooManyDrafts
from catalogue.core.reviewing import Standing
from catalogue.core.wiring import all_contacts, with_deduced_nets
from catalogue.exchange.documents import canonical_json, content_hash, parse_map, read_canonical
from catalogue.exchange.wire_list_csv import wire_list_csv
from catalogue.models import Cable, Draft, FailureReport, MapRevision, User
from catalogue.models.reviews import Reviewed
from catalogue.search import cables as cable_search
from catalogue.search import failure_points as point_search
from catalogue.usecases.identities import identity_of, slugs_of

DOCUMENTS_AT_HAND = 16
"""Documents that a process keeps in memory: at most 32 MiB, since each has at most 2."""

MOST_DRAFTS = 100
"""Drafts that one person keeps, each of at most 2 MiB: more than anybody works on, and little to keep for a flood."""

NO_ROOM = f"You have {MOST_DRAFTS} drafts, as many as are kept for one person. Delete one on the page /drafts/ first."


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


def submit_map(author: User, raw: bytes, instead_of: Draft | None = None) -> Submission:
    """Check a map and store it as the next revision of its cable, or keep it as a draft when it is refused.

    Raises TooLarge, or after keeping the text as a draft BadDocument, or Conflict when this very map was withdrawn.
    Where its author has so many drafts that it cannot be kept, raises TooManyDrafts with why it was refused; the
    draft that it is to take the place of does not count.
    """
    try:
        document = read_document(raw)
    except BadDocument as problem:
        _keep_draft(author, raw, "A document that could not be read", (), problem.defects, instead_of)
        raise
    findings = check_map(document)
    title = f"{document.cable.maker} {document.cable.model}"
    if not accepted(findings):
        return Submission(findings, draft=_keep_draft(author, raw, title, findings, (), instead_of))
    try:
        return store_map(author, document, findings)
    except Conflict as problem:
        _keep_draft(author, raw, title, (), problem.defects, instead_of)
        raise


def store_map(author: User, document: MapDocument, findings: tuple[Finding, ...]) -> Submission:
    """Store a map that its findings accept as the next revision of its cable, or find it stored already.

    Raises Conflict when this very map was withdrawn; then nothing changes.
    """
    canonical = canonical_json(document)
    digest = content_hash(canonical)
    derived = derive(document, findings)
    now = timezone.now()
    with transaction.atomic():
        cable = _locked_cable(document)
        known = cable.maps.aggregate(last=Max("number"), same=Max("pk", filter=Q(content_hash=digest)))
        if known["same"] is not None:
            same = cable.maps.get(pk=known["same"])
            _refuse_withdrawn(same)
            return Submission(store.findings_of(same), map=same, is_new=False)
        number = (known["last"] or 0) + 1
        row = store.map_row(cable, number, document, (canonical.decode(), digest), derived, now)
        row.author = author
        row.save(force_insert=True)
        store.add_derived_rows([(row, document, derived)])
        cable.latest = row
        cable.devices = list(document.cable.devices)
        cable.summary = document.cable.summary
        cable.changed_at = now
        # Only a mapped cable can have reports, so a first map need not ask for them.
        failures = _failures_of(cable) if number > 1 else []
        cable_search.refresh(cable, derived.wiring, derived.contacts, failures)
        cable.save()
        if failures:
            point_search.gather([cable])
    return Submission(findings, map=row)


def derive(document: MapDocument, findings: tuple[Finding, ...]) -> store.Derived:
    """All that is kept beside a document and follows from it."""
    reference = tables.reference()
    wiring = with_deduced_nets(document, reference)
    wiring_json = canonical_json(replace(wiring, readings=())).decode()
    ends = wired_plugs(wiring, reference)
    return store.Derived(wiring, all_contacts(document, reference), ends, wiring_json, findings)


def newest_maps() -> QuerySet[MapRevision]:
    """The maps that are shown, newest first."""
    shown = MapRevision.objects.shown().select_related("cable")
    return shown.defer("document", "wiring").order_by("-created_at", "-pk")


def map_by_id(map_id: int) -> MapRevision:
    """One revision with its cable. Raises NotFound, and Withdrawn for one that is not shown any more."""
    found = MapRevision.objects.filter(pk=map_id)
    return _one_shown(found, NotFound(f"There is no map {map_id}. The list of maps names those that are there."))


def map_of_cable(slug: str, number: int) -> MapRevision:
    """Revision `number` of a cable's map. Raises NotFound, and Withdrawn for one that is not shown any more."""
    found = MapRevision.objects.filter(cable__slug=slug, number=number)
    return _one_shown(found, NotFound(f"The cable {slug} has no map revision {number}."))


def document_bytes(map_id: int) -> tuple[bytes, str]:
    """The canonical JSON of a map and its content hash. Raises NotFound or Withdrawn.

    A revision never changes, so what was read before is asked for again by its hash only.
    """
    digest = store.content_hash_of(map_id)
    if digest is None:
        digest = map_by_id(map_id).content_hash
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


def has_room(author: User, besides: Q | None = None) -> bool:
    """Whether one more draft of the author is kept; those that `besides` describes do not count."""
    # Not locked: a few too many, sent at once, harm nobody.
    counted = author.drafts.exclude(besides) if besides else author.drafts
    return counted.count() < MOST_DRAFTS


def draft_by_id(author: User, draft_id: int) -> Draft:
    """One of the author's own drafts. Raises NotFound, also for the drafts of others."""
    try:
        return Draft.objects.get(author=author, pk=draft_id)
    except Draft.DoesNotExist:
        raise NotFound(f"You have no draft {draft_id}.") from None


def defects_of(draft: Draft) -> tuple[Defect, ...]:
    return store.defects_of(draft)


def show_newest_maps(cables: Sequence[Cable]) -> None:
    """Make the newest map that is shown each cable's latest, and derive anew what the cables are found by.

    The cables' rows are to be locked by the caller, in its transaction. The statements are as many for one as for all.
    """
    numbers = MapRevision.objects.shown().filter(cable__in=cables).values_list("cable", "number", "pk")
    newest = {cable: pk for cable, _, pk in sorted(numbers)}
    rows = MapRevision.objects.defer("document", "findings").in_bulk(list(newest.values()))
    failures: dict[int, list[Failure]] = {cable.pk: [] for cable in cables}
    for report in FailureReport.objects.shown().filter(cable__in=newest).order_by("-created_at", "-pk"):
        failures[report.cable_id].append(store.failure_of(report))
    found = []
    for cable in cables:
        cable.latest = rows[newest[cable.pk]] if cable.pk in newest else None
        wiring = wiring_of(cable.latest) if cable.latest else None
        cable.devices = list(wiring.cable.devices) if wiring else []
        cable.summary = wiring.cable.summary if wiring else ""
        if wiring:
            contacts = all_contacts(wiring, tables.reference())
            found.append(cable_search.Found(cable, wiring, contacts, failures[cable.pk]))
    cable_search.forget([cable for cable in cables if cable.latest is None])
    cable_search.refresh_all(found)
    columns = ("latest", "devices", "summary", "search_text", "name_text", "changed_at")
    Cable.objects.bulk_update(cables, columns)
    point_search.gather(cables)


def maps_derived_before(moment: datetime) -> QuerySet[MapRevision, int]:
    """The numbers of the maps that were derived before, withdrawn ones too, oldest first."""
    return MapRevision.objects.filter(derived_at__lt=moment).order_by("pk").values_list("pk", flat=True)


def kept_map(map_id: int) -> MapRevision:
    """One revision with its cable, also a withdrawn one: for upkeep, never to be shown. Raises NotFound."""
    try:
        return MapRevision.objects.select_related("cable").get(pk=map_id)
    except MapRevision.DoesNotExist:
        raise NotFound(f"There is no map {map_id}.") from None


def rebuild_derived(row: MapRevision) -> None:
    """Derive wiring, counts, findings, rows and search traits of one map anew from its document."""
    now = timezone.now()
    document = document_of(row)
    derived = derive(document, check_map(document))
    with transaction.atomic():
        # Read anew and locked: a map of the same cable may have been submitted while this one was checked.
        cable = Cable.objects.select_for_update().get(pk=row.cable_id)
        store.replace_derived(row, document, derived, now)
        reports = list(cable.failures.filter(Q(map=row) | Q(map=None)))
        for report in reports:
            report.code = code_of(store.failure_of(report), derived.wiring if report.map_id else None)
        FailureReport.objects.bulk_update(reports, ["code"])
        if cable.latest_id == row.pk:
            cable_search.refresh(cable, derived.wiring, derived.contacts, _failures_of(cable))
            cable.save()
        point_search.gather([cable])


@functools.lru_cache(maxsize=DOCUMENTS_AT_HAND)
def _document_bytes(map_id: int, _: str) -> bytes:
    return map_by_id(map_id).document.encode()


def _one_shown(found: Reviewed[MapRevision], otherwise: NotFound) -> MapRevision:
    found = found.select_related("cable", "author")
    if row := found.shown().first():
        return row
    hidden = found.first()
    raise store.withdrawal_of(hidden) if hidden else otherwise


def _refuse_withdrawn(row: MapRevision) -> None:
    if store.standing_of(store.last_review(row)) is not Standing.WITHDRAWN:
        return
    told = f"This very map is here already. {store.withdrawal_of(row).text}"
    defects = (Defect("/cable", told, "Correct what the reason speaks of, and submit the map again."),)
    raise Conflict("This very map was withdrawn, so it is not stored again. It is kept as your draft.", defects)


def _locked_cable(document: MapDocument) -> Cable:
    """The cable's row, made when missing, locked until the transaction ends: two submitters get two revision numbers.

    A row that is there already, by its identity or its address, is left alone by the insertion; an address
    that another cable has gets a suffix.
    """
    maker, model = document.cable.maker, document.cable.model
    identity = identity_of(maker, model)
    locked = Cable.objects.select_for_update()
    for slug in slugs_of(maker, model):
        if cable := locked.filter(identity=identity).first():
            return cable
        fresh = Cable(slug=slug, identity=identity, maker=maker, model=model, changed_at=timezone.now())
        Cable.objects.bulk_create([fresh], ignore_conflicts=True)
    return locked.get(identity=identity)


def _failures_of(cable: Cable) -> list[Failure]:
    return [store.failure_of(row) for row in cable.failures.shown().order_by("-created_at", "-pk")]


def _keep_draft(
    author: User,
    raw: bytes,
    title: str,
    findings: tuple[Finding, ...],
    defects: tuple[Defect, ...],
    instead_of: Draft | None,
) -> Draft:
    digest = content_hash(raw)
    same = Q(kind=Draft.Kind.REFUSED, content_hash=digest)
    if not has_room(author, same | Q(pk=instead_of.pk) if instead_of else same):
        raise TooManyDrafts(f"This is not taken as a map, and not kept as a draft either. {NO_ROOM}", defects, findings)
    # A database's text takes no NUL and no broken UTF-8; what was sent stays readable otherwise.
    text = raw.decode("utf-8", errors="replace").replace("\0", "\N{REPLACEMENT CHARACTER}")
    return store.keep_draft(author, text, digest, title, findings, defects, timezone.now())
