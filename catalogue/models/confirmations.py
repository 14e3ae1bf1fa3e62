"""What other people than the author read of a map's cable. The outcomes are in `catalogue.core.confirming`."""

from django.conf import settings
from django.db import models

from catalogue.models.maps import MapRevision


class Confirmation(models.Model):
    """One person's readings of the cable of one map, and what came of holding them against it.

    `readings` and `meter` stand as in a map document. `report` is derived from them and the map.
    """

    map = models.ForeignKey(MapRevision, on_delete=models.CASCADE, related_name="confirmations")
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="confirmations"
    )
    created_at = models.DateTimeField(db_index=True)
    readings = models.JSONField()
    meter = models.JSONField(default=dict)
    note = models.TextField(blank=True)
    outcome = models.CharField(max_length=16)
    report = models.JSONField(default=dict)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["map", "author"], name="confirmation_once")]

    def __str__(self) -> str:
        return f"{self.map_id}: {self.outcome}"
