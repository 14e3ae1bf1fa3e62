"""Maps: check one without storing it, submit one, list and read them."""

from http import HTTPStatus

from django.urls import reverse
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import json_body
from api.described import Answer, Link, Operation, PageOf, described
from api.errors import MEDIA_TYPE, problem_document, status_and_code
from api.limits import COMPUTING
from api.pagination import PAGING, ByNewest
from api.repeats import answered_once
from api.resources import Resource
from api.serializers import ListedMapSerializer, MapSerializer, OneMapSerializer
from catalogue.core.findings import accepted, finding_json
from catalogue.core.problems import BadDocument, BadRequest, Conflict, MapRefused, NotFound, TooManyDrafts, Withdrawn
from catalogue.usecases import maps

MAP, CABLE = {"map_id": "$response.body#/id"}, {"slug": "$response.body#/cable"}

LEADS_ON = (
    *(Link(name, MAP) for name in ("read_map", "read_document", "read_wire_list")),
    *(Link(name, MAP) for name in ("read_drawing", "list_confirmations", "confirm_map")),
    *(Link(name, CABLE) for name in ("read_cable", "list_failures", "list_failure_points", "list_variants")),
)
"""Where a stored map leads."""

STORED = {"Location": "The address of the map."}


class Checks(Resource):
    limit = COMPUTING
    permission_classes = [AllowAny]

    @described(
        Operation(
            "check_map",
            "Check a map document. Stores nothing.",
            {200: Answer("What the rules say.", "Check")},
            problems=[BadDocument],
            takes="MapDocument",
        )
    )
    def post(self, request: Request) -> Response:
        findings = maps.check_map(maps.read_document(json_body(request)))
        return Response({"accepted": accepted(findings), "findings": [finding_json(finding) for finding in findings]})


class Maps(Resource):
    @described(
        Operation(
            "list_maps",
            "All maps, newest first.",
            {200: Answer("A page of maps.", PageOf(ListedMapSerializer))},
            problems=[BadRequest, NotFound],
            asks=PAGING,
        )
    )
    def get(self, request: Request) -> Response:
        pages = ByNewest()
        page = pages.paginate_queryset(maps.newest_maps().prefetch_related("reviews"), request, view=self)
        return pages.get_paginated_response(ListedMapSerializer(page, many=True, context={"request": request}).data)

    @described(
        Operation(
            "submit_map",
            """
            Submit a map as the next revision of its cable.

            A map is refused only with proof; its text is then kept as a draft, and so is one that cannot be read.
            """,
            {
                201: Answer("The map, with what the rules say.", MapSerializer, headers=STORED, links=LEADS_ON),
                200: Answer("This very map is stored already.", MapSerializer, headers=STORED, links=LEADS_ON),
            },
            problems=[BadDocument, Conflict, MapRefused, TooManyDrafts],
            takes="MapDocument",
        )
    )
    @answered_once
    def post(self, request: Request) -> Response:
        assert request.user.is_authenticated  # the default permission let nobody else in
        submission = maps.submit_map(request.user, json_body(request))
        if submission.map is None:
            return map_refused(submission)
        body = MapSerializer(submission.map, context={"request": request}).data
        status = HTTPStatus.CREATED if submission.is_new else HTTPStatus.OK
        return Response(body, status=status, headers={"Location": str(body["url"])})


class Map(Resource):
    @described(
        Operation(
            "read_map",
            "A map: its summary, findings, and what the last review made of it.",
            {200: Answer("The map.", OneMapSerializer)},
            problems=[NotFound, Withdrawn],
        )
    )
    def get(self, request: Request, map_id: int) -> Response:
        return Response(OneMapSerializer(maps.map_by_id(map_id), context={"request": request}).data)


def map_refused(submission: maps.Submission) -> Response:
    """The answer to a submission that cannot be, with what was found and where it is kept."""
    draft = submission.draft
    text = "The map is refused, because what it says cannot be. It is kept as your draft; correct it and send again."
    status, code = status_and_code(MapRefused)
    body = problem_document(
        code,
        status,
        text,
        findings=[finding_json(finding) for finding in submission.findings],
        draft={"id": draft.pk, "url": reverse("draft", args=[draft.pk])} if draft else None,
    )
    return Response(body, status=status, content_type=MEDIA_TYPE)
