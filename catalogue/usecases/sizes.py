"""How large anything may be that is sent to be read: as large as a map document."""

from django.conf import settings

from catalogue.core.problems import TooLarge


def refuse_too_large(sent: bytes | str, what: str) -> None:
    """Raises TooLarge for more than a map document may have; `what` is sent, such as "The list"."""
    size = len(sent.encode(errors="replace")) if isinstance(sent, str) else len(sent)
    if size > settings.DOCUMENT_BYTES:
        raise TooLarge(f"{what} has {size:,} bytes; at most {settings.DOCUMENT_BYTES:,} are read. Nothing was stored.")
