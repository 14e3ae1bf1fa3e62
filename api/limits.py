"""How often one account or address may ask. The rates stand in the settings, and the library counts in the cache."""

import functools
import math
from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase
from rest_framework.exceptions import Throttled
from rest_framework.request import Request
from rest_framework.settings import api_settings
from rest_framework.throttling import BaseThrottle, SimpleRateThrottle, UserRateThrottle
from rest_framework.views import APIView

SEARCHING, COMPUTING = "searching", "computing"

COUNTED: dict[str, str] = {
    "reading": "reading",
    "searching": "searching for cables",
    "computing": "checking and computing",
    "writing": "storing, changing, deleting",
    "drawing": "drawings and wire lists, by address",
    "exporting": "the whole catalogue, by address",
    "following": "changes, by address",
    "tokens": "asking for a token, by address",
}
"""What is counted together, in words."""


class ByAddress(SimpleRateThrottle):
    """Counts by address, whoever the request says it is from."""

    def get_cache_key(self, request: Request | HttpRequest, view: APIView | None) -> str:
        return f"{self.scope}-by-{self.get_ident(request)}"  # type: ignore[arg-type]


class Guesses(ByAddress):
    scope = "tokens"

    def throttle_success(self) -> bool:
        """Nobody may guess at passwords while the cache is gone and so nobody counts."""
        super().throttle_success()
        return self.cache.get(self.key) is not None


class Drawings(ByAddress):
    scope = "drawing"


class Exports(ByAddress):
    scope = "exporting"


class Changes(ByAddress):
    scope = "following"


class Searches(UserRateThrottle):
    """Counts together with the searches of the API: by account, or by address."""

    scope = SEARCHING


View = Callable[..., HttpResponseBase]


def problem(request: HttpRequest, seconds: int) -> HttpResponseBase:
    """Refuses a request of the API. Raises Throttled."""
    raise Throttled(seconds)


def counted(
    limit: type[BaseThrottle], refusal: Callable[[HttpRequest, int], HttpResponseBase] = problem
) -> Callable[[View], View]:
    """Limits a plain Django view. `refusal` answers who asks too often, and is given the seconds to wait."""

    def limiting(view: View) -> View:
        @functools.wraps(view)
        def limited(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponseBase:
            count = limit()
            if not count.allow_request(request, None):  # type: ignore[arg-type]
                return refusal(request, max(1, math.ceil(count.wait() or 0)))
            return view(request, *args, **kwargs)

        return limited

    return limiting


def told() -> list[str]:
    """What is counted, and how much of it is taken, in words."""
    rates = api_settings.DEFAULT_THROTTLE_RATES
    return [f"{words}: {str(rates[scope]).replace('/min', ' a minute')}" for scope, words in COUNTED.items()]
