"""`manage.py reviewer NAME`."""

import pytest
from django.core.management import CommandError, call_command

from catalogue.models import User
from catalogue.usecases.reviews import may_review
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db


def test_a_user_is_appointed_and_dismissed(capsys):
    UserFactory(username="wren")
    call_command("reviewer", "wren")
    assert may_review(User.objects.get(username="wren"))
    call_command("reviewer", "wren", "--dismiss")
    assert not may_review(User.objects.get(username="wren"))
    assert capsys.readouterr().out.splitlines() == ["wren is a reviewer.", "wren is no longer a reviewer."]


def test_a_name_that_nobody_has_is_refused():
    with pytest.raises(CommandError, match="There is no user nobody"):
        call_command("reviewer", "nobody")
