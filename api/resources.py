"""What every address of the API has in common."""

from django.utils.decorators import method_decorator
from django.views.decorators.http import conditional_page
from rest_framework.permissions import SAFE_METHODS
from rest_framework.views import APIView


@method_decorator(conditional_page, name="dispatch")
class Resource(APIView):
    """Names each version of what it shows by an ETag, and answers 304 to who has that version already.

    `limit` says what its requests count as, where it is neither reading nor writing.
    """

    limit = ""
    http_method_names = [name for name in APIView.http_method_names if name not in ("options", "trace")]

    @property
    def throttle_scope(self) -> str:
        return self.limit or ("reading" if self.request.method in SAFE_METHODS else "writing")
