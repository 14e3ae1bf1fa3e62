"""The feed of new maps for feed readers (Atom, RFC 4287)."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from django.contrib.syndication.views import Feed
from django.http import HttpRequest
from django.urls import reverse
from django.utils.feedgenerator import Atom1Feed

from catalogue.usecases.maps import newest_maps

LISTED = 30


class NewMaps(Feed):  # type: ignore[type-arg]  # it takes none when it runs
    """The newest maps that are shown. An entry's id is made of the document's hash: it is the same on every mirror."""

    feed_type = Atom1Feed
    title = "Corelore: new maps"
    subtitle = "How device cables are wired inside, as people read them."
    author_name = "The contributors of Corelore"
    feed_copyright = "CC0 1.0"
    description_template = "feeds/map.html"

    def get_object(self, request: HttpRequest) -> str:
        return request.build_absolute_uri(reverse("maps-feed"))

    def link(self) -> str:
        return reverse("search")

    def feed_guid(self, address: str) -> str:
        return uuid5(NAMESPACE_URL, address).urn

    def items(self) -> Iterable[Any]:
        return newest_maps().select_related("author")[:LISTED]

    def item_title(self, item: Any) -> str:
        return f"{item.cable}, map revision {item.number}"

    def item_link(self, item: Any) -> str:
        return reverse("map", args=[item.cable.slug, item.number])

    def item_guid(self, item: Any) -> str:
        return uuid5(NAMESPACE_URL, f"urn:corelore:map:{item.content_hash}").urn

    def item_pubdate(self, item: Any) -> datetime:
        return item.created_at  # type: ignore[no-any-return]  # views know no rows

    def item_updateddate(self, item: Any) -> datetime:
        return item.created_at  # type: ignore[no-any-return]  # views know no rows

    def item_author_name(self, item: Any) -> str:
        return item.by or "Somebody without an account"
