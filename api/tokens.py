"""Tokens: a user's name and password for a token, which programs then carry in place of the password."""

from http import HTTPStatus

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

    authentication_classes = [BasicAuthentication]
    permission_classes = [IsAuthenticated]

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        # Before the password is looked at: else a guesser would be stopped only after guessing right.
        guesses = GuessesByAddress()
        if not guesses.allow_request(request, self):
            self.throttled(request, guesses.wait() or 0)
        super().initial(request, *args, **kwargs)

    def post(self, request: Request) -> Response:
        assert request.user.is_authenticated  # the permission above let nobody else in
        return Response({"token": people.token_of(request.user)}, status=HTTPStatus.CREATED)
