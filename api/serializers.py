"""The shapes that the API gives and takes, field by field."""

from enum import StrEnum
from typing import Any

from rest_framework import serializers

from catalogue.core.document import Via
from catalogue.core.failures import Cause, Ending, Failure, FailureKind, Remedy, Symptom, failure_from


def choices(words: type[StrEnum]) -> list[str]:
    return [word.value for word in words]


class Strict(serializers.Serializer):
    """A serializer that tells of fields it does not know, so that a misspelt one is not silently dropped."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, dict) and (unknown := sorted(set(data) - set(self.fields))):
            known = ", ".join(self.fields)
            raise serializers.ValidationError(dict.fromkeys(unknown, f"Unknown field. Known are: {known}."))
        return super().to_internal_value(data)


class MapSummarySerializer(serializers.Serializer):
    id = serializers.IntegerField()
    url = serializers.HyperlinkedIdentityField("api-map", lookup_field="pk", lookup_url_kwarg="map_id")
    cable = serializers.SlugField(source="cable.slug")
    maker = serializers.CharField(source="cable.maker")
    model = serializers.CharField(source="cable.model")
    hardware_revision = serializers.CharField()
    revision = serializers.IntegerField(source="number")
    created_at = serializers.DateTimeField()
    content_hash = serializers.CharField()
    contacts = serializers.IntegerField(source="contact_count")
    nets = serializers.IntegerField(source="net_count")
    paths = serializers.IntegerField(source="path_count")
    readings = serializers.IntegerField(source="reading_count")


class MapSerializer(MapSummarySerializer):
    findings = serializers.JSONField()


class CableSerializer(serializers.Serializer):
    slug = serializers.SlugField()
    url = serializers.HyperlinkedIdentityField("api-cable", lookup_field="slug")
    maker = serializers.CharField()
    model = serializers.CharField()
    devices = serializers.ListField(child=serializers.CharField())
    summary = serializers.CharField()
    changed_at = serializers.DateTimeField()
    failures = serializers.IntegerField(source="failure_count")
    latest_map = MapSummarySerializer(source="latest", allow_null=True)


class CableQuerySerializer(serializers.Serializer):
    """The search of cables. Parameters that other parts read (cursor, limit) pass by."""

    q = serializers.CharField(max_length=200, default="", allow_blank=True)
    maker = serializers.CharField(max_length=120, default="", allow_blank=True)
    connector = serializers.CharField(max_length=60, default="", allow_blank=True)
    contacts = serializers.IntegerField(min_value=1, max_value=100_000, default=None)
    symptom = serializers.ChoiceField(choices(Symptom), default="", allow_blank=True)
    rides_on = serializers.ChoiceField(["copper", *choices(Via)], default="", allow_blank=True)


class FailureSerializer(serializers.Serializer):
    id = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    map = serializers.IntegerField(source="map_id", allow_null=True)
    kind = serializers.CharField()
    symptoms = serializers.ListField(child=serializers.CharField())
    words = serializers.CharField()
    section = serializers.CharField()
    at_m = serializers.FloatField(allow_null=True)
    place = serializers.CharField()
    nets = serializers.ListField(child=serializers.CharField())
    cause = serializers.CharField()
    tried = serializers.ListField(child=serializers.CharField())
    ending = serializers.CharField()
    note = serializers.CharField()
    hours = serializers.FloatField(allow_null=True)
    cost = serializers.FloatField(allow_null=True)
    currency = serializers.CharField()


class FailureReportSerializer(Strict):
    """A failure report as it is sent."""

    cable = serializers.SlugField(max_length=100)
    kind = serializers.ChoiceField(choices(FailureKind))
    ending = serializers.ChoiceField(choices(Ending))
    symptoms = serializers.ListField(child=serializers.ChoiceField(choices(Symptom)), max_length=20, default=list)
    words = serializers.CharField(max_length=500, default="", allow_blank=True)
    section = serializers.CharField(max_length=40, default="", allow_blank=True)
    at_m = serializers.FloatField(min_value=0, max_value=10_000, default=None, allow_null=True)
    place = serializers.CharField(max_length=40, default="", allow_blank=True)
    nets = serializers.ListField(child=serializers.CharField(max_length=40), max_length=500, default=list)
    cause = serializers.ChoiceField(choices(Cause), default=Cause.UNKNOWN.value)
    tried = serializers.ListField(child=serializers.ChoiceField(choices(Remedy)), max_length=20, default=list)
    note = serializers.CharField(max_length=2000, default="", allow_blank=True)
    hours = serializers.FloatField(min_value=0, max_value=10_000, default=None, allow_null=True)
    cost = serializers.FloatField(min_value=0, max_value=10_000_000, default=None, allow_null=True)
    currency = serializers.RegexField(r"^[A-Z]{3}$", default="", allow_blank=True)

    def failure(self) -> Failure:
        """The validated report as a value."""
        return failure_from(self.validated_data)


class FailurePointSerializer(serializers.Serializer):
    section = serializers.CharField()
    place = serializers.CharField()
    at_m = serializers.FloatField(allow_null=True)
    first_m = serializers.FloatField(allow_null=True)
    last_m = serializers.FloatField(allow_null=True)
    count = serializers.IntegerField()
    kinds = serializers.DictField(child=serializers.IntegerField())
    endings = serializers.DictField(child=serializers.IntegerField())
    symptoms = serializers.DictField(child=serializers.IntegerField())


class SeatSerializer(serializers.Serializer):
    contact = serializers.CharField()
    row = serializers.IntegerField()
    x_mm = serializers.FloatField()
    y_mm = serializers.FloatField()


class FaceSerializer(serializers.Serializer):
    outline = serializers.CharField()
    width_mm = serializers.FloatField()
    height_mm = serializers.FloatField()
    seats = SeatSerializer(many=True)
    source = serializers.CharField()
    basis = serializers.CharField()


class ContactSerializer(serializers.Serializer):
    contact = serializers.CharField()
    signal = serializers.CharField()
    role = serializers.CharField()
    pair = serializers.CharField()
    volts = serializers.FloatField(allow_null=True)
    present = serializers.BooleanField()
    source = serializers.CharField()
    basis = serializers.CharField()
    notes = serializers.CharField()


class ConnectorSerializer(serializers.Serializer):
    key = serializers.CharField()
    title = serializers.CharField()
    contacts = ContactSerializer(many=True)
    face = FaceSerializer()


class ColourSerializer(serializers.Serializer):
    code = serializers.CharField()
    name = serializers.CharField()
    hex = serializers.CharField()
    source = serializers.CharField()
    basis = serializers.CharField()


class RuleSerializer(serializers.Serializer):
    code = serializers.CharField()
    severity = serializers.CharField()
    title = serializers.CharField()
    says = serializers.CharField()
    why = serializers.CharField()
    remedy = serializers.CharField()
