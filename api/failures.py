"""Failure reports: send one."""

from http import HTTPStatus

from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.serializers import FailureReportSerializer, FailureSerializer
from catalogue.usecases import cables, failures


class Failures(APIView):
    def post(self, request: Request) -> Response:
        assert request.user.is_authenticated  # the default permission let nobody else in
        report = FailureReportSerializer(data=request.data)
        report.is_valid(raise_exception=True)
        cable = cables.cable_by_slug(report.validated_data["cable"])
        row = failures.report_failure(request.user, cable, report.failure())
        return Response(FailureSerializer(row).data, status=HTTPStatus.CREATED)
