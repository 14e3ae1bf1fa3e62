"""The feed of new maps: what RFC 4287 requires of an Atom feed, and nothing that is withdrawn."""

from datetime import datetime
from xml.etree import ElementTree

import pytest

from catalogue.core.reviewing import Standing
from tests.exported import decided, made_catalogue, submitted

pytestmark = pytest.mark.django_db

ATOM = "{http://www.w3.org/2005/Atom}"


def feed(client):
    response = client.get("/maps.atom")
    assert response.status_code == 200
    assert response["Content-Type"] == "application/atom+xml; charset=utf-8"
    return ElementTree.fromstring(response.content)


def texts(element, name):
    return [found.text for found in element.findall(f"{ATOM}{name}")]


def ids(client):
    return [texts(entry, "id")[0] for entry in feed(client).findall(f"{ATOM}entry")]


def test_the_feed_has_what_rfc_4287_requires(client):
    """Sections 4.1.1 and 4.1.2: exactly one id, title and updated; an author; a link to itself, and to a page."""
    made_catalogue()
    root = feed(client)
    entries = root.findall(f"{ATOM}entry")
    assert root.tag == f"{ATOM}feed"
    assert len(entries) == 3
    for element in (root, *entries):
        for name in ("id", "title", "updated"):
            (text,) = texts(element, name)
            assert text
        assert texts(element, "id")[0].startswith("urn:uuid:")
        assert datetime.fromisoformat(texts(element, "updated")[0]).tzinfo
        (author,) = element.findall(f"{ATOM}author")
        assert texts(author, "name")[0]
        alternate = [link for link in element.findall(f"{ATOM}link") if link.get("rel", "alternate") == "alternate"]
        assert [link.get("href").startswith("http://") for link in alternate] == [True]
    assert [link.get("href") for link in root.findall(f"{ATOM}link") if link.get("rel") == "self"] == [
        "http://testserver/maps.atom"
    ]
    assert len(set(ids(client))) == 3
    for entry in entries:
        (summary,) = entry.findall(f"{ATOM}summary")
        assert summary.get("type") == "html"
        assert "A map is a claim" in summary.text


def test_an_entry_leads_to_its_map_and_names_its_author(client):
    row = submitted("mira")
    (entry,) = feed(client).findall(f"{ATOM}entry")
    assert texts(entry.find(f"{ATOM}author"), "name") == ["mira"]
    address = entry.find(f"{ATOM}link").get("href")
    assert str(row.cable) in client.get(address).content.decode().replace("&amp;", "&")


def test_ids_stay_and_the_newest_comes_first(client):
    made_catalogue()
    before = ids(client)
    submitted(cable={"maker": "Quillon (invented)", "model": "Sight lead 3"})
    assert ids(client)[1:] == before


def test_what_is_withdrawn_is_not_in_it(client):
    first = made_catalogue()
    before = ids(client)
    decided(first, Standing.WITHDRAWN)
    assert len(ids(client)) == 2
    decided(first, Standing.APPROVED)
    assert ids(client) == before


def test_text_of_people_stays_text(client):
    submitted(cable={"maker": "<b>\"'>&amp;</b>", "model": "M & 1", "summary": "<script>alert(1)</script>"})
    (entry,) = feed(client).findall(f"{ATOM}entry")
    assert texts(entry, "title") == ["<b>\"'>&amp;</b> M & 1, map revision 1"]
    assert "&lt;script&gt;" in texts(entry, "summary")[0]


def test_an_empty_site_has_a_feed_without_entries(client):
    assert feed(client).findall(f"{ATOM}entry") == []


def test_every_page_tells_feed_readers_where_it_is(client):
    assert '<link rel="alternate" href="/maps.atom" type="application/atom+xml"' in client.get("/").content.decode()


def test_the_list_takes_a_fixed_number_of_statements(client, django_assert_num_queries):
    made_catalogue()
    with django_assert_num_queries(1):
        feed(client)
