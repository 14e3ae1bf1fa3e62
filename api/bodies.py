"""Request bodies that are documents: taken as the bytes sent, because the document reader names places in them."""

from django.core.exceptions import RequestDataTooBig
from rest_framework.exceptions import UnsupportedMediaType
from rest_framework.request import Request

from catalogue.core.problems import TooLarge


def json_body(request: Request) -> bytes:
    """The body of a request that must be `application/json`. Raises UnsupportedMediaType or TooLarge."""
    return body_of_type(request, "application/json")


def body_of_type(request: Request, media_type: str) -> bytes:
    """The body of a request that must be of this type. Raises UnsupportedMediaType or TooLarge."""
    if request.content_type.partition(";")[0].strip() != media_type:
        raise UnsupportedMediaType(request.content_type, detail=f"Send this as `Content-Type: {media_type}`.")
    try:
        return bytes(request.body)
    except RequestDataTooBig:
        raise TooLarge("The document is larger than 2 MiB. Leave out repeated readings, or split them.") from None
