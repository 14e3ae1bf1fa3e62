"""What is published and fixed: standard connectors, colours, the rules."""

from rest_framework.request import Request
from rest_framework.response import Response

from api.described import Answer, Operation, ResultsOf, described
from api.resources import Resource
from api.serializers import ColoursSerializer, ConnectorSerializer, RuleSerializer
from catalogue.usecases import published


class Connectors(Resource):
    @described(
        Operation(
            "list_connectors",
            "Standard connectors with contacts, signals, roles and faces as seen looking into the mating face.",
            {200: Answer("All connectors.", ResultsOf(ConnectorSerializer))},
        )
    )
    def get(self, request: Request) -> Response:
        return Response({"results": ConnectorSerializer(published.connectors(), many=True).data})


class Colours(Resource):
    @described(
        Operation(
            "list_colours",
            "IEC 60757 colours, and published orders of core colours.",
            {200: Answer("All colours and orders.", ColoursSerializer)},
        )
    )
    def get(self, request: Request) -> Response:
        colours, schemes = published.colours()
        return Response(ColoursSerializer({"results": colours, "schemes": schemes}).data)


class Rules(Resource):
    @described(
        Operation(
            "list_rules",
            "Every rule that a map is checked by: when it speaks, why, and what to do.",
            {200: Answer("All rules.", ResultsOf(RuleSerializer))},
        )
    )
    def get(self, request: Request) -> Response:
        return Response({"results": RuleSerializer(published.rules(), many=True).data})
