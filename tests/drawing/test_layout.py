"""Whatever the map, a drawing is legible: nothing over anything else, all on the page, nothing left out."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.document import MapDocument
from catalogue.drawing.contacts import contacts_of
from catalogue.drawing.face import face_chart
from catalogue.drawing.rail import rail_chart
from catalogue.drawing.rails import rails_of
from catalogue.tables import reference
from tests.drawing.documents import TITLE, documents, reports, split_cable, straight, usb
from tests.drawing.reading_dot import Drawing, Node, read_dot

EXAMPLES = 40
"""Whole documents are slow to draw by chance; as many as a few seconds allow."""


def overlapping(drawing: Drawing) -> list[tuple[str, str]]:
    """Pairs of texts of which one covers part of the other."""
    texts = sorted(drawing.texts, key=lambda node: node.top)
    return [
        (a.words, b.words)
        for place, a in enumerate(texts)
        for b in texts[place + 1 :]
        if b.top < a.bottom and a.covers(b)
    ]


def off_the_page(drawing: Drawing) -> list[Node]:
    paper = drawing.paper
    return [
        node
        for node in drawing.nodes
        if node.left < -0.5 or node.top < -0.5 or node.right > paper.right + 0.5 or node.bottom > paper.bottom + 0.5
    ]


def drawn_contacts(drawing: Drawing) -> Counter[int]:
    return Counter(
        int(name.removeprefix("contact-"))
        for node in drawing.nodes
        for name in node.classes
        if name.startswith("contact-")
    )


@settings(max_examples=EXAMPLES)
@given(data=st.data())
def test_a_rail_chart_is_legible_whatever_the_map(data: st.DataObject) -> None:
    document = data.draw(documents())
    drawing = read_dot(rail_chart(document, reference(), TITLE, data.draw(reports(document))))
    assert overlapping(drawing) == []
    assert off_the_page(drawing) == []


@settings(max_examples=EXAMPLES)
@given(document=documents(), mirrored=st.booleans())
def test_a_face_chart_is_legible_whatever_the_map(document: MapDocument, mirrored: bool) -> None:
    drawing = read_dot(face_chart(document, reference(), TITLE, mirrored))
    assert overlapping(drawing) == []
    assert off_the_page(drawing) == []


@settings(max_examples=EXAMPLES)
@given(document=documents())
def test_a_rail_chart_shows_each_contact_once_on_each_rail_it_is_on(document: MapDocument) -> None:
    contacts = contacts_of(document, reference())
    expected: Counter[int] = Counter()
    for rail in rails_of(document):
        expected.update(
            contacts.number[contact]
            for group in rail.contacts.values()
            for contact in group
            if contact in contacts.number
        )
    for number in contacts.number.values():
        expected[number] = max(expected[number], 1)
    assert drawn_contacts(read_dot(rail_chart(document, reference(), TITLE))) == expected


@settings(max_examples=EXAMPLES)
@given(document=documents())
def test_a_face_chart_shows_each_contact_once(document: MapDocument) -> None:
    expected = Counter(contacts_of(document, reference()).number.values())
    assert drawn_contacts(read_dot(face_chart(document, reference(), TITLE))) == expected


@settings(max_examples=EXAMPLES)
@given(document=documents())
def test_no_two_things_of_a_drawing_share_an_id(document: MapDocument) -> None:
    for dot in (rail_chart(document, reference(), TITLE), face_chart(document, reference(), TITLE)):
        ids = [node.attributes["id"] for node in read_dot(dot).nodes if "id" in node.attributes]
        assert len(ids) == len(set(ids))


@pytest.mark.parametrize("document", [usb(), split_cable(), straight(66), straight(200)])
def test_nothing_is_written_smaller_than_eight_points(document: MapDocument) -> None:
    for dot in (rail_chart(document, reference(), TITLE), face_chart(document, reference(), TITLE)):
        sizes = [float(node.attributes.get("fontsize", 8)) for node in read_dot(dot).texts]
        assert min(sizes) >= 8
