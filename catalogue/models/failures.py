"""Failure reports. The words for kind, cause, ending and so on are the enums of `catalogue.core.failures`."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from catalogue.models.cables import Cable
from catalogue.models.maps import MapRevision


class FailureReport(models.Model):
    """What failed on one specimen, where, how it showed, what was tried, how it ended. Costs stay as told."""

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

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(at_m__isnull=True) | Q(at_m__gte=0), name="failure_at_m"),
            models.CheckConstraint(condition=Q(hours__isnull=True) | Q(hours__gte=0), name="failure_hours"),
            models.CheckConstraint(condition=Q(cost__isnull=True) | Q(cost__gte=0), name="failure_cost"),
            models.CheckConstraint(condition=Q(section="") | Q(place=""), name="failure_one_place"),
        ]

    def __str__(self) -> str:
        return f"{self.cable_id}: {self.kind}"
