"""Lists page by cursor: stable while new rows arrive, and as fast on the last page as on the first."""

from datetime import UTC, datetime

from drf_spectacular.utils import OpenApiParameter
from rest_framework import exceptions
from rest_framework.pagination import Cursor, CursorPagination
from rest_framework.request import Request

from catalogue.core.problems import BadRequest, Defect, NotFound


class ByNewest(CursorPagination):
    """`?cursor=` as given in `next` and `previous`; `?limit=` rows a page, 20 by default, 100 at most."""

    page_size = 20
    page_size_query_param = "limit"
    max_page_size = 100
    ordering = ("-created_at", "-pk")

    def decode_cursor(self, request: Request) -> Cursor | None:
        """Raises NotFound for a cursor that was not given by this site."""
        try:
            cursor: Cursor | None = super().decode_cursor(request)
            if cursor and cursor.position is not None:
                return cursor._replace(position=_moment(str(cursor.position)))  # type: ignore[arg-type]  # it is text
        except (ValueError, OverflowError, exceptions.NotFound):
            text = "There is no page at this cursor. Take one from next or previous, or begin anew without."
            raise NotFound(text, (Defect("/cursor", "not a cursor", "Leave it out."),)) from None
        return cursor

    def get_page_size(self, request: Request) -> int:
        asked = request.query_params.get("limit", str(self.page_size))
        if not (asked.isascii() and asked.isdecimal() and len(asked) <= 3 and 1 <= int(asked) <= self.max_page_size):
            defect = Defect("/limit", "not a number of rows", f"Ask for 1 to {self.max_page_size}.")
            raise BadRequest("The page cannot be that long.", (defect,))
        return int(asked)


def _moment(position: str) -> str:
    """The time that a page begins at, in UTC. Raises ValueError or OverflowError for what is none."""
    at = datetime.fromisoformat(position)
    if at.tzinfo is None:
        raise ValueError(position)
    return str(at.astimezone(UTC))


class ByLastChange(ByNewest):
    ordering = ("-changed_at", "-pk")


PAGING = (
    OpenApiParameter("cursor", str, description="Where the page begins, as in `next` and `previous`."),
    OpenApiParameter(
        "limit",
        {"type": "integer", "minimum": 1, "maximum": ByNewest.max_page_size, "default": ByNewest.page_size},
        description="Rows on a page.",
    ),
)
