"""Lists page by cursor: stable while new rows arrive, and as fast on the last page as on the first."""

from rest_framework.pagination import CursorPagination


class ByNewest(CursorPagination):
    """`?cursor=` as given in `next` and `previous`; `?limit=` rows a page, 20 by default, 100 at most."""

    page_size = 20
    page_size_query_param = "limit"
    max_page_size = 100
    ordering = ("-created_at", "-pk")


class ByLastChange(ByNewest):
    ordering = ("-changed_at", "-pk")
