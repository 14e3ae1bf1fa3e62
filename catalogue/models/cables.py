"""A cable model, and the traits by which it is found."""

from django.db import models


class Cable(models.Model):
    """A model of interconnect. `identity` is a hash of maker and model folded, so that capitals make no second cable.

    `search_text` and the traits are derived from the latest map and the failure reports, and can be rebuilt.
    """

    slug = models.SlugField(max_length=100, unique=True)
    identity = models.CharField(max_length=64, unique=True)
    maker = models.CharField(max_length=120)
    model = models.CharField(max_length=120)
    devices = models.JSONField(default=list)
    summary = models.TextField(blank=True)
    search_text = models.TextField(blank=True)
    latest = models.OneToOneField("MapRevision", null=True, on_delete=models.SET_NULL, related_name="+")
    changed_at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return f"{self.maker} {self.model}"


class Trait(models.Model):
    """One thing that a cable can be found by: kind `connector`, value `usb2-a`. Derived; see `catalogue.search`."""

    cable = models.ForeignKey(Cable, on_delete=models.CASCADE, related_name="traits")
    kind = models.CharField(max_length=20)
    value = models.CharField(max_length=120)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "value", "cable"], name="trait_once")]

    def __str__(self) -> str:
        return f"{self.kind}: {self.value}"
