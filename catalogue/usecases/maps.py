"""Maps: check one, submit one, read what is stored. A refused submission stays as a draft of its author."""

import hashlib
from dataclasses import dataclass, replace

from django.conf import settings
from django.db import transaction
from django.db.models import Max, QuerySet
from django.utils import timezone
from django.utils.text import slugify

from catalogue import store, tables
from catalogue.core.check import check
from catalogue.core.document import MapDocument
from catalogue.core.findings import Finding, accepted
from catalogue.core.problems import BadDocument, Defect, NotFound
from catalogue.core.wiring import all_contacts, with_deduced_nets
from catalogue.exchange.documents import canonical_json, content_hash, parse_map
from catalogue.exchange.wire_list_csv import wire_list_csv
from catalogue.models import Cable, Draft, MapRevision, User
from catalogue.search import cables as cable_search
from catalogue.search.text import fold


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
        raise NotFound(f"There is no map {map_id}. The list of maps names those that are there.") from None


def map_of_cable(slug: str, number: int) -> MapRevision:
    """Revision `number` of a cable's map. Raises NotFound."""
    try:
        return MapRevision.objects.select_related("cable", "author").get(cable__slug=slug, number=number)
    except MapRevision.DoesNotExist:
        raise NotFound(f"The cable {slug} has no map revision {number}.") from None


def document_text(map_id: int) -> tuple[str, str]:
    """The canonical JSON of a map and its content hash, without touching anything else. Raises NotFound."""
    row = MapRevision.objects.filter(pk=map_id).values_list("document", "content_hash").first()
    if row is None:
        raise NotFound(f"There is no map {map_id}. The list of maps names those that are there.")
    return row


def document_of(row: MapRevision) -> MapDocument:
    """The document as submitted, with its readings."""
    return parse_map(row.document.encode(), len(row.document.encode()))


def wiring_of(row: MapRevision) -> MapDocument:
    """How the cable is wired: the document with its deduced nets, without readings."""
    return parse_map(row.wiring.encode(), len(row.wiring.encode()))


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


def rebuild_derived(row: MapRevision) -> None:
    """Derive wiring, counts, findings, rows and search traits of one map anew from its document."""
    document = document_of(row)
    wiring, contacts = _wiring(document)
    with transaction.atomic():
        store.replace_derived(row, document, wiring, contacts, _wiring_json(wiring), check_map(document))
        if row.cable.latest_id == row.pk:
            _refresh_search(row.cable, wiring, contacts)


def _store(author: User, document: MapDocument, findings: tuple[Finding, ...]) -> Submission:
    canonical = canonical_json(document)
    digest = content_hash(canonical)
    wiring, contacts = _wiring(document)
    texts = canonical.decode(), _wiring_json(wiring), digest
    now = timezone.now()
    with transaction.atomic():
        cable = _cable_for_update(document)
        same = cable.maps.filter(content_hash=digest).select_related("cable").first()
        if same is not None:
            return Submission(store.findings_of(same), map=same, is_new=False)
        number = (cable.maps.aggregate(last=Max("number"))["last"] or 0) + 1
        row = store.add_map(cable, number, document, wiring, contacts, texts, findings, author, now)
        cable.latest = row
        cable.devices = list(document.cable.devices)
        cable.summary = document.cable.summary
        cable.changed_at = now
        cable.save()
        _refresh_search(cable, wiring, contacts)
    return Submission(findings, map=row)


def _wiring(document: MapDocument) -> tuple[MapDocument, tuple[str, ...]]:
    reference = tables.reference()
    return with_deduced_nets(document, reference), all_contacts(document, reference)


def _wiring_json(wiring: MapDocument) -> str:
    return canonical_json(replace(wiring, readings=())).decode()


def _cable_for_update(document: MapDocument) -> Cable:
    """The cable's row, locked until the transaction ends, so that two submitters get two revision numbers."""
    maker, model = document.cable.maker, document.cable.model
    identity = f"{fold(maker)} / {fold(model)}"
    cable, _ = Cable.objects.get_or_create(
        identity=identity,
        defaults={
            "slug": _free_slug(maker, model, identity),
            "maker": maker,
            "model": model,
            "changed_at": timezone.now(),
        },
    )
    return Cable.objects.select_for_update().get(pk=cable.pk)


def _free_slug(maker: str, model: str, identity: str) -> str:
    slug = slugify(f"{maker} {model}")[:80]
    if slug and not Cable.objects.filter(slug=slug).exists():
        return slug
    return f"{slug or 'cable'}-{hashlib.sha256(identity.encode()).hexdigest()[:8]}"


def _refresh_search(cable: Cable, wiring: MapDocument, contacts: tuple[str, ...]) -> None:
    failures = [store.failure_of(row) for row in cable.failures.all()]
    cable_search.refresh(cable, wiring, contacts, failures)


def _keep_draft(
    author: User, raw: bytes, title: str, findings: tuple[Finding, ...], defects: tuple[Defect, ...]
) -> Draft:
    # A database's text takes no NUL and no broken UTF-8; what was sent stays readable otherwise.
    text = raw.decode("utf-8", errors="replace").replace("\0", "\N{REPLACEMENT CHARACTER}")
    return store.keep_draft(author, text, content_hash(raw), title, findings, defects, timezone.now())
