"""`manage.py grow`: fills the site with a large invented catalogue, to see how it does with much in it."""

import os
from argparse import ArgumentParser, ArgumentTypeError

from django.core.management.base import BaseCommand
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn

from catalogue.management.files import problems_told
from catalogue.usecases.growing import grow


def count(text: str) -> int:
    """A whole number from 1 on. Raises ArgumentTypeError."""
    if not (text.isascii() and text.isdecimal() and int(text)):
        raise ArgumentTypeError(f"{text} is no whole number from 1 on")
    return int(text)


class Command(BaseCommand):
    help = (
        "Add invented cables with maps, readings, confirmations, failure reports and reviews of invented people. The "
        "same numbers and seed give the same catalogue. Nothing that is here is changed or removed."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--cables", metavar="N", type=count, default=1000, help="how many; 1000 if not told")
        parser.add_argument("--seed", metavar="S", type=count, default=1, help="which catalogue; 1 if not told")
        parser.add_argument(
            "--add",
            action="store_true",
            help="on a site that has cables: add to them, and pass over those of this catalogue that are there",
        )
        parser.add_argument(
            "--processes",
            metavar="P",
            type=count,
            default=os.cpu_count() or 1,
            help="as many as processors if not told",
        )

    def handle(self, *, cables: int, seed: int, add: bool, processes: int, **options: object) -> None:
        columns = (TextColumn("growing"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn(), TimeRemainingColumn())
        with (
            problems_told(),
            Progress(*columns, console=Console(stderr=True), disable=not self.stderr.isatty()) as shown,
        ):
            task = shown.add_task("", total=cables)
            told = grow(cables, seed, processes, add, lambda many: shown.update(task, completed=many))
        named = ", ".join(f"{count} {name}" for name, count in told.items() if name != "known")
        self.stdout.write(f"New: {named}. Here already: {told['known']} cables.")
