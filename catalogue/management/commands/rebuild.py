"""`manage.py rebuild`: derives all that is kept beside the documents anew, after a rule or the derivation changed."""

from django.core.management.base import BaseCommand
from rich.progress import track

from catalogue.usecases.maps import kept_map, map_ids, rebuild_derived


class Command(BaseCommand):
    help = "Derive nets, readings, findings and search of every map anew from its document. Documents stay as they are."

    def handle(self, *args: object, **options: object) -> None:
        ids = map_ids()
        for map_id in track(ids, description="rebuilding maps", disable=not self.stderr.isatty()):
            rebuild_derived(kept_map(map_id))
        self.stdout.write(f"Maps rebuilt: {len(ids)}")
