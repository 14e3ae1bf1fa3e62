"""`manage.py token NAME`: prints an API token for a user, creating the user when missing."""

import re
from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from catalogue.usecases.people import new_token


class Command(BaseCommand):
    help = "Print a new API token for the user NAME (who is created when missing). It is shown this once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", metavar="NAME")

    def handle(self, *, name: str, **options: object) -> None:
        if not re.fullmatch(r"[\w.@+-]{1,150}", name):
            raise CommandError("A user's name has 1 to 150 letters, digits and . @ + - _ only.")
        token, is_new = new_token(name)
        if is_new:
            self.stderr.write(f"Created the user {name}.")
        self.stdout.write(token)
