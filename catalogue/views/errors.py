"""Pages for what goes wrong before a view is reached. Each says what happened, and that nothing is lost."""

from http import HTTPStatus

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

WRITTEN = ("text", "readings", "summary", "words", "note")


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    is_too_large = isinstance(exception, RequestDataTooBig)
    status = HTTPStatus.REQUEST_ENTITY_TOO_LARGE if is_too_large else HTTPStatus.BAD_REQUEST
    return render(request, "400.html", {"is_too_large": is_too_large}, status=status)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """With the words of whatever was looked for, where they are words for people."""
    told = next((text for text in exception.args if isinstance(text, str)), "")
    return render(request, "404.html", {"told": told}, status=HTTPStatus.NOT_FOUND)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The page was too old, or another site sent it. What somebody wrote in it is shown, to be copied."""
    written = {name: text for name in WRITTEN if (text := request.POST.get(name))}
    return render(request, "403_csrf.html", {"written": written}, status=HTTPStatus.FORBIDDEN)
