"""What other people than the author read of a map's cable. The outcomes are in `catalogue.core.confirming`."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from catalogue.models.feed import FollowedSite
from catalogue.models.maps import MapRevision, credit


class Confirmation(models.Model):
    """One person's readings of the cable of one map, and what came of holding them against it.

    `readings` and `meter` stand as in a map document. `report` is derived from them and the map. `key` is the same on
    every site that has it; `author_name` as for a map.
    """

    map = models.ForeignKey(MapRevision, on_delete=models.CASCADE, related_name="confirmations")
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="confirmations"
    )
    author_name = models.CharField(max_length=150, blank=True)
    created_at = models.DateTimeField(db_index=True)
    readings = models.JSONField()
    meter = models.JSONField(default=dict)
    note = models.TextField(blank=True)
    outcome = models.CharField(max_length=16)
    report = models.JSONField(default=dict)
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    in_feed = models.BooleanField(default=False)
    taken_from = models.ForeignKey(FollowedSite, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["map", "author"], name="confirmation_once")]
        indexes = [models.Index(fields=["id"], condition=Q(in_feed=False), name="confirmation_not_in_feed")]

    def __str__(self) -> str:
        return f"{self.map_id}: {self.outcome}"

    @property
    def by(self) -> str | None:
        return credit(self.author, self.author_name)


class EarlierConfirmation(models.Model):
    """What a person had sent on a map until they sent anew. Never changed; `told` has the row's columns as JSON.

    `key` is the same on every site that has it.
    """

    confirmation = models.ForeignKey(Confirmation, on_delete=models.CASCADE, related_name="earlier")
    told = models.JSONField()
    told_at = models.DateTimeField()
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    in_feed = models.BooleanField(default=False)

    class Meta:
        indexes = [models.Index(fields=["id"], condition=Q(in_feed=False), name="earlier_not_in_feed")]

    def __str__(self) -> str:
        return f"confirmation {self.confirmation_id} of {self.told_at:%Y-%m-%d}"
