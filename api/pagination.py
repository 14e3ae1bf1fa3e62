"""Lists page by cursor: stable while new rows arrive, and as fast on the last page as on the first."""

from drf_spectacular.utils import OpenApiParameter
from rest_framework.pagination import CursorPagination
from rest_framework.request import Request

from catalogue.core.problems import BadRequest, Defect


class ByNewest(CursorPagination):
    """`?cursor=` as given in `next` and `previous`; `?limit=` rows a page, 20 by default, 100 at most."""

    page_size = 20
    page_size_query_param = "limit"
    max_page_size = 100
    ordering = ("-created_at", "-pk")

    def get_page_size(self, request: Request) -> int:
        asked = request.query_params.get("limit", str(self.page_size))
        if not (asked.isascii() and asked.isdecimal() and len(asked) <= 3 and 1 <= int(asked) <= self.max_page_size):
            defect = Defect("/limit", "not a number of rows", f"Ask for 1 to {self.max_page_size}.")
            raise BadRequest("The page cannot be that long.", (defect,))
        return int(asked)


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
