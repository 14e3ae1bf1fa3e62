"""People: who contributes, and how they get in."""

import secrets

from knox.models import get_token_model

from catalogue.models import User


def contributor(name: str) -> tuple[User, bool]:
    """The user called `name`, and whether they were created just now; then nobody can sign in as them yet."""
    user, is_new = User.objects.get_or_create(username=name)
    if is_new:
        user.set_unusable_password()
        user.save()
    return user, is_new


def new_token(name: str) -> tuple[str, bool]:
    """A new API token for the user called `name`, who is created when missing.

    Result: the token, which is shown this once and kept only as a hash, and whether the user was created.
    """
    user, is_new = contributor(name)
    return token_of(user), is_new


def token_of(user: User) -> str:
    """A new API token of a user, beside any others. It is shown this once and kept only as a hash."""
    _, token = get_token_model().objects.create(user=user)
    return str(token)


def new_password(user: User) -> str:
    """Give a user a new password made of chance, in place of any other. It is shown this once."""
    password = secrets.token_urlsafe(9)
    user.set_password(password)
    user.save(update_fields=["password"])
    return password
