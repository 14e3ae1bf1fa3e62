"""What is published and fixed: standard connectors, colours, the rules."""

from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.serializers import ColourSerializer, ConnectorSerializer, RuleSerializer
from catalogue.usecases import published


class Connectors(APIView):
    """Standard connectors with contacts, signals, roles and faces as seen looking into the mating face."""

    def get(self, request: Request) -> Response:
        return Response({"results": ConnectorSerializer(published.connectors(), many=True).data})


class Colours(APIView):
    """IEC 60757 colours, and published orders of core colours."""

    def get(self, request: Request) -> Response:
        colours, schemes = published.colours()
        return Response(
            {
                "results": ColourSerializer(colours, many=True).data,
                "schemes": [
                    {
                        "key": scheme.key,
                        "source": scheme.source,
                        "entries": [
                            {"position": position, "codes": codes, "meaning": meaning}
                            for position, codes, meaning in scheme.entries
                        ],
                    }
                    for scheme in schemes
                ],
            }
        )


class Rules(APIView):
    """Every rule that a map is checked by: when it speaks, why, and what to do."""

    def get(self, request: Request) -> Response:
        return Response({"results": RuleSerializer(published.rules(), many=True).data})
