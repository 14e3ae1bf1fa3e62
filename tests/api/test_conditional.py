"""Who has something already is not sent it again."""

import pytest

from api.openapi import document
from tests.samples import usb_map

pytestmark = pytest.mark.django_db

READ = sorted(path for path, methods in document()["paths"].items() if "get" in methods)


@pytest.mark.parametrize("path", READ)
def test_what_is_unchanged_is_not_sent_twice(contributor, stored, path):
    draft_id = contributor.send("drafts/", b"{}").json()["id"]
    names = {"map_id": stored["id"], "slug": stored["cable"], "draft_id": draft_id, "chart": "face", "form": "dot"}
    if "{other_id}" in path:
        names["other_id"] = contributor.send("maps/", usb_map(meter={"lead_ohms": 0.3})).json()["id"]
    address = "/api/v1" + path.format(**names)
    first = contributor.get(address)
    again = contributor.get(address, headers={"If-None-Match": first["ETag"]})
    assert (first.status_code, again.status_code, again.content) == (200, 304, b"")
    anew = contributor.get(address, headers={"If-None-Match": '"another"'})
    assert anew.status_code == 200
    assert whole(anew) == whole(first)


def whole(response):
    return response.getvalue()


@pytest.mark.parametrize("path", ["maps/", "cables/", "cables/orrin-vale-invented-plotter-lead-pl-2/"])
def test_what_changed_is_sent(visitor, contributor, stored, path):
    tag = visitor.fetch(path)["ETag"]
    contributor.send("maps/", usb_map(meter={"lead_ohms": 0.3}))
    assert visitor.fetch(path, headers={"If-None-Match": tag}).status_code == 200


def test_an_error_is_never_unchanged(visitor, db):
    tag = visitor.fetch("maps/999/").headers.get("ETag", '"any"')
    assert visitor.fetch("maps/999/", headers={"If-None-Match": tag}).status_code == 404
