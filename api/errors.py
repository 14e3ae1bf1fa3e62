"""Every error of the API as a problem document (RFC 9457), with a stable code and what is wrong where."""

import functools
import logging
from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

from catalogue.core.problems import (
    BadDocument,
    BadReadings,
    BadRequest,
    Conflict,
    Defect,
    DrawingUnavailable,
    NotFound,
    Problem,
    TooLarge,
)

MEDIA_TYPE = "application/problem+json"

STATUS_OF = {
    BadDocument: HTTPStatus.UNPROCESSABLE_ENTITY,
    BadReadings: HTTPStatus.UNPROCESSABLE_ENTITY,
    BadRequest: HTTPStatus.UNPROCESSABLE_ENTITY,
    NotFound: HTTPStatus.NOT_FOUND,
    TooLarge: HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    Conflict: HTTPStatus.CONFLICT,
    DrawingUnavailable: HTTPStatus.SERVICE_UNAVAILABLE,
}

logger = logging.getLogger(__name__)


def problem_document(code: str, status: HTTPStatus, detail: str, **more: object) -> dict[str, object]:
    """The body of an error answer. `more` are further members, such as `defects` and `findings`."""
    return {
        "type": f"urn:corelore:problem:{code}",
        "title": status.phrase,
        "status": status.value,
        "code": code,
        "detail": detail,
        **more,
    }


def problem_response(error: Exception, context: dict[str, Any]) -> Response:
    """The answer to an exception in a view: Django REST framework's exception handler for this site."""
    set_rollback()
    body, headers = _described(error)
    return Response(body, status=body["status"], headers=headers, content_type=MEDIA_TYPE)


def answers_problems(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """The same for a plain Django view."""

    @functools.wraps(view)
    def answering(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponseBase:
        try:
            return view(request, *args, **kwargs)
        except Problem as error:
            body, headers = _described(error)
            return JsonResponse(body, status=body["status"], headers=headers, content_type=MEDIA_TYPE)

    return answering


@answers_problems
def unknown_route(request: HttpRequest) -> HttpResponse:
    raise NotFound(f"The API has nothing at {request.path}. Addresses end with a slash, except files.")


def _described(error: Exception) -> tuple[dict[str, Any], dict[str, str]]:
    if isinstance(error, RequestDataTooBig):
        error = TooLarge("The request is too large. A map document is at most 2 MiB.")
    if isinstance(error, Problem):
        more = {"defects": [_defect(defect) for defect in error.defects]} if error.defects else {}
        return problem_document(error.code, STATUS_OF[type(error)], error.text, **more), {}
    if isinstance(error, Http404):
        error = exceptions.NotFound()
    if isinstance(error, PermissionDenied):
        error = exceptions.PermissionDenied()
    if isinstance(error, exceptions.APIException):
        return _framework_problem(error)
    logger.error("Unexpected error", exc_info=error)
    text = "Something went wrong on the site. Nothing was stored; the same request can safely be sent again."
    return problem_document("internal-error", HTTPStatus.INTERNAL_SERVER_ERROR, text), {}


def _framework_problem(error: exceptions.APIException) -> tuple[dict[str, Any], dict[str, str]]:
    headers = {}
    if challenge := getattr(error, "auth_header", None):
        headers["WWW-Authenticate"] = challenge
    if wait := getattr(error, "wait", None):
        headers["Retry-After"] = str(int(wait) + 1)
    status = HTTPStatus(error.status_code)
    if isinstance(error, exceptions.ValidationError):
        defects = [_defect(defect) for defect in _validation_defects(error.detail)]
        text = "Some fields are not right. Nothing was stored."
        status = HTTPStatus.UNPROCESSABLE_ENTITY
        return problem_document("bad-request", status, text, defects=defects), headers
    code = str(error.default_code).replace("_", "-")
    return problem_document(code, status, str(error.detail)), headers


def _validation_defects(detail: Any, pointer: str = "") -> list[Defect]:
    if isinstance(detail, dict):
        return [defect for name, inner in detail.items() for defect in _validation_defects(inner, f"{pointer}/{name}")]
    if isinstance(detail, list):
        return [defect for inner in detail for defect in _validation_defects(inner, pointer)]
    return [Defect(pointer, str(detail), "Correct this field and send again.")]


def _defect(defect: Defect) -> dict[str, str]:
    return {"where": defect.where, "message": defect.message, "remedy": defect.remedy}
