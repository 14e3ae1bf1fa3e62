"""Probe plans: which reading to take next."""

from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import json_body
from api.described import Answer, Operation, described
from api.limits import COMPUTING
from api.resources import Resource
from catalogue.core.problems import BadRequest, NotFound, Withdrawn
from catalogue.usecases.probe_plans import plan_from_request


class ProbePlans(Resource):
    limit = COMPUTING
    permission_classes = [AllowAny]

    @described(
        Operation(
            "plan_probes",
            "The next readings with what each outcome would prove. Stores nothing.",
            {200: Answer("The plan.", "ProbePlan")},
            problems=[BadRequest, NotFound, Withdrawn],
            takes="ProbePlanQuestion",
        )
    )
    def post(self, request: Request) -> Response:
        return Response(plan_from_request(json_body(request)))
