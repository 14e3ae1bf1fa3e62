"""Readings as CSV, read into those of a map document. Stores nothing."""

from collections.abc import Sequence

from rest_framework.authentication import BaseAuthentication
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import body_of_type
from api.described import Answer, Operation, described
from api.limits import COMPUTING
from api.resources import Resource
from catalogue.core.problems import BadReadings
from catalogue.usecases.submissions import readings_from_csv

EXAMPLE = "id,mode,red,black,value\nr1,ohms,USB:1,TOOL:1,0.6\nr2,beep,USB:4,TOOL:6,yes\n"


class Readings(Resource):
    limit = COMPUTING
    # Who asks makes no difference; and the check against forgery, which comes with a session, reads only JSON.
    authentication_classes: Sequence[type[BaseAuthentication]] = ()
    permission_classes = [AllowAny]

    @described(
        Operation(
            "read_csv",
            "Readings as CSV, read into those of a map document. Stores nothing.",
            {200: Answer("What was read, and what could not be.", "ReadingsRead")},
            problems=[BadReadings],
            takes={"type": "string"},
            media_type="text/csv",
            example=EXAMPLE,
        )
    )
    def post(self, request: Request) -> Response:
        return Response(readings_from_csv(body_of_type(request, "text/csv")))
