"""A name and password for a token."""

from base64 import b64encode

import pytest
from django.contrib.auth.hashers import make_password

from catalogue.models import User
from tests.api.conftest import ApiClient
from tests.samples import usb_map

pytestmark = pytest.mark.django_db


@pytest.fixture
def mira():
    return User.objects.create(username="mira", password=make_password("seven lamps"))


def basic(name, password):
    return ApiClient(headers={"Authorization": "Basic " + b64encode(f"{name}:{password}".encode()).decode()})


def test_a_password_gives_a_token_that_opens_the_api(mira):
    response = basic("mira", "seven lamps").send("tokens/", b"")
    assert response.status_code == 201
    client = ApiClient(headers={"Authorization": f"Token {response.json()['token']}"})
    assert client.send("maps/", usb_map()).status_code == 201


def test_the_token_is_kept_only_as_a_hash(mira):
    token = basic("mira", "seven lamps").send("tokens/", b"").json()["token"]
    (row,) = mira.auth_token_set.values()
    assert all(token not in str(value) for value in row.values())


@pytest.mark.parametrize(
    ("name", "password"), [("mi\0ra", "seven lamps"), ("mira", "wrong"), ("nobody", "seven lamps"), ("", "")]
)
def test_a_wrong_password_gives_none(mira, name, password):
    response = basic(name, password).send("tokens/", b"")
    assert response.status_code == 401
    assert response["Content-Type"] == "application/problem+json"
    assert not mira.auth_token_set.exists()


def test_guessing_is_stopped_before_the_right_guess(mira):
    answers = [basic("mira", f"guess {number}").send("tokens/", b"") for number in range(11)]
    assert [answer.status_code for answer in answers] == [401] * 10 + [429]
    assert int(answers[-1]["Retry-After"]) > 0
    assert basic("mira", "seven lamps").send("tokens/", b"").status_code == 429


def test_nobody_may_guess_while_nobody_counts(mira, settings):
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.dummy.DummyCache"}}
    answer = basic("mira", "seven lamps").send("tokens/", b"")
    assert (answer.status_code, int(answer["Retry-After"]) > 0) == (429, True)
