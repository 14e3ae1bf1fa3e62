"""`manage.py export FILE`: writes the whole catalogue, as anybody may see it, to one file."""

import os
import sys
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from django.core.management.base import BaseCommand, CommandError

from catalogue.management.files import lines_told
from catalogue.usecases.exports import write_export


class Command(BaseCommand):
    help = (
        "Write all maps, failure reports, confirmations, decisions and wanted cables that anybody may see to FILE "
        "(NDJSON; - for the terminal; gzipped when its name ends with .gz). The same catalogue gives the same bytes."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", help="a file, or -")
        parser.add_argument("--made-at", default="", metavar="TIME", help="put this into the header")

    def handle(self, *, file: str, made_at: str, **options: object) -> None:
        try:
            with _target(file) as target, lines_told() as tell:
                write_export(target, file.endswith(".gz"), made_at, lambda lines: tell("writing", lines))
        except OSError as error:
            raise CommandError(f"{file} cannot be written: {error.strerror or error}.") from None


@contextmanager
def _target(file: str) -> Iterator[BinaryIO]:
    """What to write to. A file appears under its name only when it is whole."""
    if file == "-":
        yield sys.stdout.buffer
        sys.stdout.buffer.flush()
        return
    part = Path(f"{file}.part")
    try:
        with part.open("wb") as target:
            yield target
        os.replace(part, file)
    finally:
        part.unlink(missing_ok=True)
