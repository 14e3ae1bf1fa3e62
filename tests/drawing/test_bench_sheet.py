"""What a person at a bench finds on the printed sheet."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings

from catalogue.core.document import CoreKind, End, MapDocument
from catalogue.core.still_to_read import Purpose, StillToRead, ToRead, still_to_read
from catalogue.drawing.bench_sheet import EDGE, HEIGHT, MOST_PAGES, WIDTH, bench_sheet
from catalogue.drawing.render import Format, render
from catalogue.tables import reference
from tests.drawing.documents import CABLE, TITLE, documents, split_cable, straight, usb
from tests.drawing.reading_dot import Drawing, read_dot
from tests.drawing.test_layout import EXAMPLES, off_the_page, overlapping


def pages(document: MapDocument, asked: StillToRead | None = None) -> list[Drawing]:
    asked = asked or still_to_read(document, reference())
    return [read_dot(dot) for dot in bench_sheet(document, reference(), TITLE, asked)]


def words_of(drawn: list[Drawing]) -> str:
    return "\n".join(words for page in drawn for words in page.words)


def many(count: int) -> StillToRead:
    return StillToRead(Purpose.PROVE, tuple(ToRead(f"A:{n}", (f"B:{n}",), f"N{n}") for n in range(count)))


def test_cautions_faces_and_key_come_before_the_readings() -> None:
    words = words_of(pages(replace(usb(), readings=())))
    order = ["Before you begin", "Unplug both ends", "looking into the mating face", "Key", "Should read joined"]
    places = [words.index(each) for each in order]
    assert places == sorted(places)
    for end in usb().ends:
        assert end.name in words


def test_every_reading_stands_once_with_a_box_for_it() -> None:
    asked = still_to_read(replace(usb(), readings=()), reference())
    drawn = pages(usb(), asked)
    assert len(asked.to_read) > 3
    for number, act in enumerate(asked.to_read, start=1):
        (row,) = [(page, node) for page in drawn for node in page.texts if node.words == str(number) and node.left < 60]
        page, node = row
        beside = [other for other in page.nodes if abs(other.top + other.bottom - node.top - node.bottom) < 3]
        texts = {other.words for other in beside}
        assert act.red in texts
        assert any(words.startswith(act.black[0]) for words in texts)
        boxes = [other for other in beside if not other.words and other.bottom - other.top > 8]
        assert len(boxes) == 2
        if act.net:
            assert act.net in texts


def test_a_sweep_names_the_run_that_the_probe_is_dragged_along() -> None:
    act = ToRead("A:1", ("B:1", "B:2", "B:3"), "")
    words = words_of(pages(straight(4), StillToRead(Purpose.PROVE, (act,))))
    assert "B:1 … 3, 3 in one sweep" in words


def test_every_page_is_a4_and_says_which_it_is() -> None:
    drawn = pages(straight(4), many(70))
    assert len(drawn) > 2
    for number, page in enumerate(drawn, start=1):
        assert (round(page.paper.right, 1), round(page.paper.bottom, 1)) == (round(WIDTH, 1), round(HEIGHT, 1))
        assert any(f"page {number} of {len(drawn)}" in words for words in page.words)
        assert any(words.startswith("Should read joined") for words in page.words)


def test_what_goes_beyond_the_last_page_is_counted() -> None:
    drawn = pages(straight(4), many(1000))
    assert len(drawn) == MOST_PAGES
    told = words_of(drawn)
    numbers = [int(words) for words in told.splitlines() if words.isdecimal() and int(words) <= 1000]
    left = re.search(r"(\d+) more readings are left", told)
    assert left is not None
    assert max(numbers) + int(left[1]) == 1000


def test_nothing_left_to_prove_becomes_a_sheet_to_confirm_with() -> None:
    asked = StillToRead(Purpose.CONFIRM, (ToRead("A:1", ("B:1",), "N"),))
    assert "This map lacks no reading." in words_of(pages(straight(4), asked))
    assert "This map lacks no reading." not in words_of(pages(straight(4), many(1)))


def test_fibre_brings_its_cautions() -> None:
    assert "never look into a fibre end" not in words_of(pages(usb()))
    cores = (replace(usb().cores[0], kind=CoreKind.FIBRE), *usb().cores[1:])
    assert "never look into a fibre end" in words_of(pages(replace(usb(), cores=cores)))


def test_a_face_too_large_for_paper_is_named_and_left_to_the_face_chart() -> None:
    wide = MapDocument(CABLE, (End("WIDE", "custom", rows=(tuple(map(str, range(100))),)),))
    assert "The face of WIDE is too large for this page: take the face chart." in words_of(pages(wide))


@settings(max_examples=EXAMPLES)
@given(documents())
def test_the_sheet_is_legible_whatever_the_map(document: MapDocument) -> None:
    for page in pages(document):
        assert overlapping(page) == []
        assert off_the_page(page) == []
        assert all(node.left >= EDGE - 12 and node.right <= WIDTH - EDGE + 12 for node in page.texts)


def test_the_same_map_gives_the_same_bytes() -> None:
    asked = still_to_read(split_cable(), reference())
    assert bench_sheet(split_cable(), reference(), TITLE, asked) == bench_sheet(
        split_cable(), reference(), TITLE, asked
    )


@pytest.mark.parametrize("form", [Format.SVG, Format.PDF])
def test_graphviz_draws_it(form: Format) -> None:
    for dot in bench_sheet(usb(), reference(), TITLE, still_to_read(usb(), reference())):
        drawn = render(dot, form)
        assert drawn
        if form is Format.PDF:
            assert b"/MediaBox [ 0 0 595 842 ]" in drawn
