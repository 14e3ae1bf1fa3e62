"""Drawings of one page each put together to one PDF: the one file that knows PDF, by the pypdf library."""

from collections.abc import Iterable
from io import BytesIO

from pypdf import PdfReader, PdfWriter


def bound(pages: Iterable[bytes]) -> bytes:
    """One PDF with the pages of several, in their order. The same input gives the same bytes."""
    writer = PdfWriter()
    for page in pages:
        writer.append(PdfReader(BytesIO(page)), import_outline=False)
    whole = BytesIO()
    writer.write(whole)
    return whole.getvalue()
