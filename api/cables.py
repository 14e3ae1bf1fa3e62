"""Cables: search, one cable, its failure reports and where they gather, on one cable and across all."""

from rest_framework.request import Request
from rest_framework.response import Response

from api.described import Answer, Operation, PageOf, ResultsOf, described
from api.limits import SEARCHING
from api.pagination import PAGING, ByLastChange, ByNewest
from api.resources import Resource
from api.serializers import (
    CableQuerySerializer,
    CableSerializer,
    FailurePointSerializer,
    FailurePointsQuerySerializer,
    FailurePointsSerializer,
    FailureSerializer,
)
from catalogue.core.facets import Facet
from catalogue.core.problems import BadRequest, NotFound, Withdrawn
from catalogue.usecases import cables, failure_points, failures


class Cables(Resource):
    limit = SEARCHING

    @described(
        Operation(
            "search_cables",
            "Cables that fit all that is asked, newest change first.",
            {200: Answer("A page of cables.", PageOf(CableSerializer))},
            problems=[BadRequest, NotFound],
            asks=[CableQuerySerializer, *PAGING],
        )
    )
    def get(self, request: Request) -> Response:
        asked = CableQuerySerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        given = dict(asked.validated_data)
        found = cables.search_cables(words=given.pop("q"), **given).cables
        pages = ByLastChange()
        page = pages.paginate_queryset(found, request, view=self)
        return pages.get_paginated_response(CableSerializer(page, many=True, context={"request": request}).data)


class OneCable(Resource):
    @described(
        Operation(
            "read_cable",
            "A cable with its newest map.",
            {200: Answer("The cable.", CableSerializer)},
            problems=[NotFound, Withdrawn],
        )
    )
    def get(self, request: Request, slug: str) -> Response:
        return Response(CableSerializer(cables.cable_by_slug(slug), context={"request": request}).data)


class CableFailures(Resource):
    @described(
        Operation(
            "list_failures",
            "The failure reports of a cable, newest first.",
            {200: Answer("A page of reports.", PageOf(FailureSerializer))},
            problems=[BadRequest, NotFound, Withdrawn],
            asks=PAGING,
        )
    )
    def get(self, request: Request, slug: str) -> Response:
        pages = ByNewest()
        reports = failures.failures_of(cables.cable_by_slug(slug))
        page = pages.paginate_queryset(reports, request, view=self)
        return pages.get_paginated_response(FailureSerializer(page, many=True).data)


class CableFailurePoints(Resource):
    @described(
        Operation(
            "list_failure_points",
            "Where the failures of a cable gather along its length, most reports first.",
            {200: Answer("All points.", ResultsOf(FailurePointSerializer))},
            problems=[NotFound, Withdrawn],
        )
    )
    def get(self, request: Request, slug: str) -> Response:
        points = failures.points_of(cables.cable_by_slug(slug))
        return Response({"results": FailurePointSerializer(points, many=True).data})


class FailurePoints(Resource):
    limit = SEARCHING

    @described(
        Operation(
            "count_failure_points",
            """
            Where cables fail, counted over the reports of all cables that fit what is asked.

            The lists are whole: each is no longer than the words there are for it.
            """,
            {200: Answer("The counts.", FailurePointsSerializer)},
            problems=[BadRequest],
            asks=[FailurePointsQuerySerializer],
        )
    )
    def get(self, request: Request) -> Response:
        asked = FailurePointsQuerySerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        given = dict(asked.validated_data)
        counted = failure_points.failure_points_of_all(words=given.pop("q"), **given).counted
        lists = {
            "places": counted.groups[Facet.PLACE],
            "symptoms": counted.groups[Facet.SYMPTOM],
            "connectors": counted.groups[Facet.CONNECTOR],
            "rides_on": counted.groups[Facet.RIDES_ON],
        }
        return Response(FailurePointsSerializer({"all": counted.all, **lists}).data)
