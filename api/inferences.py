"""Inferences: what readings tell, without a map."""

from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import json_body
from api.described import Answer, Operation, described
from api.limits import COMPUTING
from api.resources import Resource
from catalogue.core.problems import BadRequest
from catalogue.usecases.inferences import infer_from_request


class Inferences(Resource):
    limit = COMPUTING
    permission_classes = [AllowAny]

    @described(
        Operation(
            "infer",
            "What readings tell, without a map: nets with their proof, conflicts, suspects and parts. Stores nothing.",
            {200: Answer("What the readings tell.", "Inference")},
            problems=[BadRequest],
            takes="InferenceQuestion",
        )
    )
    def post(self, request: Request) -> Response:
        return Response(infer_from_request(json_body(request)))
