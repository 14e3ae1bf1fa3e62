"""Reviews of what people contributed, and the one place that says what is shown: `Reviewed.shown`."""

import uuid
from typing import TypeVar

from django.conf import settings
from django.db import models
from django.db.models import Exists, F, OuterRef, Q

APPROVED, QUERIED, WITHDRAWN = DECISIONS = ("approved", "queried", "withdrawn")
TOLD_ANEW = "not-reviewed"
"""No decision: the author told a report anew, so that what was decided before was said of another text."""

Contribution = TypeVar("Contribution", bound=models.Model)


class Review(models.Model):
    """One decision of a reviewer on one contribution, or `TOLD_ANEW`. Never changed or removed; the last one counts.

    `contributor` is the author of what is reviewed, kept here too so that the database itself can refuse a review
    of one's own. `key` is the same on every site that has it.
    """

    map = models.ForeignKey("MapRevision", null=True, on_delete=models.CASCADE, related_name="reviews")
    report = models.ForeignKey("FailureReport", null=True, on_delete=models.CASCADE, related_name="reviews")
    decision = models.CharField(max_length=12)
    reason = models.TextField(blank=True)
    reviewer = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="reviews_made"
    )
    contributor = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="reviews_got"
    )
    reviewed_at = models.DateTimeField(db_index=True)
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    in_feed = models.BooleanField(default=False)

    class Meta:
        default_permissions = ()
        permissions = [("review", "May review what others contributed")]
        constraints = [
            models.CheckConstraint(condition=Q(map__isnull=True) ^ Q(report__isnull=True), name="review_of_one"),
            models.CheckConstraint(
                condition=Q(decision__in=DECISIONS) | Q(decision=TOLD_ANEW, reviewer__isnull=True),
                name="review_decision",
            ),
            models.CheckConstraint(condition=Q(decision=APPROVED) | ~Q(reason=""), name="review_reason"),
            models.CheckConstraint(condition=~Q(reviewer=F("contributor")), name="review_not_of_ones_own"),
        ]
        # Every list leaves out what is withdrawn, which is little among much.
        indexes = [
            models.Index(fields=["map"], condition=Q(decision=WITHDRAWN), name="review_withdrawn_map"),
            models.Index(fields=["report"], condition=Q(decision=WITHDRAWN), name="review_withdrawn_report"),
            models.Index(fields=["id"], condition=Q(in_feed=False), name="review_not_in_feed"),
        ]

    def __str__(self) -> str:
        return f"{self.decision}: {f'map {self.map_id}' if self.map_id else f'report {self.report_id}'}"


class Reviewed(models.QuerySet[Contribution]):
    """Maps (to a review its `map`) or failure reports (its `report`), by what reviewers made of them."""

    def shown(self) -> "Reviewed[Contribution]":
        """All but what is withdrawn."""
        # Asked of each row, so that a few rows cost a few looks and not a list of all that is withdrawn.
        return self.filter(~Exists(_last(WITHDRAWN, self._field).filter(**{self._field: OuterRef("pk")})))

    def waiting(self) -> "Reviewed[Contribution]":
        """What nobody has reviewed yet as it is now."""
        unreviewed = ~Exists(Review.objects.filter(**{self._field: OuterRef("pk")}))
        return self.filter(unreviewed | Q(pk__in=_last(TOLD_ANEW, self._field)))

    def questioned(self) -> "Reviewed[Contribution]":
        """What the last reviewer questioned."""
        return self.filter(pk__in=_last(QUERIED, self._field))

    @property
    def _field(self) -> str:
        return str(self.model.reviews.field.name)  # type: ignore[attr-defined]  # both models have reviews


def withdrawn(field: str, value: str = "") -> models.QuerySet[Review, int]:
    """The ids of the maps (`field` is `map`) or failure reports (`report`) that are withdrawn now, or the `value`."""
    return _last(WITHDRAWN, field, value)


def _last(decision: str, field: str, value: str = "") -> models.QuerySet[Review, int]:
    later = Review.objects.filter(**{field: OuterRef(field), "pk__gt": OuterRef("pk")})
    decided = Review.objects.filter(~Exists(later), decision=decision, **{f"{field}__isnull": False})
    return decided.order_by().values_list(value or field, flat=True)
