"""Who visits the pages: Django's client stands for a browser without scripts."""

import pytest
from django.test import Client

from tests.factories import UserFactory


@pytest.fixture
def mira(db):
    return UserFactory(username="mira")


@pytest.fixture
def visitor(db):
    """Somebody who has not signed in."""
    return Client()


@pytest.fixture
def signed_in(mira):
    client = Client()
    client.force_login(mira)
    return client
