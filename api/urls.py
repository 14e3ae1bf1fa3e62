"""All routes of the API, version 1, on one page."""

from django.urls import path, re_path

from api import (
    cables,
    confirmations,
    decisions,
    diagnoses,
    failures,
    fault_locations,
    files,
    inferences,
    maps,
    matches,
    published,
    tokens,
)
from api.errors import unknown_route

urlpatterns = [
    path("checks/", maps.Checks.as_view(), name="api-checks"),
    path("maps/", maps.Maps.as_view(), name="api-maps"),
    path("maps/<int:map_id>/", maps.Map.as_view(), name="api-map"),
    path("maps/<int:map_id>/document/", files.document, name="api-document"),
    path("maps/<int:map_id>/drawings/<slug:chart>.<slug:form>", files.drawing, name="api-drawing"),
    path("maps/<int:map_id>/wire-list.csv", files.wire_list, name="api-wire-list"),
    path("maps/<int:map_id>/confirmations/", confirmations.Confirmations.as_view(), name="api-confirmations"),
    path("cables/", cables.Cables.as_view(), name="api-cables"),
    path("cables/<slug:slug>/", cables.OneCable.as_view(), name="api-cable"),
    path("cables/<slug:slug>/failures/", cables.CableFailures.as_view(), name="api-cable-failures"),
    path("cables/<slug:slug>/failure-points/", cables.CableFailurePoints.as_view(), name="api-failure-points"),
    path("cables/<slug:slug>/variants/", confirmations.Variants.as_view(), name="api-variants"),
    path("decisions/", decisions.Decisions.as_view(), name="api-decisions"),
    path("diagnoses/", diagnoses.Diagnoses.as_view(), name="api-diagnoses"),
    path("fault-locations/", fault_locations.FaultLocations.as_view(), name="api-fault-locations"),
    path("failures/", failures.Failures.as_view(), name="api-failures"),
    path("inferences/", inferences.Inferences.as_view(), name="api-inferences"),
    path("matches/", matches.Matches.as_view(), name="api-matches"),
    path("tokens/", tokens.Tokens.as_view(), name="api-tokens"),
    path("connectors/", published.Connectors.as_view(), name="api-connectors"),
    path("colours/", published.Colours.as_view(), name="api-colours"),
    path("rules/", published.Rules.as_view(), name="api-rules"),
    path("schemas/map.json", files.map_schema, name="api-map-schema"),
    re_path(r"", unknown_route),
]
