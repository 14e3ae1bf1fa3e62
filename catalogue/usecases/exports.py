"""The whole catalogue as one file: what anybody may see, as it was at one moment."""

import gzip
from collections.abc import Callable, Iterator
from typing import BinaryIO

from catalogue import store
from catalogue.exchange import exports
from catalogue.exchange.exports import EntryKind
from catalogue.usecases.changes import last_number, number_changes
from catalogue.usecases.entries import lines_of, numbered

ROWS_AT_ONCE = 20
"""Rows that are held in memory; each of them may have a document of 2 MiB."""


def write_export(
    file: BinaryIO, is_packed: bool = False, made_at: str = "", tell: Callable[[int], object] = lambda lines: None
) -> None:
    """Write all that the change feed has told of so far, gzipped if asked. The same catalogue gives the same bytes.

    `made_at` goes into the header when it is given; `tell` is called with the number of lines now and then.
    """
    if is_packed:
        # Neither name nor time go into it, or the bytes would differ.
        with gzip.GzipFile(filename="", mode="wb", fileobj=file, mtime=0) as packed:
            write_export(packed, False, made_at, tell)  # type: ignore[arg-type]  # written to as a file is
        return
    while number_changes():
        pass
    with store.snapshot():
        header = {"changes": last_number()} | ({"made_at": made_at} if made_at else {})
        for number, line in enumerate(exports.written(header, _entries())):
            file.write(line)
            if number % ROWS_AT_ONCE == 0:
                tell(number)


def export_schema() -> str:
    """The JSON Schema (2020-12) of the lines of an export and of the change feed's entries."""
    return exports.schema_bytes().decode()


def _entries() -> Iterator[tuple[EntryKind, str]]:
    for kind in EntryKind:
        for _, line in lines_of(kind, numbered(kind).iterator(chunk_size=ROWS_AT_ONCE)):
            yield kind, line
