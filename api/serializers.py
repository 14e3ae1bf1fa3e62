"""The shapes that the API gives and takes, field by field."""

from collections.abc import Sequence
from enum import StrEnum
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from catalogue.core.document import Via
from catalogue.core.failures import (
    COST_DIGITS,
    LONGEST_NOTE,
    LONGEST_WORDS,
    MOST_HOURS,
    MOST_NETS,
    Cause,
    Ending,
    Failure,
    FailureKind,
    PlaceKind,
    Remedy,
    Spot,
    Symptom,
    failure_from,
)
from catalogue.usecases import failures, reviews


def choices(words: type[StrEnum]) -> list[str]:
    return [word.value for word in words]


@extend_schema_field({"type": "array", "items": {"$ref": "#/components/schemas/Finding"}})
class FindingsField(serializers.JSONField):
    """What the rules say of a map."""


@extend_schema_field({"type": "array", "items": {"$ref": "#/components/schemas/Defect"}})
class DefectsField(serializers.JSONField):
    """What cannot be read in a document."""


@extend_schema_field({"$ref": "#/components/schemas/MapDocument/properties/readings"})
class ReadingsField(serializers.JSONField):
    """Readings as in a map document."""


@extend_schema_field({"$ref": "#/components/schemas/MapDocument/properties/meter"})
class MeterField(serializers.JSONField):
    """A meter as in a map document."""


class OneOf(serializers.ChoiceField):
    """A word of a closed list; who sends another is told the list."""

    def __init__(self, choices: Sequence[Any], **options: Any) -> None:
        super().__init__(choices, **options)
        self.error_messages["invalid_choice"] = "None of: " + ", ".join(map(str, self.choices)) + "."


MOST_UNKNOWN = 20
"""Unknown fields that are told."""


class Strict(serializers.Serializer):
    """A serializer that tells of fields it does not know, so that a misspelt one is not silently dropped."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, dict) and (unknown := sorted(set(data) - set(self.fields))):
            known = ", ".join(self.fields)
            names = (name[:40] if name.isprintable() else ascii(name[:40]) for name in unknown[:MOST_UNKNOWN])
            raise serializers.ValidationError(dict.fromkeys(names, f"Unknown field. Known are: {known}."))
        return super().to_internal_value(data)


class ReviewSerializer(serializers.Serializer):
    """What the last review made of a contribution; `reason` and `at` are empty while nobody has reviewed it.

    Of a report that its author told anew they say so.
    """

    standing = serializers.CharField()
    reason = serializers.CharField()
    at = serializers.DateTimeField(allow_null=True)

    def to_representation(self, row: Any) -> dict[str, object]:
        review = reviews.last_review(row)
        said = {"reason": review.reason, "at": review.reviewed_at} if review else {"reason": "", "at": None}
        return dict(super().to_representation({"standing": reviews.standing_of(review)} | said))


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


class ListedMapSerializer(MapSummarySerializer):
    review = ReviewSerializer(source="*")


class MapSerializer(MapSummarySerializer):
    findings = FindingsField()


class OneMapSerializer(MapSerializer):
    review = ReviewSerializer(source="*")


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
    symptom = OneOf(choices(Symptom), default="", allow_blank=True)
    rides_on = OneOf(["copper", *choices(Via)], default="", allow_blank=True)
    place = OneOf(choices(PlaceKind), default="", allow_blank=True)
    ending = OneOf(choices(Ending), default="", allow_blank=True)


class ToldSerializer(serializers.Serializer):
    """What a failure report says."""

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


class TellingSerializer(serializers.Serializer):
    told_at = serializers.DateTimeField()
    told = ToldSerializer(source="failure")


class FailureSerializer(ToldSerializer):
    """A failure report as it is told now; `told_before` is what it said until its author told it anew, newest first."""

    id = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    map = serializers.IntegerField(source="map_id", allow_null=True)
    review = ReviewSerializer(source="*")
    told_before = serializers.SerializerMethodField()

    @extend_schema_field(TellingSerializer(many=True))
    def get_told_before(self, row: Any) -> object:
        return TellingSerializer(failures.tellings_of(row)[-2::-1], many=True).data


class AlikeSerializer(serializers.Serializer):
    """A report that may tell of the same event as one that is sent; `event` names it when that is sent again."""

    event = serializers.CharField(source="id")
    is_own = serializers.BooleanField()
    reported_at = serializers.DateTimeField()
    told = ToldSerializer(source="failure")


class FailureReportSerializer(Strict):
    """A failure report as it is sent. `event` answers whether a report alike tells of the same."""

    cable = serializers.SlugField(max_length=100)
    kind = OneOf(choices(FailureKind))
    ending = OneOf(choices(Ending))
    symptoms = serializers.ListField(child=OneOf(choices(Symptom)), max_length=20, default=list)
    words = serializers.CharField(max_length=LONGEST_WORDS, default="", allow_blank=True)
    section = serializers.CharField(max_length=40, default="", allow_blank=True)
    at_m = serializers.FloatField(min_value=0, max_value=10_000, default=None, allow_null=True)
    place = serializers.CharField(max_length=40, default="", allow_blank=True)
    nets = serializers.ListField(child=serializers.CharField(max_length=40), max_length=MOST_NETS, default=list)
    cause = OneOf(choices(Cause), default=Cause.UNKNOWN.value)
    tried = serializers.ListField(child=OneOf(choices(Remedy)), max_length=20, default=list)
    note = serializers.CharField(max_length=LONGEST_NOTE, default="", allow_blank=True)
    hours = serializers.FloatField(min_value=0, max_value=MOST_HOURS, default=None, allow_null=True)
    cost = serializers.DecimalField(
        max_digits=COST_DIGITS, decimal_places=2, min_value=0, default=None, allow_null=True
    )
    currency = serializers.RegexField(r"^[A-Z]{3}$", default="", allow_blank=True)
    event = serializers.CharField(max_length=20, default="", allow_blank=True)

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


class FailurePointsQuerySerializer(serializers.Serializer):
    """`q` and `rides_on` choose cables, as in their search; the others choose reports."""

    q = serializers.CharField(max_length=200, default="", allow_blank=True)
    symptom = OneOf(choices(Symptom), default="", allow_blank=True)
    place = OneOf(choices(Spot), default="", allow_blank=True)
    connector = serializers.CharField(max_length=60, default="", allow_blank=True)
    rides_on = OneOf(["copper", *choices(Via)], default="", allow_blank=True)


class IntervalSerializer(serializers.Serializer):
    lower = serializers.FloatField()
    upper = serializers.FloatField()


class MendingSerializer(serializers.Serializer):
    """Of the reports whose mending was tried and has ended: how many, and how many of them are mended."""

    tried = serializers.IntegerField()
    succeeded = serializers.IntegerField()


class TallySerializer(serializers.Serializer):
    """Reports added up. `interval` holds the share mended of those tried with 95 % confidence (Wilson); null where
    nobody tried."""

    reports = serializers.IntegerField()
    cables = serializers.IntegerField()
    endings = serializers.DictField(child=serializers.IntegerField())
    mending = MendingSerializer()
    interval = IntervalSerializer(allow_null=True)


class GroupedTallySerializer(TallySerializer):
    value = serializers.CharField()


class FailurePointsSerializer(serializers.Serializer):
    """Most reports first. A report counts once under each of its values, so a list can add up to more than `all`."""

    all = TallySerializer()
    places = GroupedTallySerializer(many=True)
    symptoms = GroupedTallySerializer(many=True)
    connectors = GroupedTallySerializer(many=True)
    rides_on = GroupedTallySerializer(many=True)


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


class SchemeEntrySerializer(serializers.Serializer):
    """`codes` are the colours of the core at this position, base colour first."""

    position = serializers.CharField()
    codes = serializers.ListField(child=serializers.CharField())
    meaning = serializers.CharField()

    def to_representation(self, entry: Any) -> dict[str, object]:
        return dict(super().to_representation(dict(zip(self.fields, entry, strict=True))))


class SchemeSerializer(serializers.Serializer):
    """A published order of core colours."""

    key = serializers.CharField()
    source = serializers.CharField()
    entries = SchemeEntrySerializer(many=True)


class ColoursSerializer(serializers.Serializer):
    results = ColourSerializer(many=True)
    schemes = SchemeSerializer(many=True)


class RuleSerializer(serializers.Serializer):
    code = serializers.CharField()
    severity = serializers.CharField()
    title = serializers.CharField()
    says = serializers.CharField()
    why = serializers.CharField()
    remedy = serializers.CharField()
