"""Which cable is this: a few readings on an unknown plug against all maps."""

from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import json_body
from api.described import Answer, Operation, described
from api.limits import COMPUTING
from api.resources import Resource
from api.serializers import MapSummarySerializer
from catalogue.core.document import Reading
from catalogue.core.problems import BadRequest
from catalogue.usecases import matches


class LaidEndSerializer(serializers.Serializer):
    """`rows_from` and `first_row`: how the rows asked are counted, as seen against those of the map."""

    asked = serializers.CharField()
    end = serializers.CharField()
    rows_from = serializers.SerializerMethodField()
    first_row = serializers.SerializerMethodField()
    contacts = serializers.DictField(child=serializers.CharField())

    def get_rows_from(self, end: matches.LaidEnd) -> str:
        return "right" if end.numbering.from_right else "left"

    def get_first_row(self, end: matches.LaidEnd) -> str:
        return "bottom" if end.numbering.bottom_first else "top"


class DisagreeingSerializer(serializers.Serializer):
    reading = serializers.CharField(source="id")
    red = serializers.CharField()
    black = serializers.SerializerMethodField()

    def get_black(self, reading: Reading) -> list[str]:
        return list(reading.black)


class FoundMapSerializer(serializers.Serializer):
    """`score` is the natural logarithm of the chance of the readings if this is the cable, `share` that chance
    among all maps compared."""

    map = MapSummarySerializer()
    score = serializers.FloatField(source="match.log_likelihood")
    share = serializers.FloatField(source="match.share")
    agreeing = serializers.IntegerField(source="match.agreeing")
    disagreeing = DisagreeingSerializer(many=True)
    ends = LaidEndSerializer(many=True)


class FoundMapsSerializer(serializers.Serializer):
    matches = FoundMapSerializer(source="found", many=True)
    maps_compared = serializers.IntegerField(source="compared")
    readings_used = serializers.IntegerField(source="used")
    readings_left_out = serializers.ListField(source="left_out", child=serializers.CharField())
    error_rate = serializers.FloatField()


class Matches(Resource):
    limit = COMPUTING
    permission_classes = [AllowAny]

    @described(
        Operation(
            "match_maps",
            "Which cable is this: the maps ranked by agreement with a few readings. Stores nothing.",
            {200: Answer("The maps that agree best.", FoundMapsSerializer)},
            problems=[BadRequest],
            takes="MatchQuestion",
        )
    )
    def post(self, request: Request) -> Response:
        found = matches.find_maps(json_body(request))
        return Response(FoundMapsSerializer(found, context={"request": request}).data)
