"""Failure reports: send one. Where its event may be told already, that is asked before it is stored."""

from http import HTTPStatus

from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import json_body
from api.described import Answer, Operation, described
from api.errors import MEDIA_TYPE, problem_document, status_and_code
from api.repeats import answered_once
from api.resources import Resource
from api.serializers import AlikeSerializer, FailureReportSerializer, FailureSerializer
from catalogue.core.problems import BadRequest, EventTold, NotFound, Withdrawn
from catalogue.usecases import cables, failures
from catalogue.usecases.bodies import json_value
from catalogue.usecases.failures import Outcome

STATUS_OF = {
    Outcome.STORED: HTTPStatus.CREATED,
    Outcome.TOLD_ANEW: HTTPStatus.OK,
    Outcome.KNOWN: HTTPStatus.OK,
}

EXAMPLE = {
    "cable": "orrin-vale-invented-plotter-lead-pl-2",
    "kind": "core-open",
    "ending": "mended",
    "section": "main",
    "at_m": 0.3,
    "nets": ["VBUS"],
    "symptoms": ["cuts-out-when-moved"],
    "tried": ["cut-and-spliced"],
    "words": "only charges while bent",
}


class Failures(Resource):
    @described(
        Operation(
            "report_failure",
            """
            Report what failed on one specimen of a cable, and how it ended.

            The answer is the report that tells of its event now. Where it may be told already, that is asked by 409 and
            `alike`, and nothing is stored: send it again with `event`.
            """,
            {
                201: Answer("The report.", FailureSerializer),
                200: Answer("The report that told of this event already, as it is told now.", FailureSerializer),
            },
            problems=[BadRequest, EventTold, NotFound, Withdrawn],
            takes=FailureReportSerializer,
            example=EXAMPLE,
        )
    )
    @answered_once
    def post(self, request: Request) -> Response:
        assert request.user.is_authenticated  # the default permission let nobody else in
        report = FailureReportSerializer(data=json_value(json_body(request), "The report"))
        report.is_valid(raise_exception=True)
        given = report.validated_data
        cable = cables.cable_by_slug(given["cable"])
        sent = failures.send_report(request.user, cable, report.failure(), given["event"])
        if sent.report is None:
            return _asked(sent)
        return Response(FailureSerializer(sent.report).data, status=STATUS_OF[sent.outcome])


def _asked(sent: failures.Sent) -> Response:
    """The reports that may tell of the same event, and how to say whether they do."""
    text = (
        "This event may be told already; nothing was stored. Send the report again with the member event: "
        f'"{failures.ANOTHER}" when it is another cable or another time, or the event of the report among alike that '
        "tells of the same. Your own report then says what you send; what somebody else told is left as it is."
    )
    alike = AlikeSerializer(sent.alike, many=True).data
    status, code = status_and_code(EventTold)
    body = problem_document(code, status, text, alike=alike)
    return Response(body, status=status, content_type=MEDIA_TYPE)
