"""Sessions at the bench: drafts that grow reading by reading, written from several tabs and devices.

A draft's text is a map document that may lack anything but the braces. Whoever writes names the version that
they read, so that nobody overwrites readings they never saw.
"""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.utils import timezone

from catalogue.core.findings import accepted, finding_json
from catalogue.core.problems import BadDocument, Defect, NotFound, Stale, TooManyDrafts
from catalogue.exchange.documents import content_hash
from catalogue.exchange.json_values import decoded
from catalogue.models import Draft, User
from catalogue.usecases.maps import NO_ROOM, Submission, check_map, drafts_of, has_room, read_document, store_map
from catalogue.usecases.sizes import refuse_too_large

UNNAMED = "A cable without a name yet"
LONGEST_NAME = 80


def new_draft(author: User, raw: bytes, session: str = "") -> tuple[Draft, bool]:
    """Begin a session with this text; and whether it is new.

    Where the author has begun the session called `session` before, its draft is the answer, as it is by now, and
    nothing is written: the answer to the first call may have been lost. Raises BadDocument, TooLarge or TooManyDrafts.
    """
    begun = {"kind": Draft.Kind.BENCH, **_fields(raw)}
    known = author.drafts.filter(session=session).first() if session else None
    if known:
        return known, False
    if not has_room(author):
        raise TooManyDrafts(f"No session was begun. {NO_ROOM}")
    if not session:
        return Draft.objects.create(author=author, **begun), True
    return Draft.objects.get_or_create(author=author, session=session, defaults=begun)


def replace_draft(author: User, draft_id: int, version: int | None, raw: bytes) -> Draft:
    """Write a draft's text anew, where it still has this version; None is any.

    A refused submission becomes a session, since what was said of it was said of another text. Raises NotFound,
    Stale, BadDocument or TooLarge; then the draft is as it was.
    """
    fields = _fields(raw)
    with transaction.atomic():
        draft = _locked(author, draft_id, version)
        for name, value in fields.items():
            setattr(draft, name, value)
        draft.kind, draft.findings, draft.defects = Draft.Kind.BENCH, [], []
        draft.version += 1
        draft.save()
    return draft


def delete_draft(author: User, draft_id: int, version: int | None = None) -> None:
    """Throw a draft away, where it still has this version; None is any. Raises NotFound or Stale."""
    with transaction.atomic():
        _locked(author, draft_id, version).delete()


def submit_draft(author: User, draft_id: int, version: int | None, raw: bytes) -> Submission:
    """Submit the map that a draft has become, where it still has this version.

    `raw` is the whole document. Accepted, it takes the draft's place. Refused, the draft keeps its text and gets
    the findings. Raises NotFound, Stale, BadDocument, TooLarge, or Conflict when this very map was withdrawn; then
    nothing changes.
    """
    document = read_document(raw)
    findings = check_map(document)
    with transaction.atomic():
        draft = _locked(author, draft_id, version)
        if not accepted(findings):
            draft.findings = [finding_json(finding) for finding in findings]
            draft.save(update_fields=["findings"])
            return Submission(findings, draft=draft)
        submission = store_map(author, document, findings)
        draft.delete()
    return submission


def _locked(author: User, draft_id: int, version: int | None) -> Draft:
    """The author's own draft, locked until the transaction ends."""
    draft = Draft.objects.select_for_update().filter(author=author, pk=draft_id).first()
    if draft is None:
        raise NotFound(f"You have no draft {draft_id}. It may have been submitted or thrown away elsewhere.")
    if version is not None and draft.version != version:
        raise Stale(
            f"This draft was changed elsewhere: it has version {draft.version} by now, and you saw {version}. "
            "Nothing was written. Fetch it, put both together, and send again."
        )
    return draft


def _fields(raw: bytes) -> dict[str, Any]:
    """What a row says of a text. Raises BadDocument when it is no JSON object, or TooLarge."""
    refuse_too_large(raw, "The draft")
    value = decoded(raw)
    if not isinstance(value, dict):
        defect = Defect("", "not a JSON object", 'Send a map document, however incomplete: {"ends": […]}.')
        raise BadDocument("A draft is a JSON object. Nothing was stored.", (defect,))
    return {
        "text": raw.decode("utf-8-sig"),
        "content_hash": content_hash(raw),
        "title": _title(value.get("cable")),
        "changed_at": timezone.now(),
    }


def _title(cable: object) -> str:
    """Maker and model, as far as they can be read."""
    names = (cable.get("maker"), cable.get("model")) if isinstance(cable, dict) else ()
    shown = ("".join(filter(str.isprintable, name))[:LONGEST_NAME].strip() for name in names if isinstance(name, str))
    return " ".join(filter(None, shown)) or UNNAMED


def to_go_on_with(author: User, most: int) -> list[Draft]:
    """Of the newest drafts of an author, those that the bench can go on with."""
    # What could not even be read has no ends to draw.
    return [draft for draft in drafts_of(author)[:most] if not draft.defects]
