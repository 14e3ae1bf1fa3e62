"""Tokens: a user's name and password for a token, which programs then carry in place of the password."""

from http import HTTPStatus

from rest_framework import serializers
from rest_framework.exceptions import Throttled
from rest_framework.permissions import IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response

from api.credentials import Passwords
from api.described import Answer, Operation, described
from api.limits import Guesses
from api.resources import Resource
from catalogue.core.problems import NotAllowed
from catalogue.usecases import people


class TokenSerializer(serializers.Serializer):
    token = serializers.CharField()


class Tokens(Resource):
    # Few tries a minute from one address, because a password can be guessed at here.
    authentication_classes = [Passwords]
    permission_classes = [IsAuthenticated]
    throttle_classes = []

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        # Before the password is looked at: else a guesser would be stopped only after guessing right.
        guesses = Guesses()
        if not guesses.allow_request(request, self):
            self.throttled(request, guesses.wait() or 0)
        super().initial(request, *args, **kwargs)

    @described(
        Operation(
            "get_token",
            """
            Change a name and password for a token, which programs then carry in place of the password.

            It is shown this once. Send it as `Authorization: Token …`.
            """,
            {201: Answer("The token.", TokenSerializer)},
            problems=[NotAllowed, Throttled],
        )
    )
    def post(self, request: Request) -> Response:
        assert request.user.is_authenticated  # the permission above let nobody else in
        return Response({"token": people.token_of(request.user)}, status=HTTPStatus.CREATED)
