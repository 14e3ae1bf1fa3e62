"""Fault locations: where along a conductor the break is. Stores nothing and needs no account.

A question is `length_m`, `observations`, `marks`, and `cable` with `section` if the catalogue knows them; what each
method of observation takes is the table `METHODS` of `catalogue/exchange/fault_locations.py`.
"""

from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import json_body
from api.described import Answer, Operation, described
from api.limits import COMPUTING
from api.resources import Resource
from catalogue.core.problems import BadDocument, BadRequest, NotFound, Withdrawn
from catalogue.usecases.fault_locations import answer_json, locate_fault


class StretchField(serializers.ListField):
    child = serializers.FloatField()
    min_length = max_length = 2


class DensitySerializer(serializers.Serializer):
    at_m = serializers.ListField(child=serializers.FloatField())
    per_m = serializers.ListField(child=serializers.FloatField())


class OpenNextSerializer(serializers.Serializer):
    """`within_m`: the openings end when the break is found, or known to lie in a stretch of this length."""

    at_m = serializers.FloatField()
    expected_openings = serializers.FloatField()
    halving_openings = serializers.FloatField()
    within_m = serializers.FloatField()


class MarkShareSerializer(serializers.Serializer):
    kind = serializers.CharField()
    at_m = serializers.FloatField()
    share = serializers.FloatField()


class PlainAnswerSerializer(serializers.Serializer):
    """What an observation says by itself. `impossible` tells why it cannot be, and is empty otherwise."""

    method = serializers.CharField()
    at_m = serializers.FloatField(allow_null=True)
    at_m_u = serializers.FloatField(allow_null=True)
    impossible = serializers.CharField()


class DisagreementSerializer(serializers.Serializer):
    at = serializers.ListField(child=serializers.CharField())
    odds = serializers.FloatField()
    message = serializers.CharField()


class LocationSerializer(serializers.Serializer):
    """Metres are from the near end. `open_next` is null while observations are impossible or disagree, and when
    openings have located the break already."""

    length_m = serializers.FloatField()
    median_m = serializers.FloatField()
    mean_m = serializers.FloatField()
    interval90_m = StretchField()
    stretches90_m = serializers.ListField(child=StretchField())
    density = DensitySerializer()
    open_next = OpenNextSerializer(allow_null=True)
    marks = MarkShareSerializer(many=True)
    observations = PlainAnswerSerializer(many=True)
    disagreements = DisagreementSerializer(many=True)


class FaultLocations(Resource):
    limit = COMPUTING
    permission_classes = [AllowAny]

    @described(
        Operation(
            "locate_fault",
            "Where along a conductor the break is, and where to open next. Stores nothing.",
            {200: Answer("The place, and how sure it is.", LocationSerializer)},
            problems=[BadDocument, BadRequest, NotFound, Withdrawn],
            takes="LocationQuestion",
        )
    )
    def post(self, request: Request) -> Response:
        return Response(LocationSerializer(answer_json(locate_fault(json_body(request)))).data)
