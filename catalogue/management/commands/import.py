"""`manage.py import FILE`: takes an export into this site, all of it or nothing."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from catalogue.management.files import lines_told, problems_told
from catalogue.usecases.imports import import_file


class Command(BaseCommand):
    help = (
        "Take in an export (FILE, as manage.py export writes it, also gzipped). Every line, count and checksum is "
        "checked before anything is stored. What is here already is left alone; nothing is stored if it contradicts."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)

    def handle(self, *, file: Path, **options: object) -> None:
        try:
            with problems_told(), lines_told() as tell:
                taken = import_file(file, tell)
        except OSError as error:
            raise CommandError(f"{file} cannot be read: {error.strerror or error}.") from None
        self.stdout.write(f"New: {taken.told_new()}. Here already: {taken.known}.")
