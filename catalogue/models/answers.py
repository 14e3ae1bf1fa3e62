"""Answers kept for a while, so that a request that is sent again does nothing twice."""

from django.conf import settings
from django.db import models


class KeptAnswer(models.Model):
    """What was answered to a request that its sender gave a key. `request_digest` tells another request apart."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="kept_answers")
    key = models.CharField(max_length=255)
    request_digest = models.CharField(max_length=64)
    created_at = models.DateTimeField(db_index=True)
    status = models.PositiveSmallIntegerField(default=0)
    headers = models.JSONField(default=dict)
    body = models.TextField(blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "key"], name="answer_once")]

    def __str__(self) -> str:
        return self.key
