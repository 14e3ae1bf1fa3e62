"""Confirmations of a map by other people's readings, and the hardware variants that all readings of a cable show."""

from http import HTTPStatus
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import json_body
from api.described import Answer, Operation, PageOf, described
from api.pagination import PAGING, ByNewest
from api.repeats import answered_once
from api.resources import Resource
from api.serializers import FindingsField, MeterField, ReadingsField
from catalogue.core.confirming import Verdict
from catalogue.core.findings import finding_json
from catalogue.core.pooling import Variant
from catalogue.core.problems import BadRequest, Conflict, NotFound, Withdrawn
from catalogue.usecases import cables, confirmations


class AddedSerializer(serializers.Serializer):
    """Contacts that the readings join to a net of the map which does not list them."""

    net = serializers.CharField()
    contacts = serializers.ListField(child=serializers.CharField())


class VerdictSerializer(serializers.Serializer):
    """`findings` say how the readings differ from the map, with the proof."""

    nets_tested = serializers.IntegerField()
    nets_total = serializers.IntegerField()
    adds = AddedSerializer(many=True)
    findings = serializers.SerializerMethodField()

    @extend_schema_field(FindingsField)
    def get_findings(self, verdict: Verdict) -> list[dict[str, object]]:
        return [finding_json(finding) for finding in verdict.findings]


class ConfirmationSerializer(serializers.Serializer):
    id = serializers.IntegerField()
    map = serializers.IntegerField(source="map_id")
    author = serializers.CharField(source="by", allow_null=True)
    created_at = serializers.DateTimeField()
    outcome = serializers.CharField()
    note = serializers.CharField()
    verdict = serializers.SerializerMethodField()
    readings = ReadingsField()
    meter = MeterField()

    @extend_schema_field(VerdictSerializer)
    def get_verdict(self, row: Any) -> dict[str, object]:
        return dict(VerdictSerializer(confirmations.verdict_of(row)).data)


class LeftSerializer(serializers.Serializer):
    name = serializers.CharField()
    why = serializers.CharField()


class VariantSerializer(serializers.Serializer):
    """`nets` are the groups of contacts that the readings of all members join."""

    members = serializers.ListField(child=serializers.CharField())
    may_be_broken = serializers.BooleanField()
    nets = serializers.SerializerMethodField()

    def get_nets(self, variant: Variant) -> list[list[str]]:
        return [list(net) for net in variant.deduction.nets if len(net) > 1]


class ContactDifferenceSerializer(serializers.Serializer):
    """`says` has one word for each variant, in their order."""

    contact = serializers.CharField()
    against = serializers.ListField(child=serializers.CharField())
    says = serializers.ListField(child=serializers.CharField())
    readings = serializers.ListField(child=serializers.CharField())


class VariantsSerializer(serializers.Serializer):
    variants = VariantSerializer(source="pool.variants", many=True)
    fewest = serializers.BooleanField(source="pool.fewest")
    differences = ContactDifferenceSerializer(source="pool.differences", many=True)
    differences_total = serializers.IntegerField(source="pool.differences_total")
    at_odds = serializers.ListField(source="pool.at_odds", child=serializers.CharField())
    left_out = LeftSerializer(many=True)


class Confirmations(Resource):
    @described(
        Operation(
            "list_confirmations",
            "What other people than the author read of a map's cable, newest first.",
            {200: Answer("A page of confirmations.", PageOf(ConfirmationSerializer))},
            problems=[BadRequest, NotFound, Withdrawn],
            asks=PAGING,
        )
    )
    def get(self, request: Request, map_id: int) -> Response:
        pages = ByNewest()
        page = pages.paginate_queryset(confirmations.confirmations_of(map_id), request, view=self)
        return pages.get_paginated_response(ConfirmationSerializer(page, many=True).data)

    @described(
        Operation(
            "confirm_map",
            """
            Hold one's own readings against somebody else's map.

            What the same person sent before on this map gives way.
            """,
            {
                201: Answer("The first readings of this person.", ConfirmationSerializer),
                200: Answer("They took the place of earlier ones.", ConfirmationSerializer),
            },
            problems=[BadRequest, Conflict, NotFound, Withdrawn],
            takes="ConfirmationQuestion",
        )
    )
    @answered_once
    def post(self, request: Request, map_id: int) -> Response:
        assert request.user.is_authenticated  # the default permission let nobody else in
        row, is_first = confirmations.confirm_map(request.user, map_id, json_body(request))
        status = HTTPStatus.CREATED if is_first else HTTPStatus.OK
        return Response(ConfirmationSerializer(row).data, status=status)


class Variants(Resource):
    @described(
        Operation(
            "list_variants",
            "The fewest hardware variants that explain what everybody read of a cable, side by side.",
            {200: Answer("The variants, and what tells them apart.", VariantsSerializer)},
            problems=[NotFound, Withdrawn],
        )
    )
    def get(self, request: Request, slug: str) -> Response:
        return Response(VariantsSerializer(confirmations.variants_of(cables.cable_by_slug(slug))).data)
