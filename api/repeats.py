"""`Idempotency-Key`: a request that stores something can be sent again without doing it twice."""

import functools
import re
from collections.abc import Callable
from hashlib import sha256
from typing import Any

from django.http import HttpResponse, HttpResponseBase
from rest_framework.exceptions import APIException
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from catalogue.core.problems import BadRequest, Defect, Problem
from catalogue.usecases import repeats

LONGEST_KEY = 255

KEY = re.compile(r"^[!-~]+$")

Method = Callable[..., Response]


def answered_once(method: Method) -> Callable[..., HttpResponseBase]:
    """Makes a method of a view answer alike, and do its work once, for one key. Without a key nothing is different."""

    @functools.wraps(method)
    def answering(view: APIView, request: Request, *args: object, **kwargs: object) -> HttpResponseBase:
        if "Idempotency-Key" not in request.headers:
            return method(view, request, *args, **kwargs)
        assert request.user.is_authenticated  # who stores something has an account

        def work() -> repeats.Answer:
            try:
                response = method(view, request, *args, **kwargs)
            except (Problem, APIException) as error:
                response = view.handle_exception(error)
            body = JSONRenderer().render(response.data).decode()
            headers = {**response.headers, "Content-Type": response.content_type or JSONRenderer.media_type}
            return repeats.Answer(response.status_code, headers, body)

        answer = repeats.answer_once(request.user, _key(request), _digest(request), work)
        return HttpResponse(answer.body, status=answer.status, headers=dict(answer.headers))

    answering.is_answered_once = True  # type: ignore[attr-defined]
    return answering


def _key(request: Request) -> str:
    key: Any = request.headers["Idempotency-Key"]
    if len(key) <= LONGEST_KEY and KEY.match(key):
        return str(key)
    defect = Defect(
        "Idempotency-Key", "not a key", f"Send 1 to {LONGEST_KEY} visible ASCII characters, such as a UUID."
    )
    raise BadRequest("The request cannot be named so. Nothing was stored.", (defect,))


def _digest(request: Request) -> str:
    """Tells requests apart by their address and what they hold."""
    return sha256(request.get_full_path().encode() + b"\0" + request.body).hexdigest()
