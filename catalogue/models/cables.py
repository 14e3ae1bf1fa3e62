"""A cable model, and the traits by which it is found."""

from django.db import models
from django.db.models import Exists, OuterRef, Q

from catalogue.models.feed import FollowedSite
from catalogue.models.reviews import withdrawn


class Cables(models.QuerySet["Cable"]):
    """Cables, by what reviewers made of their maps."""

    def shown(self) -> "Cables":
        """All but those whose every map is withdrawn. A cable that nobody mapped is shown."""
        # Asked of the few cables without a latest map, one by one.
        maps = withdrawn("map").filter(map__cable=OuterRef("pk"))
        return self.filter(Q(latest__isnull=False) | ~Exists(maps))


class Cable(models.Model):
    """A model of interconnect. `identity` is a hash of maker and model folded, so that capitals make no second cable.

    `search_text`, of it what names the cable and its devices in `name_text`, and the traits are derived from the
    latest map and the failure reports, and can be rebuilt.
    `latest` is the newest map that is shown.
    """

    slug = models.SlugField(max_length=100, unique=True)
    identity = models.CharField(max_length=64, unique=True)
    maker = models.CharField(max_length=120)
    model = models.CharField(max_length=120)
    devices = models.JSONField(default=list)
    summary = models.TextField(blank=True)
    search_text = models.TextField(blank=True)
    name_text = models.TextField(blank=True)
    latest = models.OneToOneField("MapRevision", null=True, on_delete=models.SET_NULL, related_name="+")
    changed_at = models.DateTimeField(db_index=True)
    in_feed = models.BooleanField(default=False)

    objects = Cables.as_manager()

    class Meta:
        indexes = [models.Index(fields=["id"], condition=Q(in_feed=False), name="cable_not_in_feed")]

    def __str__(self) -> str:
        return f"{self.maker} {self.model}"


class Trait(models.Model):
    """One thing that a cable can be found by: kind `connector`, value `usb2-a`. Derived; see `catalogue.search`."""

    cable = models.ForeignKey(Cable, on_delete=models.CASCADE, related_name="traits", db_index=False)
    kind = models.CharField(max_length=20)
    value = models.CharField(max_length=120)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "value", "cable"], name="trait_once")]
        # What hundreds of cables have is counted without looking at the rows.
        indexes = [models.Index(fields=["cable", "kind", "value"], name="trait_of_cable")]

    def __str__(self) -> str:
        return f"{self.kind}: {self.value}"


class Word(models.Model):
    """A word that some cable is described by, folded. Each store indexes its groups of letters, for slips of typing."""

    word = models.CharField(max_length=40, unique=True)

    def __str__(self) -> str:
        return self.word


class Wanted(models.Model):
    """A cable that people asked for; nobody is named. `identity` is made as a cable's is, so the mapped are known."""

    identity = models.CharField(max_length=64, unique=True)
    maker = models.CharField(max_length=80)
    model = models.CharField(max_length=80)
    device = models.CharField(max_length=80, blank=True)
    askers = models.PositiveIntegerField(default=1)
    first_asked_at = models.DateTimeField(db_index=True)
    last_asked_at = models.DateTimeField()
    in_feed = models.BooleanField(default=False)
    taken_from = models.ForeignKey(FollowedSite, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        indexes = [
            models.Index(fields=["-askers", "-last_asked_at"], name="wanted_most"),
            models.Index(fields=["id"], condition=Q(in_feed=False), name="wanted_not_in_feed"),
        ]

    def __str__(self) -> str:
        return f"{self.maker} {self.model}"
