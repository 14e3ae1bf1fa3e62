"""`manage.py rebuild`: derives all that is kept beside the documents anew, after a rule or the derivation changed."""

from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from rich.progress import Progress

from catalogue.core.problems import Problem
from catalogue.usecases.maps import maps_derived_before
from catalogue.usecases.upkeep import rebuild_by_workers, rebuild_here


class Command(BaseCommand):
    help = "Derive nets, readings, findings and search of every map anew from its document. Documents stay as they are."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--before", metavar="TIME", help="leave out what was derived since, to go on with a rebuild begun then"
        )
        where = parser.add_mutually_exclusive_group()
        where.add_argument("--queue", action="store_true", help="have it done by the workers, and do not wait for them")
        where.add_argument("--left", action="store_true", help="only tell how many maps are left")

    def handle(self, *args: object, before: str | None, queue: bool, left: bool, **options: Any) -> None:
        moment = _moment(before)
        count = maps_derived_before(moment).count()
        if left:
            self.stdout.write(f"Maps left: {count}")
        elif queue:
            try:
                rebuild_by_workers(moment)
            except Problem as problem:
                raise CommandError(problem.text) from None
            self.stdout.write(f"Maps to rebuild: {count}. How many are left tells\n")
            self.stdout.write(f"  manage.py rebuild --left --before {moment.isoformat()}")
        else:
            with Progress(disable=not self.stderr.isatty()) as shown:
                line = shown.add_task("rebuilding maps", total=count)
                done = rebuild_here(moment, lambda number: shown.update(line, completed=number))
            self.stdout.write(f"Maps rebuilt: {done}")


def _moment(told: str | None) -> datetime:
    if told is None:
        return timezone.now()
    try:
        moment = datetime.fromisoformat(told)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise CommandError(f"{told} is no time. Give it with its zone, such as 2030-01-31T12:00:00+00:00.")
    return moment
