"""What changed from one revision of a cable's map to another."""

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.described import Answer, Operation, described
from api.resources import Resource
from api.serializers import MapSummarySerializer
from catalogue.core.difference import Difference
from catalogue.core.problems import BadRequest, NotFound, Withdrawn
from catalogue.usecases.revisions import compare_maps

IN_DOCUMENTS = {"start": "from", "finish": "to", "colours": "colour"}
"""Fields that a map document calls otherwise; what a core `carries` and the `value` of a part, in SI units,
have one name here."""


class FieldChangeSerializer(serializers.Serializer):
    """One field before and after, in the units of the document; null where the map has no such thing."""

    field = serializers.SerializerMethodField()
    before = serializers.JSONField()
    after = serializers.JSONField()

    @extend_schema_field(str)
    def get_field(self, change: object) -> str:
        name = str(getattr(change, "field", ""))
        return IN_DOCUMENTS.get(name, name)


class ChangeSerializer(serializers.Serializer):
    """What was added, removed or changed; of what is changed only those facts that differ."""

    thing = serializers.CharField()
    sign = serializers.CharField()
    name = serializers.CharField()
    facts = FieldChangeSerializer(source="fields", many=True)


class MovedSerializer(serializers.Serializer):
    contact = serializers.CharField()
    before = serializers.CharField()
    after = serializers.CharField()


class RenamedSerializer(serializers.Serializer):
    before = serializers.CharField()
    after = serializers.CharField()


class DifferenceSerializer(serializers.Serializer):
    """`renamed` are nets whose contacts stayed; all else is told by the new names. Readings are only counted."""

    renamed = serializers.SerializerMethodField()
    changes = ChangeSerializer(many=True)
    moved = MovedSerializer(many=True)
    readings_added = serializers.IntegerField()
    readings_removed = serializers.IntegerField()

    @extend_schema_field(RenamedSerializer(many=True))
    def get_renamed(self, told: Difference) -> list[dict[str, str]]:
        return [{"before": before, "after": after} for before, after in told.renamed]


class ComparedSerializer(DifferenceSerializer):
    """The two maps, and what is different."""

    before = MapSummarySerializer()
    after = MapSummarySerializer()


class MapDifference(Resource):
    @described(
        Operation(
            "compare_maps",
            "What has to be done to one map of a cable to get another map of it.",
            {200: Answer("The difference.", ComparedSerializer)},
            problems=[BadRequest, NotFound, Withdrawn],
        )
    )
    def get(self, request: Request, map_id: int, other_id: int) -> Response:
        compared = compare_maps(map_id, other_id)
        before, after = (
            MapSummarySerializer(row, context={"request": request}).data for row in (compared.before, compared.after)
        )
        return Response({"before": before, "after": after} | DifferenceSerializer(compared.difference).data)
