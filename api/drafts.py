"""Drafts: one's own maps in work. A writer names the version that they read, an `ETag`, by `If-Match`.

Who begins one may name it by `Idempotency-Key`, and can then safely send it again when the answer was lost.
"""

import re
from http import HTTPStatus
from typing import Any

from django.urls import reverse
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.permissions import IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import json_body
from api.described import Answer, Link, Operation, PageOf, described
from api.maps import LEADS_ON, STORED, map_refused
from api.pagination import PAGING, ByLastChange
from api.repeats import answered_once
from api.resources import Resource
from api.serializers import DefectsField, FindingsField, MapSerializer
from catalogue.core.problems import (
    BadDocument,
    BadRequest,
    Conflict,
    MapRefused,
    NotFound,
    Stale,
    TooManyDrafts,
    VersionMissing,
)
from catalogue.usecases import drafts, maps

IF_MATCH = OpenApiParameter(
    "If-Match",
    {"type": "string", "examples": ['"1"', "*"]},
    OpenApiParameter.HEADER,
    required=True,
    description="The `ETag` of the version that was read, or `*` for any.",
)

SESSION = OpenApiParameter(
    "Idempotency-Key",
    {"type": "string", "minLength": 1, "maxLength": 64, "pattern": "^[!-~]+$"},
    OpenApiParameter.HEADER,
    description="Names the draft, so that it is begun once however often this is sent.",
)

DRAFT = {"draft_id": "$response.body#/id"}
DRAFT_VERSION = DRAFT | {"header.If-Match": "$response.header.ETag"}
VERSION = {"ETag": "The version, for If-Match."}


class DraftSummarySerializer(serializers.Serializer):
    id = serializers.IntegerField()
    url = serializers.HyperlinkedIdentityField("api-draft", lookup_field="pk", lookup_url_kwarg="draft_id")
    kind = serializers.CharField()
    title = serializers.CharField()
    version = serializers.IntegerField()
    changed_at = serializers.DateTimeField()


class DraftSerializer(DraftSummarySerializer):
    """`text` is what was sent, to the letter; a refused submission may not even be JSON."""

    text = serializers.CharField()
    findings = FindingsField()
    defects = DefectsField()


class Drafts(Resource):
    permission_classes = [IsAuthenticated]

    @described(
        Operation(
            "list_drafts",
            "One's own drafts, last changed first.",
            {200: Answer("A page of drafts.", PageOf(DraftSummarySerializer))},
            problems=[BadRequest, NotFound],
            asks=PAGING,
        )
    )
    def get(self, request: Request) -> Response:
        assert request.user.is_authenticated
        pages = ByLastChange()
        page = pages.paginate_queryset(maps.drafts_of(request.user), request, view=self)
        return pages.get_paginated_response(DraftSummarySerializer(page, many=True, context={"request": request}).data)

    @described(
        Operation(
            "begin_draft",
            "Begin a draft with a map document, however incomplete.",
            {
                201: Answer(
                    "The draft.",
                    DraftSummarySerializer,
                    headers=VERSION | {"Location": "The address of the draft."},
                    links=[
                        Link("read_draft", DRAFT),
                        Link("replace_draft", DRAFT_VERSION),
                        Link("submit_draft", DRAFT_VERSION),
                        Link("delete_draft", DRAFT_VERSION),
                    ],
                ),
                200: Answer("The draft that was begun with this key, as it is now.", DraftSerializer, headers=VERSION),
            },
            problems=[BadDocument, BadRequest, TooManyDrafts],
            takes="AnyDraft",
            asks=[SESSION],
        )
    )
    def post(self, request: Request) -> Response:
        assert request.user.is_authenticated
        draft, is_new = drafts.new_draft(request.user, json_body(request), session_named(request))
        if not is_new:
            return _whole(draft, request)
        return _answer(draft, request, HTTPStatus.CREATED, Location=reverse("api-draft", args=[draft.pk]))


class OneDraft(Resource):
    permission_classes = [IsAuthenticated]

    @described(
        Operation(
            "read_draft",
            "One of one's own drafts.",
            {200: Answer("The draft with its text.", DraftSerializer, headers=VERSION)},
            problems=[NotFound],
        )
    )
    def get(self, request: Request, draft_id: int) -> Response:
        assert request.user.is_authenticated
        return _whole(maps.draft_by_id(request.user, draft_id), request)

    @described(
        Operation(
            "replace_draft",
            "Write a draft anew, where nobody changed it since it was read.",
            {
                200: Answer(
                    "The draft.",
                    DraftSummarySerializer,
                    headers=VERSION,
                    links=[Link("submit_draft", DRAFT_VERSION), Link("delete_draft", DRAFT_VERSION)],
                )
            },
            problems=[BadDocument, NotFound, Stale, VersionMissing],
            takes="AnyDraft",
            asks=[IF_MATCH],
        )
    )
    def put(self, request: Request, draft_id: int) -> Response:
        assert request.user.is_authenticated
        version = version_read(request)
        return _answer(drafts.replace_draft(request.user, draft_id, version, json_body(request)), request)

    @described(
        Operation(
            "delete_draft",
            "Throw a draft away, where nobody changed it since it was read.",
            {204: Answer("It is gone.")},
            problems=[NotFound, Stale, VersionMissing],
            asks=[IF_MATCH],
        )
    )
    def delete(self, request: Request, draft_id: int) -> Response:
        assert request.user.is_authenticated
        drafts.delete_draft(request.user, draft_id, version_read(request))
        return Response(status=HTTPStatus.NO_CONTENT)


class DraftSubmission(Resource):
    permission_classes = [IsAuthenticated]

    @described(
        Operation(
            "submit_draft",
            """
            Submit the whole map that a draft has become.

            Accepted, the map takes the draft's place. Refused, the draft stays and gets the findings.
            """,
            {
                201: Answer("The map, with what the rules say.", MapSerializer, headers=STORED, links=LEADS_ON),
                200: Answer("This very map is stored already.", MapSerializer, headers=STORED, links=LEADS_ON),
            },
            problems=[BadDocument, Conflict, MapRefused, NotFound, Stale, VersionMissing],
            takes="MapDocument",
            asks=[IF_MATCH],
        )
    )
    @answered_once
    def post(self, request: Request, draft_id: int) -> Response:
        assert request.user.is_authenticated
        submission = drafts.submit_draft(request.user, draft_id, version_read(request), json_body(request))
        if submission.map is None:
            return map_refused(submission)
        body = MapSerializer(submission.map, context={"request": request}).data
        status = HTTPStatus.CREATED if submission.is_new else HTTPStatus.OK
        return Response(body, status=status, headers={"Location": str(body["url"])})


def version_read(request: Request) -> int | None:
    """The version named by `If-Match`; None for `*`. Raises VersionMissing, or Stale for what no version is called."""
    named = request.headers.get("If-Match", "").strip()
    if not named:
        raise VersionMissing(
            "Name the version that you read, the ETag of the draft, by the header If-Match. Nothing was changed."
        )
    if named == "*":
        return None
    if version := re.fullmatch(r'"([0-9]{1,9})"', named):
        return int(version[1])
    raise Stale("If-Match names no version of this draft. Fetch the draft and use its ETag. Nothing was changed.")


def session_named(request: Request) -> str:
    """What the sender calls the session, by `Idempotency-Key`; empty when it has no name. Raises BadRequest."""
    named = request.headers.get("Idempotency-Key", "")
    if named and not re.fullmatch(r"[!-~]{1,64}", named):
        raise BadRequest("An Idempotency-Key has 1 to 64 characters of ASCII without spaces. Nothing was stored.")
    return named


def _whole(draft: Any, request: Request) -> Response:
    return Response(DraftSerializer(draft, context={"request": request}).data, headers={"ETag": _etag(draft.version)})


def _answer(draft: Any, request: Request, status: HTTPStatus = HTTPStatus.OK, **headers: str) -> Response:
    body = DraftSummarySerializer(draft, context={"request": request}).data
    return Response(body, status=status, headers={"ETag": _etag(draft.version), **headers})


def _etag(version: int) -> str:
    return f'"{version}"'
