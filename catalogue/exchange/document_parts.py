"""Parts of a map document that are sent alone, such as `{"ends", "meter", "readings"}`.

They are read by the reader of whole documents, so what is wrong is told alike, by JSON pointers that count in
what was sent.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

from catalogue.core.document import CableName, End, MapDocument, Net
from catalogue.core.problems import BadDocument, BadRequest, Defect, TooLarge
from catalogue.exchange.documents import DOCUMENT_BYTES, document_from
from catalogue.exchange.json_values import cleaned, decoded
from catalogue.exchange.shapes import write_document
from catalogue.exchange.violations import defects, pointer

UNNAMED = CableName("not known", "not known")

STAND_IN = Net("stand-in", ("END:1",))
"""A document has nets or readings; where there may be neither yet, this net stands in while it is read."""


def read_parts(
    raw: bytes,
    parts: Collection[str],
    others: Collection[str] = (),
    ends: Sequence[End] = (),
    may_lack_readings: bool = False,
) -> tuple[MapDocument, dict[str, Any]]:
    """The `parts` of a document in a JSON object as a document, and the `others` as JSON values, unchecked otherwise.

    `ends` are those of the document when they are not sent. Its cable has no name. Raises `TooLarge` or
    `BadRequest` with every defect; readings have to be among the parts, unless they may be lacking.
    """
    if len(raw) > DOCUMENT_BYTES:
        raise TooLarge(f"The request has {len(raw):,} bytes; at most {DOCUMENT_BYTES:,} are read. Send fewer readings.")
    try:
        sent = _object(decoded(raw), (*parts, *others))
        more = cleaned({key: sent.pop(key) for key in others if key in sent})
        if more.violations:
            raise BadDocument("", defects(more.violations))
        whole = write_document(MapDocument(UNNAMED, tuple(ends), nets=(STAND_IN,)))
        kept = ("format", "cable", "ends", "nets") if may_lack_readings else ("format", "cable", "ends")
        sent |= {key: whole[key] for key in kept if key in whole and key not in parts}
        sent.setdefault("readings", [])
        document = document_from(sent)
        return (replace(document, nets=()) if may_lack_readings else document), more.value
    except BadDocument as problem:
        first = problem.defects[0]
        text = f"The request cannot be read: {first.where or 'in it'}: {first.message}. Nothing was stored."
        raise BadRequest(text, problem.defects) from None


def _object(sent: object, known: Sequence[str]) -> dict[str, Any]:
    """What was sent, when it is an object with no other fields than those known."""
    listed = ", ".join(known)
    if not isinstance(sent, dict):
        raise BadDocument("", (Defect("", "not a JSON object", f"Send an object with {listed}."),))
    if unknown := sorted(set(sent) - set(known)):
        told = [Defect(pointer((key,)), "an unknown field", f"Known are: {listed}.") for key in unknown[:20]]
        raise BadDocument("", told)
    return sent
