"""Inferences: what readings tell, without a map."""

from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.bodies import json_body
from catalogue.usecases.inferences import infer_from_request


class Inferences(APIView):
    """Nets with their proof, conflicts, suspects and parts. Stores nothing and needs no account."""

    permission_classes = [AllowAny]

    def post(self, request: Request) -> Response:
        return Response(infer_from_request(json_body(request)))
