"""Maps: check one without storing it, submit one, list and read them."""

from http import HTTPStatus

from django.urls import reverse
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.bodies import json_body
from api.errors import MEDIA_TYPE, problem_document
from api.pagination import ByNewest
from api.serializers import MapSerializer, MapSummarySerializer
from catalogue.core.findings import accepted, finding_json
from catalogue.usecases import maps


class Checks(APIView):
    """Check a map document. Stores nothing and needs no account."""

    permission_classes = [AllowAny]

    def post(self, request: Request) -> Response:
        findings = maps.check_map(maps.read_document(json_body(request)))
        return Response({"accepted": accepted(findings), "findings": [finding_json(finding) for finding in findings]})


class Maps(APIView):
    """The list of all maps, newest first; and submitting one."""

    def get(self, request: Request) -> Response:
        pages = ByNewest()
        page = pages.paginate_queryset(maps.newest_maps(), request, view=self)
        return pages.get_paginated_response(MapSummarySerializer(page, many=True, context={"request": request}).data)

    def post(self, request: Request) -> Response:
        assert request.user.is_authenticated  # the default permission let nobody else in
        submission = maps.submit_map(request.user, json_body(request))
        if submission.map is None:
            return _refused(submission)
        body = MapSerializer(submission.map, context={"request": request}).data
        status = HTTPStatus.CREATED if submission.is_new else HTTPStatus.OK
        return Response(body, status=status, headers={"Location": str(body["url"])})


class Map(APIView):
    """One map: its summary and findings."""

    def get(self, request: Request, map_id: int) -> Response:
        return Response(MapSerializer(maps.map_by_id(map_id), context={"request": request}).data)


def _refused(submission: maps.Submission) -> Response:
    draft = submission.draft
    text = "The map is refused, because what it says cannot be. It is kept as your draft; correct it and send again."
    body = problem_document(
        "map-refused",
        HTTPStatus.UNPROCESSABLE_ENTITY,
        text,
        findings=[finding_json(finding) for finding in submission.findings],
        draft={"id": draft.pk, "url": reverse("draft", args=[draft.pk])} if draft else None,
    )
    return Response(body, status=HTTPStatus.UNPROCESSABLE_ENTITY, content_type=MEDIA_TYPE)
