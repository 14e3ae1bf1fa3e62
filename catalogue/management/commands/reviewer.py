"""`manage.py reviewer NAME`: appoints a user as reviewer; `--dismiss` takes it back."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from catalogue.core.problems import NotFound
from catalogue.usecases.people import appoint_reviewer, dismiss_reviewer


class Command(BaseCommand):
    help = "Let the user NAME review what others contribute. With --dismiss, take that back; their decisions stay."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", metavar="NAME")
        parser.add_argument("--dismiss", action="store_true")

    def handle(self, *, name: str, dismiss: bool, **options: object) -> None:
        try:
            (dismiss_reviewer if dismiss else appoint_reviewer)(name)
        except NotFound as problem:
            raise CommandError(problem.text) from None
        self.stdout.write(f"{name} is {'no longer a' if dismiss else 'a'} reviewer.")
