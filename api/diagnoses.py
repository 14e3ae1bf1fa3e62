"""Diagnoses: what is dead in a specimen and why, what to test next, and whether it is safe to power."""

from collections.abc import Iterable

from django.http import HttpResponse
from drf_spectacular.utils import OpenApiParameter
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.parsers import BaseParser
from rest_framework.permissions import AllowAny
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import json_body
from api.described import Answer, Operation, described
from api.files import as_file, format_named
from api.limits import COMPUTING
from api.resources import Resource
from catalogue.core.problems import BadDocument, BadRequest, DrawingUnavailable, NotFound, Withdrawn
from catalogue.usecases import drawings
from catalogue.usecases.diagnoses import answer_json, diagnose_specimen
from catalogue.usecases.drawings import Format


class AsNamed(BaseContentNegotiation):
    """The address says in which format the answer comes, whatever else is asked for; errors stay JSON."""

    def select_parser(self, request: Request, parsers: Iterable[BaseParser]) -> BaseParser:
        return next(iter(parsers))

    def select_renderer(
        self, request: Request, renderers: Iterable[BaseRenderer], format_suffix: str | None = None
    ) -> tuple[BaseRenderer, str]:
        renderer = next(iter(renderers))
        return renderer, renderer.media_type


EXAMPLE = {
    "cable": "orrin-vale-invented-plotter-lead-pl-2",
    "readings": [{"id": "r1", "mode": "ohms", "red": "HOST:1", "black": "PLOTTER:1", "over": True}],
}


class Diagnoses(Resource):
    limit = COMPUTING
    permission_classes = [AllowAny]

    @described(
        Operation(
            "diagnose",
            "What is dead in a specimen and why, what to test next, and whether it is safe to power. Stores nothing.",
            {200: Answer("The diagnosis.", "Diagnosis")},
            problems=[BadDocument, BadRequest, NotFound, Withdrawn],
            takes="DiagnosisQuestion",
        )
    )
    def post(self, request: Request) -> Response:
        return Response(answer_json(diagnose_specimen(json_body(request))))


class FaultChart(Resource):
    limit = COMPUTING
    content_negotiation_class = AsNamed
    permission_classes = [AllowAny]

    @described(
        Operation(
            "draw_diagnosis",
            "A diagnosis as a drawing: the rail chart of the map, with the state of each net of the specimen.",
            {200: Answer("The drawing.", {"type": "string"}, media_types=[form.media_type for form in Format])},
            problems=[BadDocument, BadRequest, DrawingUnavailable, NotFound, Withdrawn],
            takes="DiagnosisQuestion",
            example=EXAMPLE,
            asks=[OpenApiParameter("form", {"enum": [form.value for form in Format]}, OpenApiParameter.PATH)],
        )
    )
    def post(self, request: Request, form: str) -> HttpResponse:
        kind = format_named("fault", form)
        drawn = drawings.fault_drawing_of(diagnose_specimen(json_body(request)), kind)
        return as_file(drawn, kind.media_type, f"fault.{form}")
