"""Who asks. What the libraries would stumble over, such as bytes that are no text, is no credential."""

from typing import Any

from knox.auth import TokenAuthentication
from rest_framework.authentication import BasicAuthentication
from rest_framework.exceptions import AuthenticationFailed


class Tokens(TokenAuthentication):  # type: ignore[misc]  # knox has no types
    """A token, in `Authorization: Token …`."""

    def authenticate_credentials(self, token: bytes) -> Any:
        if not token.isalnum():
            raise AuthenticationFailed("Invalid token.")
        return super().authenticate_credentials(token)


class Passwords(BasicAuthentication):
    """A name and password, in `Authorization: Basic …`."""

    def authenticate_credentials(self, userid: str, password: str, request: Any = None) -> Any:
        if "\0" in f"{userid}{password}":
            raise AuthenticationFailed("Invalid username/password.")
        return super().authenticate_credentials(userid, password, request)
