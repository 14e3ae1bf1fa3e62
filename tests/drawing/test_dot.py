"""Nothing that a person writes gets out of its quotes: it ends as text in the DOT and in the picture."""

from __future__ import annotations

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.still_to_read import still_to_read
from catalogue.drawing.bench_sheet import bench_sheet
from catalogue.drawing.dot import Align, Handle, Shape, Sheet
from catalogue.drawing.face import face_chart
from catalogue.drawing.rail import rail_chart
from catalogue.drawing.render import Format, inline_svg, render
from catalogue.drawing.text import harmless
from catalogue.drawing.title import ReportCount, TitleBlock
from catalogue.tables import reference
from tests.drawing.documents import NASTY, documents, nasty_texts
from tests.drawing.reading_dot import read_dot, svg_texts

WRITTEN = {
    *(
        "bgcolor",
        "margin",
        "pad",
        "outputorder",
        "charset",
        "shape",
        "fixedsize",
        "label",
        "fontname",
        "fontsize",
    ),
    *(
        "fontcolor",
        "color",
        "penwidth",
        "arrowhead",
        "pos",
        "width",
        "height",
        "style",
        "fillcolor",
        "class",
        "id",
    ),
}
"""Every attribute a drawing may have: none names a file, an address or a hint."""


def sheet_of(texts: list[str]) -> Sheet:
    sheet = Sheet("test")
    for place, text in enumerate(texts):
        sheet.text(0, 20 * place, text, align=list(Align)[place % 3])
        sheet.box(300, 20 * place, 600, 20 * place + 12, words=text, edge="#000000", handle=Handle("plain"))
    return sheet


@given(texts=st.lists(nasty_texts(), max_size=8))
def test_text_stays_inside_its_quotes(texts: list[str]) -> None:
    drawing = read_dot(sheet_of(texts).dot(700, 400))
    assert drawing.words == [harmless(text) for text in texts for _ in range(2) if text]
    assert drawing.attribute_names <= WRITTEN


@given(texts=st.lists(nasty_texts(), min_size=1, max_size=20))
@settings(max_examples=15)
def test_graphviz_draws_text_as_it_was_written(texts: list[str]) -> None:
    svg = render(sheet_of([*texts, *NASTY]).dot(700, 400), Format.SVG)
    expected = [harmless(text) for text in (*texts, *NASTY) for _ in range(2)]
    # Graphviz writes nothing for spaces alone, and of several spaces in a row all but one as no-break spaces, so that
    # a browser does not draw them as one. No text holds such a space by itself: `harmless` makes it a plain one.
    drawn = [text.replace("\N{NO-BREAK SPACE}", " ") for text in svg_texts(svg)]
    assert [text for text in drawn if text.strip()] == [text for text in expected if text.strip()]


@given(data=st.data())
@settings(max_examples=30)
def test_hostile_names_stay_inside_their_quotes_in_every_drawing(data: st.DataObject) -> None:
    document = data.draw(documents(nasty_texts()))
    title = TitleBlock(*data.draw(st.tuples(nasty_texts(), nasty_texts(), nasty_texts())))
    reports = [ReportCount(document.place_names[0], None, 3)]
    for dot in (
        rail_chart(document, reference(), title, reports),
        face_chart(document, reference(), title),
        *bench_sheet(document, reference(), title, still_to_read(document, reference())),
    ):
        assert read_dot(dot).attribute_names <= WRITTEN
        for node in read_dot(dot).nodes:
            assert re.fullmatch(r"[\w \-]*", node.attributes.get("class", ""))
            assert re.fullmatch(r"[\w\-]*", node.attributes.get("id", ""))


@given(data=st.data())
@settings(max_examples=10)
def test_hostile_names_end_as_text_in_the_picture(data: st.DataObject) -> None:
    document = data.draw(documents(nasty_texts()))
    title = TitleBlock('"]; <script>alert(1)</script>', data.draw(nasty_texts()), "2024-05-01")
    for dot in (
        rail_chart(document, reference(), title),
        face_chart(document, reference(), title),
        *bench_sheet(document, reference(), title, still_to_read(document, reference())),
    ):
        svg = render(dot, Format.SVG)
        for picture in (svg.decode(), inline_svg(svg)):
            assert not re.search(r"<(a|script|image|use|style|foreignObject)\b", picture)
            assert not re.search(r"<[^>]*\s(on\w+|href|xlink:href|style)\s*=", picture)
        assert any(text.startswith('"]; <script>') for text in svg_texts(svg))


def test_shapes_are_drawn_in_the_order_they_were_put_down() -> None:
    sheet = Sheet("order")
    sheet.box(0, 0, 10, 10, fill="#ff0000")
    sheet.line(((0, 5), (10, 5)), ink="#00ff00")
    sheet.box(2, 2, 8, 8, fill="#0000ff", shape=Shape.OVAL)
    svg = render(sheet.dot(20, 20), Format.SVG).decode()
    assert svg.index("#ff0000") < svg.index("#00ff00") < svg.index("#0000ff")


def test_a_sheet_is_as_large_as_its_paper_and_measured_from_the_top_left() -> None:
    sheet = Sheet("size")
    sheet.box(10, 20, 40, 60, edge="#000000")
    svg = render(sheet.dot(200, 100), Format.SVG).decode()
    assert 'viewBox="0.00 0.00 200.00 100.00"' in svg
    # The group is moved down by the height of the paper, so 20 below its top is -80 from its bottom.
    assert 'points="40,-80 10,-80 10,-40 40,-40 40,-80"' in svg
