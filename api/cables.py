"""Cables: search, one cable, its failure reports and where they gather."""

from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.pagination import ByLastChange, ByNewest
from api.serializers import (
    CableQuerySerializer,
    CableSerializer,
    FailurePointSerializer,
    FailureSerializer,
)
from catalogue.usecases import cables, failures


class Cables(APIView):
    """Cables that fit all of `q`, `maker`, `connector`, `contacts`, `symptom`, `rides_on`; newest change first."""

    def get(self, request: Request) -> Response:
        asked = CableQuerySerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        given = dict(asked.validated_data)
        found = cables.search_cables(words=given.pop("q"), **given)
        pages = ByLastChange()
        page = pages.paginate_queryset(found, request, view=self)
        return pages.get_paginated_response(CableSerializer(page, many=True, context={"request": request}).data)


class OneCable(APIView):
    def get(self, request: Request, slug: str) -> Response:
        return Response(CableSerializer(cables.cable_by_slug(slug), context={"request": request}).data)


class CableFailures(APIView):
    """The failure reports of a cable, newest first."""

    def get(self, request: Request, slug: str) -> Response:
        pages = ByNewest()
        reports = failures.failures_of(cables.cable_by_slug(slug))
        page = pages.paginate_queryset(reports, request, view=self)
        return pages.get_paginated_response(FailureSerializer(page, many=True).data)


class CableFailurePoints(APIView):
    """Where the failures of a cable gather along its length, most reports first."""

    def get(self, request: Request, slug: str) -> Response:
        points = failures.points_of(cables.cable_by_slug(slug))
        return Response({"results": FailurePointSerializer(points, many=True).data})
