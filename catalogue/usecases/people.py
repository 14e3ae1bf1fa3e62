"""People: who contributes, how they get in, the tokens of their programs, and who reviews."""

import secrets
from datetime import timedelta
from typing import Any

from allauth.account.models import EmailAddress
from django.contrib.auth.models import Permission
from django.db import transaction
from django.db.models import QuerySet
from knox.models import get_token_model

from catalogue.core.problems import NotAllowed, NotFound
from catalogue.models import TokenName
from catalogue.models import User as User  # whom views are asked by


def contributor(name: str) -> tuple[User, bool]:
    """The user called `name`, and whether they were created just now; then nobody can sign in as them yet."""
    user, is_new = User.objects.get_or_create(username=name)
    if is_new:
        user.set_unusable_password()
        user.save()
    return user, is_new


def awaits_verification(user: User) -> bool:
    """Whether a person gave an address that nobody has verified, and none that is.

    An account without any address was made by the people who run the site, who vouch for it.
    """
    verified = set(EmailAddress.objects.filter(user=user).values_list("verified", flat=True))
    return verified == {False}


def vouch_for_address(user: User, address: str) -> None:
    """Take an address as verified, because those who run the site say so."""
    EmailAddress.objects.update_or_create(user=user, email=address, defaults={"verified": True, "primary": True})
    user.email = address
    user.save(update_fields=["email"])


def new_token(name: str) -> tuple[str, bool]:
    """A new API token for the user called `name`, who is created when missing.

    Result: the token, which is shown this once and kept only as a hash, and whether the user was created.
    """
    user, is_new = contributor(name)
    return token_of(user), is_new


def token_of(user: User, name: str = "", days: int | None = None) -> str:
    """A new API token of a user, beside any others. It is shown this once and kept only as a hash.

    `name` says what it is for, and it ends after `days`, or never. Raises NotAllowed while the user's address is
    not verified.
    """
    if awaits_verification(user):
        raise NotAllowed(
            "The e-mail address of this account is not verified yet. Sign in on the site: a code is then sent to the "
            "address, and when you have typed it, ask for the token again."
        )
    with transaction.atomic():
        row, token = get_token_model().objects.create(user=user, expiry=None if days is None else timedelta(days))
        if name:
            TokenName.objects.create(token=row, name=name)
    return str(token)


def tokens_of(user: User) -> QuerySet[Any]:
    """The tokens of a user with their names, newest first: `token_key`, `created`, `expiry`, `named`."""
    found: QuerySet[Any] = get_token_model().objects.filter(user=user)
    return found.select_related("named").order_by("-created")


def revoke_token(user: User, key: str) -> None:
    """Make one of the user's own tokens worthless at once; `key` is how it begins. Raises NotFound."""
    revoked, _ = get_token_model().objects.filter(user=user, token_key=key).delete()
    if not revoked:
        raise NotFound("You have no such token. It may have ended, or you revoked it before.")


def new_password(user: User) -> str:
    """Give a user a new password made of chance, in place of any other. It is shown this once."""
    password = secrets.token_urlsafe(9)
    user.set_password(password)
    user.save(update_fields=["password"])
    return password


def appoint_reviewer(name: str) -> None:
    """Let a user review what others contributed. Raises NotFound."""
    _user(name).user_permissions.add(_may_review())


def dismiss_reviewer(name: str) -> None:
    """Take that back; their decisions stay. Raises NotFound."""
    _user(name).user_permissions.remove(_may_review())


def _may_review() -> Permission:
    return Permission.objects.get(content_type__app_label="catalogue", codename="review")


def _user(name: str) -> User:
    try:
        return User.objects.get(username=name)
    except User.DoesNotExist:
        raise NotFound(f"There is no user {name}.") from None
