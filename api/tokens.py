"""Tokens: a user's name and password for a token, which programs then carry in place of the password."""

from http import HTTPStatus
from typing import ClassVar

from rest_framework.authentication import BasicAuthentication
from rest_framework.permissions import IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import SimpleRateThrottle
from rest_framework.views import APIView

from catalogue.usecases import people


class GuessesByAddress(SimpleRateThrottle):
    """Counts by address, whoever the request says it is from. The rate stands in the settings."""

    scope = "tokens"

    def get_cache_key(self, request: Request, view: APIView) -> str:
        return f"guesses-{self.get_ident(request)}"


class Tokens(APIView):
    """A new token, shown this once. Few tries a minute from one address, because a password can be guessed at here."""

    authentication_classes: ClassVar = [BasicAuthentication]
    permission_classes: ClassVar = [IsAuthenticated]

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        # Before the password is looked at: else a guesser would be stopped only after guessing right.
        guesses = GuessesByAddress()
        if not guesses.allow_request(request, self):
            self.throttled(request, guesses.wait())
        super().initial(request, *args, **kwargs)

    def post(self, request: Request) -> Response:
        return Response({"token": people.token_of(request.user)}, status=HTTPStatus.CREATED)
