"""A request whose person is known, for views that only let such in."""

from django.http import HttpRequest

from catalogue.usecases.people import User


class SignedIn(HttpRequest):
    """What a view behind `login_required` gets."""

    user: User
