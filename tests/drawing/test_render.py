"""A drawing comes out in every format, within limits and safe for a page, or a sentence says why not."""

from __future__ import annotations

import re
import shutil
import struct
from pathlib import Path
from xml.etree import ElementTree

import pytest

from catalogue.core.problems import DrawingUnavailable
from catalogue.drawing import render as rendering
from catalogue.drawing.rail import rail_chart
from catalogue.drawing.render import DOTS_PER_INCH, Format, inline_svg, is_available, render
from catalogue.tables import reference
from tests.drawing.documents import TITLE, split_cable, usb
from tests.drawing.reading_dot import read_dot, svg_texts

DOT = rail_chart(usb(), reference(), TITLE)


def program(folder: Path, body: str) -> str:
    """A folder to search for programs, with a `neato` in it that does as told."""
    script = folder / "neato"
    script.write_text(f"#!/bin/sh\n{body}\n")
    script.chmod(0o755)
    return str(folder)


def test_a_person_downloads_a_drawing_in_each_format() -> None:
    # File signatures: PNG (ISO/IEC 15948, 5.2), PDF (ISO 32000-1, 7.5.2).
    assert render(DOT, Format.PNG).startswith(b"\x89PNG\r\n\x1a\n")
    assert render(DOT, Format.PDF).startswith(b"%PDF-")
    assert b"<svg" in render(DOT, Format.SVG)
    assert render(DOT, Format.DOT) == DOT.encode()


def test_each_format_has_its_media_type() -> None:
    assert {form: form.media_type for form in Format} == {
        Format.SVG: "image/svg+xml",
        Format.PNG: "image/png",
        Format.PDF: "application/pdf",
        Format.DOT: "text/vnd.graphviz; charset=utf-8",
    }


def test_the_page_of_a_pdf_and_the_pixels_of_a_png_are_the_drawing() -> None:
    paper = read_dot(DOT).paper
    width, height = paper.right - paper.left, paper.bottom - paper.top
    box = re.search(rb"/MediaBox \[ 0 0 (\d+) (\d+) \]", render(DOT, Format.PDF))
    assert box is not None
    assert abs(int(box[1]) - width) <= 1
    assert abs(int(box[2]) - height) <= 1
    pixels = struct.unpack(">II", render(DOT, Format.PNG)[16:24])
    assert [
        round(side * 72 / DOTS_PER_INCH - points) for side, points in zip(pixels, (width, height), strict=True)
    ] == [0, 0]


def test_the_svg_shows_no_hints_and_bold_words_in_bold() -> None:
    svg = render(DOT, Format.SVG)
    assert b"<title>" not in svg
    root = ElementTree.fromstring(svg)
    bold = {element.text for element in root.iter() if element.get("font-weight") == "bold"}
    assert {TITLE.name, "VBUS", "GND"} <= bold
    assert {element.get("font-family") for element in root.iter("{http://www.w3.org/2000/svg}text")} == {
        "DejaVu Sans,Verdana,sans-serif"
    }


def test_an_inlined_drawing_scales_and_keeps_the_handles_of_contacts() -> None:
    root = ElementTree.fromstring(inline_svg(render(DOT, Format.SVG)))
    assert root.get("width") == "100%"
    assert root.get("height") is None
    assert root.get("viewBox") is not None
    ids = {element.get("id") for element in root.iter() if element.get("id")}
    assert ids == {f"rail-contact-{number}" for number in range(10)}
    assert any("contact-9" in (element.get("class") or "").split() for element in root.iter())


def test_an_inlined_drawing_reads_as_the_file_does() -> None:
    svg = render(rail_chart(split_cable(), reference(), TITLE), Format.SVG)
    assert svg_texts(inline_svg(svg).encode()) == svg_texts(svg)


def test_nothing_that_runs_or_loads_gets_into_a_page() -> None:
    hostile = (
        b'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" onload="a()">'
        b'<script>a()</script><g id="node1" style="x" onclick="a()"><a xlink:href="javascript:a()">'
        b'<text>hidden</text></a><image xlink:href="http://x.invalid/"/><foreignObject/><use href="#a"/>'
        b'<text x="1" id="rail-contact-1" fill="url(//x.invalid)">kept</text>'
        b'<set attributeName="onclick"/></g></svg>'
    )
    inlined = inline_svg(hostile)
    root = ElementTree.fromstring(inlined)
    assert [element.tag.split("}")[1] for element in root.iter()] == ["svg", "g", "text"]
    assert re.findall(r'([\w:]+)="', inlined) == ["xmlns", "width", "role", "x", "id"]


def test_a_damaged_svg_is_refused() -> None:
    with pytest.raises(DrawingUnavailable, match="damaged"):
        inline_svg(b"<svg><g></svg>")


def test_without_graphviz_a_sentence_says_what_is_missing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert is_available()
    monkeypatch.setenv("PATH", str(tmp_path))
    assert not is_available()
    with pytest.raises(DrawingUnavailable, match="Graphviz is not installed") as caught:
        render(DOT, Format.SVG)
    assert "The map itself is fine" in caught.value.text
    assert render(DOT, Format.DOT) == DOT.encode()


def test_a_drawing_that_takes_too_long_is_stopped(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", program(tmp_path, "exec /bin/sleep 60"))
    with pytest.raises(DrawingUnavailable, match=r"over 0\.2 seconds and was stopped"):
        render(DOT, Format.SVG, timeout_s=0.2)


def test_a_drawing_that_fails_says_so() -> None:
    with pytest.raises(DrawingUnavailable, match="could not draw"):
        render("digraph { this is not DOT", Format.SVG)


def test_graphviz_may_not_fill_the_disk_or_the_memory(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(rendering, "OUTPUT_BYTES", 1000)
    with pytest.raises(DrawingUnavailable, match="could not draw"):
        render(DOT, Format.SVG)
    monkeypatch.undo()
    monkeypatch.setattr(rendering, "MEMORY_BYTES", 1 << 20)
    with pytest.raises(DrawingUnavailable, match="could not draw"):
        render(DOT, Format.SVG)


def test_graphviz_sees_no_more_of_the_environment_than_it_needs(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    env = shutil.which("env")
    monkeypatch.setenv("SECRET_KEY", "do not tell")
    monkeypatch.setenv(
        "PATH", program(tmp_path, f"cat >/dev/null; exec {env}".replace("cat", shutil.which("cat") or ""))
    )
    told = {line.partition("=")[0] for line in render(DOT, Format.PNG).decode().splitlines()}
    assert told - {"PWD", "_", "SHLVL"} == {"PATH", "LANG", "SERVER_NAME", "GV_FILE_PATH"}


def test_graphviz_reads_no_file_even_when_the_dot_asks_for_one(tmp_path: Path) -> None:
    picture = tmp_path / "secret.png"
    picture.write_bytes(render('digraph g { a [pos="0,0"] }', Format.PNG))
    asking = f'digraph g {{ a [pos="0,0" shape=none label="" image="{picture}"] }}'
    assert b"<image" not in render(asking, Format.SVG)
