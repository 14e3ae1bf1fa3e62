"""Failure reports, and what they said before they were told anew.

The words for kind, cause, ending and so on are the enums of `catalogue.core.failures`.
"""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from catalogue.models.cables import Cable
from catalogue.models.feed import FollowedSite
from catalogue.models.maps import MapRevision
from catalogue.models.reviews import Reviewed


class FailureReport(models.Model):
    """What failed on one specimen, where, how it showed, what was tried, how it ended. Costs stay as told.

    `key` is the same on every site that has it. `code` is what is counted of it across cables, derived from the report
    as it is told now and the map that it was told against; see `catalogue.core.counting`. None until it is derived.
    """

    cable = models.ForeignKey(Cable, on_delete=models.PROTECT, related_name="failures")
    map = models.ForeignKey(MapRevision, null=True, on_delete=models.SET_NULL, related_name="failures")
    reporter = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="failures"
    )
    created_at = models.DateTimeField(db_index=True)
    kind = models.CharField(max_length=20, db_index=True)
    ending = models.CharField(max_length=12)
    symptoms = models.JSONField(default=list)
    words = models.CharField(max_length=500, blank=True)
    section = models.CharField(max_length=40, blank=True)
    at_m = models.FloatField(null=True)
    place = models.CharField(max_length=40, blank=True)
    nets = models.JSONField(default=list)
    cause = models.CharField(max_length=20)
    tried = models.JSONField(default=list)
    note = models.TextField(blank=True)
    hours = models.FloatField(null=True)
    cost = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    currency = models.CharField(max_length=3, blank=True)
    code = models.BigIntegerField(null=True)
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    in_feed = models.BooleanField(default=False)
    taken_from = models.ForeignKey(FollowedSite, null=True, on_delete=models.SET_NULL, related_name="+")

    objects = Reviewed.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(at_m__isnull=True) | Q(at_m__gte=0), name="failure_at_m"),
            models.CheckConstraint(condition=Q(hours__isnull=True) | Q(hours__gte=0), name="failure_hours"),
            models.CheckConstraint(condition=Q(cost__isnull=True) | Q(cost__gte=0), name="failure_cost"),
            models.CheckConstraint(condition=Q(section="") | Q(place=""), name="failure_one_place"),
        ]
        indexes = [models.Index(fields=["id"], condition=Q(in_feed=False), name="failure_not_in_feed")]

    def __str__(self) -> str:
        return f"{self.cable_id}: {self.kind}"


class CountedReports(models.Model):
    """All reports on a cable that are shown: how many, how many of them ended mended, and their codes, packed.

    Derived. There is no row where there are none.
    """

    cable = models.OneToOneField(Cable, primary_key=True, on_delete=models.CASCADE, related_name="counted_reports")
    reports = models.PositiveIntegerField()
    mended = models.PositiveIntegerField()
    codes = models.BinaryField()

    def __str__(self) -> str:
        return f"reports on {self.cable_id}"


class EarlierTelling(models.Model):
    """What a report said until its reporter told it anew. Never changed; `told` has the report's columns as JSON."""

    report = models.ForeignKey(FailureReport, on_delete=models.CASCADE, related_name="earlier")
    map = models.ForeignKey(MapRevision, null=True, on_delete=models.SET_NULL, related_name="+")
    told = models.JSONField()
    replaced_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"report {self.report_id} until {self.replaced_at:%Y-%m-%d}"
