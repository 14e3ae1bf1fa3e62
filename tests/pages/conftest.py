"""A browser without scripts: Django's client, asking and answering as a person's browser would over the session."""

import pytest
from django.test import Client

from tests.factories import UserFactory


@pytest.fixture
def mira(db):
    return UserFactory(username="mira")


@pytest.fixture
def visitor(db):
    """Somebody without an account, whose forms carry the token against forgery as a browser's do not need to here."""
    return Client()


@pytest.fixture
def signed_in(mira):
    client = Client()
    client.force_login(mira)
    return client
