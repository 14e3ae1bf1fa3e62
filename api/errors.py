"""Every error of the API as a problem document (RFC 9457), with a stable code and what is wrong where."""

import functools
import logging
from collections.abc import Callable, Iterator
from http import HTTPStatus
from itertools import islice
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.views.decorators.csrf import csrf_exempt
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.settings import api_settings
from rest_framework.views import set_rollback

from catalogue.core.findings import finding_json
from catalogue.core.problems import (
    BadDocument,
    BadReadings,
    BadRequest,
    Conflict,
    Defect,
    DrawingUnavailable,
    EventTold,
    KeyReused,
    MapRefused,
    NotAllowed,
    NotFound,
    Problem,
    Stale,
    TooLarge,
    TooMany,
    TooManyDrafts,
    Unreachable,
    VersionMissing,
    Withdrawn,
)

MOST_DEFECTS = 100
"""Fields told of one request."""

MEDIA_TYPE = "application/problem+json"

STATUS_OF: dict[type[Problem], HTTPStatus] = {
    BadDocument: HTTPStatus.UNPROCESSABLE_ENTITY,
    BadReadings: HTTPStatus.UNPROCESSABLE_ENTITY,
    BadRequest: HTTPStatus.UNPROCESSABLE_ENTITY,
    MapRefused: HTTPStatus.UNPROCESSABLE_ENTITY,
    NotFound: HTTPStatus.NOT_FOUND,
    Withdrawn: HTTPStatus.GONE,
    NotAllowed: HTTPStatus.FORBIDDEN,
    TooLarge: HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    Conflict: HTTPStatus.CONFLICT,
    EventTold: HTTPStatus.CONFLICT,
    TooManyDrafts: HTTPStatus.CONFLICT,
    KeyReused: HTTPStatus.UNPROCESSABLE_ENTITY,
    Stale: HTTPStatus.PRECONDITION_FAILED,
    VersionMissing: HTTPStatus.PRECONDITION_REQUIRED,
    TooMany: HTTPStatus.TOO_MANY_REQUESTS,
    Unreachable: HTTPStatus.BAD_GATEWAY,
    DrawingUnavailable: HTTPStatus.SERVICE_UNAVAILABLE,
}

READ = ("GET", "HEAD")

ROOT = "/api/"

OF_THE_SITE = {
    HTTPStatus.BAD_REQUEST: ("malformed-request", "This is not a request that can be worked with."),
    HTTPStatus.LENGTH_REQUIRED: (
        "length-required",
        "A body that is sent in chunks is not read. Send it whole, with its length in the header Content-Length.",
    ),
    HTTPStatus.PRECONDITION_FAILED: (
        Stale.code,
        "What is there now is not what If-Match or If-Unmodified-Since names. Fetch it without these headers.",
    ),
    HTTPStatus.INTERNAL_SERVER_ERROR: (
        "internal-error",
        "Something went wrong on the site. Nothing was stored; the same request can safely be sent again.",
    ),
}
"""Code and text of what is wrong with no address in particular."""

WHAT_TO_DO: dict[type[exceptions.APIException], str] = {
    exceptions.NotAuthenticated: "Send the header Authorization: Token …; a token is had from tokens/, by a name and "
    "password in Authorization: Basic ….",
    exceptions.AuthenticationFailed: "Check the header Authorization. A new token is had from tokens/.",
    exceptions.MethodNotAllowed: "Use a method that the header Allow of this answer names.",
    exceptions.NotAcceptable: "Leave the header Accept out, or let it have application/json.",
}
"""What is added to the words of the framework, which say only what is wrong."""

logger = logging.getLogger(__name__)


def status_and_code(error: type[Problem | exceptions.APIException]) -> tuple[HTTPStatus, str]:
    """What an error of this kind is answered with. Raises KeyError for one that nobody answers."""
    if issubclass(error, exceptions.ValidationError):
        error = BadRequest
    if issubclass(error, exceptions.APIException):
        return HTTPStatus(error.status_code), str(error.default_code).replace("_", "-")
    return STATUS_OF[error], error.code


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
        except Exception as error:
            body, headers = _described(error)
            return JsonResponse(body, status=body["status"], headers=headers, content_type=MEDIA_TYPE)

    # They change nothing; and without this another method would be answered by the page about forgery.
    return csrf_exempt(answering)


def read_only(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Lets a plain Django view only be read, inside `answers_problems`."""

    @functools.wraps(view)
    def reading(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponseBase:
        if request.method not in READ:
            raise exceptions.MethodNotAllowed(str(request.method))
        return view(request, *args, **kwargs)

    return reading


class ProblemsOfTheSite:
    """Middleware: what Django itself answers to a request for the API, before any view, becomes a problem document.

    A body in chunks is refused: where no length is told, Django takes it for empty.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if not request.path_info.startswith(ROOT):
            return self.get_response(request)
        if "Transfer-Encoding" in request.headers and not request.headers.get("Content-Length"):
            return _of_the_site(HTTPStatus.LENGTH_REQUIRED)
        response = self.get_response(request)
        is_page = response.headers.get("Content-Type", "").startswith("text/html")
        is_error = response.status_code >= HTTPStatus.BAD_REQUEST
        return _of_the_site(HTTPStatus(response.status_code)) if is_error and is_page else response


@answers_problems
def unknown_route(request: HttpRequest) -> HttpResponse:
    raise NotFound(f"The API has nothing at {request.path}. Addresses end with a slash, except files.")


def _of_the_site(status: HTTPStatus) -> HttpResponse:
    is_of_the_site = status >= HTTPStatus.INTERNAL_SERVER_ERROR
    kind = HTTPStatus.INTERNAL_SERVER_ERROR if is_of_the_site else HTTPStatus.BAD_REQUEST
    code, text = OF_THE_SITE.get(status, OF_THE_SITE[kind])
    return JsonResponse(problem_document(code, status, text), status=status, content_type=MEDIA_TYPE)


def _described(error: Exception) -> tuple[dict[str, Any], dict[str, str]]:
    if isinstance(error, RequestDataTooBig):
        error = TooLarge("The request is too large. A map document is at most 2 MiB.")
    if isinstance(error, Problem):
        more: dict[str, object] = {"defects": [_defect(defect) for defect in error.defects]} if error.defects else {}
        if isinstance(error, TooManyDrafts) and error.findings:
            more["findings"] = [finding_json(finding) for finding in error.findings]
        return problem_document(error.code, STATUS_OF[type(error)], error.text, **more), {}
    if isinstance(error, Http404):
        error = exceptions.NotFound()
    if isinstance(error, PermissionDenied):
        error = exceptions.PermissionDenied()
    if isinstance(error, exceptions.APIException):
        return _framework_problem(error)
    logger.error("Unexpected error", exc_info=error)
    status = HTTPStatus.INTERNAL_SERVER_ERROR
    return problem_document(OF_THE_SITE[status][0], status, OF_THE_SITE[status][1]), {}


def _framework_problem(error: exceptions.APIException) -> tuple[dict[str, Any], dict[str, str]]:
    headers = {}
    if challenge := getattr(error, "auth_header", None):
        headers["WWW-Authenticate"] = challenge
    if isinstance(error, exceptions.MethodNotAllowed):
        headers["Allow"] = ", ".join(READ)  # of a plain view; others tell their own
    if wait := getattr(error, "wait", None):
        headers["Retry-After"] = str(int(wait) + 1)
    status = HTTPStatus(error.status_code)
    if isinstance(error, exceptions.ValidationError):
        defects = [_defect(defect) for defect in islice(_validation_defects(error.detail), MOST_DEFECTS)]
        text = "Some fields are not right. Nothing was stored."
        status = HTTPStatus.UNPROCESSABLE_ENTITY
        return problem_document("bad-request", status, text, defects=defects), headers
    _, code = status_and_code(type(error))
    what_to_do = next((text for kind, text in WHAT_TO_DO.items() if isinstance(error, kind)), "")
    return problem_document(code, status, f"{error.detail} {what_to_do}".strip()), headers


def _validation_defects(detail: Any, pointer: str = "") -> Iterator[Defect]:
    if isinstance(detail, dict):
        for name, inner in detail.items():
            place = pointer if name == api_settings.NON_FIELD_ERRORS_KEY else f"{pointer}/{str(name)[:40]}"
            yield from _validation_defects(inner, place)
    elif isinstance(detail, list):
        for inner in detail:
            yield from _validation_defects(inner, pointer)
    else:
        yield Defect(pointer, str(detail), "Correct this field and send again.")


def _defect(defect: Defect) -> dict[str, str]:
    return {"where": defect.where, "message": defect.message, "remedy": defect.remedy}
