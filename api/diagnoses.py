"""Diagnoses: what is dead in a specimen and why, what to test next, and whether it is safe to power."""

from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.bodies import json_body
from catalogue.usecases.diagnoses import diagnose_specimen


class Diagnoses(APIView):
    """Readings of one specimen against a map, a cable or the standard. Stores nothing and needs no account."""

    permission_classes = [AllowAny]

    def post(self, request: Request) -> Response:
        return Response(diagnose_specimen(json_body(request)))
