"""Who contributes."""

from django.contrib.auth.models import AbstractUser


class User(AbstractUser):
    """A contributor, reviewer or operator. A model of our own from the start, because it cannot be swapped later."""
