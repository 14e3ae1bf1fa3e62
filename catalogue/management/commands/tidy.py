"""`manage.py tidy`: throws away what nobody asks for any more, and puts back tasks whose worker died."""

from django.core.management.base import BaseCommand

from catalogue.usecases.upkeep import tidy_up


class Command(BaseCommand):
    help = (
        "Throw away kept answers and finished tasks a day later, and put tasks back into the queue whose worker died. "
        "Run it every ten minutes."
    )

    def handle(self, *args: object, **options: object) -> None:
        thrown_away, orphans = tidy_up()
        self.stdout.write(
            f"Kept answers and finished tasks thrown away: {thrown_away}. Tasks of dead workers: {orphans}."
        )
