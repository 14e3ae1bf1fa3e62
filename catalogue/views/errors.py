"""Pages for what goes wrong before a view is reached. Each says what happened, and that nothing is lost."""

from http import HTTPStatus

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from catalogue.views.found import Gone

WRITTEN = ("text", "readings", "summary", "words", "note", "reason")


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    is_too_large = isinstance(exception, RequestDataTooBig)
    status = HTTPStatus.REQUEST_ENTITY_TOO_LARGE if is_too_large else HTTPStatus.BAD_REQUEST
    return render(request, "400.html", {"is_too_large": is_too_large}, status=status)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """With the words of whatever was looked for, where they are words for people; gone is what was withdrawn."""
    if isinstance(exception, Gone):
        return render(request, "410.html", {"told": str(exception)}, status=HTTPStatus.GONE)
    return render(request, "404.html", {"told": _told(exception)}, status=HTTPStatus.NOT_FOUND)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "403.html", {"told": _told(exception)}, status=HTTPStatus.FORBIDDEN)


def too_many(request: HttpRequest) -> HttpResponse:
    """Somebody tries too often; the library for accounts asks for this page."""
    return render(request, "429.html", status=HTTPStatus.TOO_MANY_REQUESTS)


def searched_too_often(request: HttpRequest, seconds: int) -> HttpResponse:
    """Somebody searches more often than the site can do for all; `seconds` to wait."""
    response = render(request, "429.html", {"seconds": seconds}, status=HTTPStatus.TOO_MANY_REQUESTS)
    response["Retry-After"] = str(seconds)
    return response


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The page was too old, or another site sent it. What somebody wrote in it is shown, to be copied."""
    written = {name: text for name in WRITTEN if (text := request.POST.get(name))}
    return render(request, "403_csrf.html", {"written": written}, status=HTTPStatus.FORBIDDEN)


def _told(exception: Exception) -> str:
    return next((text for text in exception.args if isinstance(text, str)), "")
