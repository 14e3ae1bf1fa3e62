"""What an operation of the API does, takes and answers, told beside its view; `api.openapi` makes the document of it.

A shape is a serializer, the name of a schema in `catalogue/exchange/messages.schema.json` (or `MapDocument`), a page or
a list of a shape, or a JSON Schema where it is of one word.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from drf_spectacular.utils import OpenApiParameter
from rest_framework.exceptions import APIException
from rest_framework.serializers import Serializer
from rest_framework.views import APIView

from catalogue.core.problems import Problem

JSON = "application/json"

Handler = TypeVar("Handler", bound=Callable[..., Any])


@dataclass(frozen=True)
class PageOf:
    """One page of a list, with the addresses of the next and the previous one."""

    shape: Shape


@dataclass(frozen=True)
class ResultsOf:
    """A whole list, under `results`."""

    shape: Shape


Shape = type[Serializer] | PageOf | ResultsOf | Mapping[str, Any] | str


@dataclass(frozen=True)
class Link:
    """Another operation that the answer leads to, and where in the answer its parameters or its body are found."""

    operation: str
    parameters: Mapping[str, str]


@dataclass(frozen=True)
class Answer:
    """A good answer. `headers` are names with what they hold; `media_types` are those of a file."""

    text: str
    shape: Shape | None = None
    media_types: Sequence[str] = (JSON,)
    headers: Mapping[str, str] = field(default_factory=dict)
    links: Sequence[Link] = ()


@dataclass(frozen=True)
class Operation:
    """`name` is for programs, `says` for people. `problems` are the errors that its use case raises; what can go
    wrong with any request (who asks, how often, in which media type) is added by `api.openapi`."""

    name: str
    says: str
    answers: Mapping[int, Answer]
    problems: Sequence[type[Problem | APIException]] = ()
    takes: Shape | None = None
    media_type: str = JSON
    example: object = None
    asks: Sequence[OpenApiParameter | type[Serializer]] = ()


def described(operation: Operation) -> Callable[[Handler], Handler]:
    """Tells what a method of a view does."""

    def tell(handler: Handler) -> Handler:
        handler.operation = operation  # type: ignore[attr-defined]
        return handler

    return tell


def described_plainly(operation: Operation) -> Callable[[Handler], Handler]:
    """The same for a plain Django view that is only read from. `cls` is where a view's description is looked for."""

    def tell(view: Handler) -> Handler:
        @described(operation)
        def get(_: object) -> None:
            raise NotImplementedError("The plain view answers.")

        more = {"get": get, "authentication_classes": [], "permission_classes": [], "throttle_classes": []}
        view.cls, view.initkwargs = type(operation.name, (APIView,), more), {}  # type: ignore[attr-defined]
        return view

    return tell
