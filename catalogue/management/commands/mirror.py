"""`manage.py mirror URL`: takes in what changed on another site since the last run."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand

from catalogue.management.files import lines_told, problems_told
from catalogue.usecases.mirrors import follow


class Command(BaseCommand):
    help = (
        "Follow another site: take in all that changed there since the last run, page by page. It may be stopped at "
        "any time and goes on from there; run it from a timer."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("url", metavar="URL", help="the start page of the other site")
        parser.add_argument("--since", type=int, metavar="N", help="go on from this change; 0 takes in everything")

    def handle(self, *, url: str, since: int | None, **options: object) -> None:
        new = changed = number = 0
        with problems_told(), lines_told() as tell:
            for number, taken in follow(url, since):
                new += taken.new.total()
                changed += taken.changed
                tell("changes taken in, up to", number)
        self.stdout.write(f"Up to change {number}. New: {new}. Changed: {changed}.")
