"""Request bodies that are documents: taken as the bytes sent, because the document reader names places in them."""

from django.core.exceptions import RequestDataTooBig
from rest_framework.exceptions import UnsupportedMediaType
from rest_framework.request import Request

from catalogue.core.problems import TooLarge


def json_body(request: Request) -> bytes:
    """The body of a request that must be `application/json`. Raises UnsupportedMediaType or TooLarge."""
    if request.content_type.partition(";")[0].strip() != "application/json":
        raise UnsupportedMediaType(
            request.content_type, detail="Send the map document as `Content-Type: application/json`."
        )
    try:
        return bytes(request.body)
    except RequestDataTooBig:
        raise TooLarge("The document is larger than 2 MiB. Leave out repeated readings, or split them.") from None
