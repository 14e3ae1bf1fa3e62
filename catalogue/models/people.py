"""Who contributes, and what their programs carry in place of a password."""

from django.contrib.auth.models import AbstractUser
from django.db import models


class User(AbstractUser):
    """A contributor, reviewer or operator. A model of our own from the start, because it cannot be swapped later.

    `wants_mail` says whether decisions of reviewers come by mail; `decisions_read` is the number of the last review
    that the person has taken note of.
    """

    wants_mail = models.BooleanField(default=True)
    decisions_read = models.BigIntegerField(default=0)


class TokenName(models.Model):
    """What a token of the API is for, in its owner's words. The token itself is the library's, kept as a hash."""

    token = models.OneToOneField("knox.AuthToken", primary_key=True, on_delete=models.CASCADE, related_name="named")
    name = models.CharField(max_length=60)

    def __str__(self) -> str:
        return self.name
