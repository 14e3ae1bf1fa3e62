"""What is not there becomes the page that says so, with the use case's own words."""

from collections.abc import Callable
from typing import ParamSpec, TypeVar

from django.http import Http404

from catalogue.core.problems import NotFound

Arguments = ParamSpec("Arguments")
Value = TypeVar("Value")


def or_404(read: Callable[Arguments, Value], *args: Arguments.args, **kwargs: Arguments.kwargs) -> Value:
    """What `read` gives. Raises Http404 with the same text where `read` raises NotFound."""
    try:
        return read(*args, **kwargs)
    except NotFound as problem:
        raise Http404(problem.text) from None
