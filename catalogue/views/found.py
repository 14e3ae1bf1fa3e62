"""What is not there, or not for this person, becomes the page that says so, with the use case's own words."""

from collections.abc import Callable
from typing import ParamSpec, TypeVar

from django.core.exceptions import PermissionDenied
from django.http import Http404

from catalogue.core.problems import NotAllowed, NotFound, Withdrawn

Arguments = ParamSpec("Arguments")
Value = TypeVar("Value")


class Gone(Http404):
    """It was here, and is not shown any more."""


def or_404(read: Callable[Arguments, Value], *args: Arguments.args, **kwargs: Arguments.kwargs) -> Value:
    """What `read` gives. Raises Http404, Gone or PermissionDenied with the same text where it raises a problem."""
    try:
        return read(*args, **kwargs)
    except NotAllowed as problem:
        raise PermissionDenied(problem.text) from None
    except Withdrawn as problem:
        raise Gone(problem.text) from None
    except NotFound as problem:
        raise Http404(problem.text) from None
