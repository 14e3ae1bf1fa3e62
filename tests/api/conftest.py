"""A client that carries a token and holds every answer against the document of the API, and a stored map."""

import pytest
from django.test import Client

from catalogue.usecases.people import new_token
from tests.api.contract import assert_documented
from tests.samples import as_json, usb_map


class ApiClient(Client):
    """Django's test client, under `/api/v1/`, sending JSON. What the API's document does not tell fails the test."""

    def request(self, **request):
        response = super().request(**request)
        assert_documented(response)
        return response

    def fetch(self, path, **options):
        return self.get(f"/api/v1/{path}", **options)

    def send(self, path, document, **options):
        body = document if isinstance(document, bytes) else as_json(document)
        return self.post(f"/api/v1/{path}", body, content_type="application/json", **options)


@pytest.fixture
def visitor():
    """Somebody without an account."""
    return ApiClient()


@pytest.fixture
def contributor(db):
    token, _ = new_token("mira")
    return ApiClient(headers={"Authorization": f"Token {token}"})


@pytest.fixture
def stored(contributor):
    """The answer to a stored USB map."""
    return contributor.send("maps/", usb_map()).json()
