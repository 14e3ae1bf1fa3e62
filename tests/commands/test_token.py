"""`manage.py token NAME`."""

import pytest
from django.core.management import CommandError, call_command

from catalogue.models import User
from tests.api.conftest import ApiClient

pytestmark = pytest.mark.django_db


def test_a_token_is_printed_alone_and_opens_the_api(capsys):
    call_command("token", "mira")
    token = capsys.readouterr().out.strip()
    response = ApiClient(headers={"Authorization": f"Token {token}"}).send("maps/", b"{}")
    assert response.status_code == 422


def test_a_second_token_leaves_the_user_and_the_first_token_alone(capsys):
    call_command("token", "mira")
    call_command("token", "mira")
    assert User.objects.get(username="mira").auth_token_set.count() == 2
    first, second = capsys.readouterr().out.split()
    assert first != second


@pytest.mark.parametrize("name", ["", "a b", "a" * 151, "x\n"])
def test_a_name_that_cannot_be_is_refused(name):
    with pytest.raises(CommandError):
        call_command("token", name)
    assert not User.objects.exists()
