"""Map revisions as submitted, the rows derived from them, and drafts of refused submissions."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from catalogue.models.cables import Cable
from catalogue.models.feed import FollowedSite
from catalogue.models.reviews import Reviewed


def credit(author: models.Model | None, author_name: str) -> str | None:
    """Whom a contribution is shown to be by: somebody of this site or of another one; None when nobody knows."""
    if author is not None:
        return str(author)
    return f"{author_name} (on another site)" if author_name else None


class MapRevision(models.Model):
    """One revision of the map of a cable. Written once, never changed: drawings and findings are cached by its hash.

    `document` is the canonical JSON. Derived from it: `wiring`, the same with its nets completed from the readings and
    then without readings, which is what pages and drawings need; the findings; and the counts. `derived_at` says when,
    so that what was derived before a rule changed can be told from what was derived after it.
    `author_name` is the author's name on the site where it was made, when that is not this one.
    """

    cable = models.ForeignKey(Cable, on_delete=models.PROTECT, related_name="maps")
    number = models.PositiveIntegerField()
    hardware_revision = models.CharField(max_length=40, blank=True)
    document = models.TextField()
    wiring = models.TextField()
    content_hash = models.CharField(max_length=64)
    findings = models.JSONField(default=list)
    author = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="maps")
    author_name = models.CharField(max_length=150, blank=True)
    created_at = models.DateTimeField(db_index=True)
    contact_count = models.PositiveIntegerField()
    net_count = models.PositiveIntegerField()
    path_count = models.PositiveIntegerField()
    reading_count = models.PositiveIntegerField()
    derived_at = models.DateTimeField(default=timezone.now, db_index=True)
    in_feed = models.BooleanField(default=False)
    taken_from = models.ForeignKey(FollowedSite, null=True, on_delete=models.SET_NULL, related_name="+")

    objects = Reviewed.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["cable", "number"], name="map_number_once"),
            models.UniqueConstraint(fields=["cable", "content_hash"], name="map_content_once"),
        ]
        # Which maps are the newest of their hardware is asked of all maps at once, and a row holds a whole document.
        indexes = [
            models.Index(fields=["cable", "hardware_revision", "number"], name="map_of_hardware"),
            models.Index(fields=["content_hash"], name="map_by_content"),
            models.Index(fields=["id"], condition=Q(in_feed=False), name="map_not_in_feed"),
        ]

    def __str__(self) -> str:
        return f"{self.cable_id} map revision {self.number}"

    @property
    def by(self) -> str | None:
        return credit(self.author, self.author_name)


class EndRow(models.Model):
    """An end of a map, for finding cables by connector and number of contacts, and maps by how they are wired.

    `row_lengths` are the contacts in each row of the mating face (`12 10 1`), `net_numbers` the net at each seat as
    little-endian 16-bit numbers, which count across all ends of the map.
    """

    map = models.ForeignKey(MapRevision, on_delete=models.CASCADE, related_name="ends")
    name = models.CharField(max_length=24)
    connector = models.CharField(max_length=60, db_index=True)
    contact_count = models.PositiveIntegerField(db_index=True)
    row_lengths = models.CharField(max_length=400, blank=True)
    net_numbers = models.BinaryField(default=bytes)

    def __str__(self) -> str:
        return self.name


class NetRow(models.Model):
    """A net of a map, declared or deduced, with its contacts."""

    map = models.ForeignKey(MapRevision, on_delete=models.CASCADE, related_name="nets")
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=12)
    contacts = models.JSONField()

    def __str__(self) -> str:
        return self.name


class ReadingRow(models.Model):
    """A reading of a map, in the units of the document (ohms, volts, farads)."""

    map = models.ForeignKey(MapRevision, on_delete=models.CASCADE, related_name="readings")
    ident = models.CharField(max_length=40)
    mode = models.CharField(max_length=8)
    red = models.CharField(max_length=60)
    black = models.TextField()
    result = models.CharField(max_length=8)
    value = models.FloatField(null=True)

    def __str__(self) -> str:
        return self.ident


class Draft(models.Model):
    """A map that is not one yet: a refused submission as it was sent, or a session at the bench.

    `text` is a map document, for a session one that may lack anything but the braces. `version` counts the texts it
    had, so that a writer who saw an older one is told. `session` is what the program that began it calls it, if
    anything. `findings` and `defects` say why it was refused, if it was.
    """

    class Kind(models.TextChoices):
        REFUSED = "refused"
        BENCH = "bench"

    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="drafts")
    text = models.TextField()
    content_hash = models.CharField(max_length=64)
    title = models.CharField(max_length=250)
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.REFUSED)
    session = models.CharField(max_length=64, blank=True)
    version = models.PositiveIntegerField(default=1)
    findings = models.JSONField(default=list)
    defects = models.JSONField(default=list)
    changed_at = models.DateTimeField()

    class Meta:
        constraints = [
            # Two sessions may well say the same, such as two that have just been begun.
            models.UniqueConstraint(fields=["author", "content_hash"], condition=Q(kind="refused"), name="draft_once"),
            models.UniqueConstraint(fields=["author", "session"], condition=~Q(session=""), name="draft_of_session"),
        ]

    def __str__(self) -> str:
        return self.title
