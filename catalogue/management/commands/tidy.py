"""`manage.py tidy`: throws away what nobody asks for any more. To be run once a day."""

from django.core.management.base import BaseCommand

from catalogue.usecases.repeats import forget_old_answers


class Command(BaseCommand):
    help = "Throw away answers that were kept for requests sent again, a day after they were given. Run it daily."

    def handle(self, *args: object, **options: object) -> None:
        self.stdout.write(f"Kept answers thrown away: {forget_old_answers()}")
