"""The change feed: what anybody can see of the catalogue, in the order in which it became so; and sites followed.

Rows are numbered after they are committed, when the feed is read (`catalogue.usecases.changes`): then a number can
never become visible after a higher one, on any store, and storing a contribution costs no statement more.
What has `in_feed` false was made or changed since it was numbered last.
"""

from django.db import models


class Feed(models.Model):
    """The one row (1) that is locked while numbers are given. `last` is the highest number given so far."""

    last = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"changes up to {self.last}"


class Change(models.Model):
    """Something that was made or changed: the `kind` of an entry of an export, and the id of its row."""

    number = models.BigIntegerField(primary_key=True)
    kind = models.CharField(max_length=12)
    row = models.BigIntegerField()

    class Meta:
        indexes = [models.Index(fields=["kind", "row"], name="change_of_row")]

    def __str__(self) -> str:
        return f"{self.number}: {self.kind} {self.row}"


class FollowedSite(models.Model):
    """Another site that this one mirrors, and the number up to which its changes are taken in."""

    address = models.CharField(max_length=200, unique=True)
    since = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.address} up to {self.since}"
