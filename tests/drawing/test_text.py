"""Text that is drawn hides nothing, fits its room, and is as wide as the font itself says."""

from __future__ import annotations

import json
import struct
import subprocess
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.drawing.dot import Sheet
from catalogue.drawing.text import (
    ASCII_BOLD,
    ASCII_REGULAR,
    LONGEST,
    SIGNS,
    STAND_IN,
    TENTHS,
    fitted,
    harmless,
    quantity,
    width_of,
)
from tests.drawing.documents import NASTY, nasty_texts

BIDIRECTIONAL_CONTROLS = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
ASCII = "".join(map(chr, range(0x20, 0x7F)))
BEYOND_ASCII = "".join(
    chr(first + at)
    for first, digits in TENTHS.items()
    for at in range(len(digits))
    if unicodedata.category(chr(first + at)) not in ("Cn", "Cf")
)


def advance_widths(style: str) -> dict[str, float]:
    """Width of each character of the DejaVu Sans installed here, in parts of the font size.

    Read by the OpenType specification: `head` (unitsPerEm), `hhea`, `hmtx` (advanceWidth), `cmap` format 12.
    """
    found = subprocess.run(
        ["fc-match", "--format=%{file}", f"DejaVu Sans:style={style}"],
        capture_output=True,
        check=True,
        text=True,
    )
    data = Path(found.stdout).read_bytes()
    tables = {
        tag: offset
        for tag, _, offset, _ in (
            struct.unpack_from(">4sIII", data, 12 + 16 * n) for n in range(struct.unpack_from(">H", data, 4)[0])
        )
    }
    units = struct.unpack_from(">H", data, tables[b"head"] + 18)[0]
    measured = struct.unpack_from(">H", data, tables[b"hhea"] + 34)[0]
    widths = [struct.unpack_from(">H", data, tables[b"hmtx"] + 4 * n)[0] / units for n in range(measured)]
    cmap = tables[b"cmap"]
    subtables = (
        cmap + struct.unpack_from(">HHI", data, cmap + 4 + 8 * n)[2]
        for n in range(struct.unpack_from(">H", data, cmap + 2)[0])
    )
    twelve = next(at for at in subtables if struct.unpack_from(">H", data, at)[0] == 12)
    groups = (
        struct.unpack_from(">III", data, twelve + 16 + 12 * n)
        for n in range(struct.unpack_from(">I", data, twelve + 12)[0])
    )
    return {
        chr(code): widths[min(glyph + code - start, measured - 1)]
        for start, finish, glyph in groups
        for code in range(start, finish + 1)
    }


@pytest.mark.parametrize(("style", "table"), [("Book", ASCII_REGULAR), ("Bold", ASCII_BOLD)])
def test_ascii_is_as_wide_as_the_font_says(style: str, table: tuple[int, ...]) -> None:
    font = advance_widths(style)
    for character, thousandths in zip(ASCII, table, strict=True):
        assert 0 <= thousandths / 1000 - font[character] < 0.001


def test_letters_beyond_ascii_are_as_wide_as_the_font_says() -> None:
    font = advance_widths("Book")
    for character in (character for character in BEYOND_ASCII if character in font):
        assert 0 <= width_of(character, 1.0) - font[character] < 0.11, character
    for hundredths, signs in SIGNS.items():
        for sign in signs:
            assert 0 <= hundredths / 100 - font[sign] < 0.02, sign


@pytest.mark.parametrize("bold", [False, True])
def test_texts_come_out_no_wider_than_they_were_measured(bold: bool) -> None:
    # Graphviz's own measure, by Pango and the installed font, is what is put on paper.
    texts = [ASCII, "GND + 5 V, Ω 5.1 kΩ", "Żółć, Größe, čeština", "Питание", "Γείωση", "TXD0− → RXD0+ …"]
    sheet = Sheet("measure")
    for place, text in enumerate(texts):
        sheet.text(0, 20 * place, text, bold=bold)
    drawn = subprocess.run(
        ["neato", "-n2", "-Tjson"], input=sheet.dot(900, 200).encode(), capture_output=True, check=True
    )
    labels = [node["_ldraw_"] for node in json.loads(drawn.stdout)["objects"] if "_ldraw_" in node]
    measured = {op["text"]: op["width"] for label in labels for op in label if op["op"] == "T"}
    assert measured.keys() == set(texts)
    for text, width in measured.items():
        assert 0.75 * width_of(text, 8, bold) <= width <= width_of(text, 8, bold) + 0.5, text


@given(text=nasty_texts())
def test_any_text_becomes_one_line_that_can_be_seen(text: str) -> None:
    shown = harmless(text)
    hidden = {"Cc", "Cs", "Co", "Cn", "Zl", "Zp"}
    assert not any(unicodedata.category(character) in hidden for character in shown)
    assert not any(unicodedata.bidirectional(character) in BIDIRECTIONAL_CONTROLS for character in shown)
    assert len(shown) <= LONGEST
    assert harmless(shown) == shown
    shown.encode()


def test_what_hides_is_shown_as_something_that_does_not() -> None:
    assert harmless("a\x00b\u202ec\ud800d\u200ee") == STAND_IN.join("abcde")
    assert harmless("two\nlines\tand a tab") == "two lines and a tab"
    assert harmless("می‌خواهم") == "می‌خواهم"
    assert harmless("e" + 20 * "\u0301") == "e\u0301\u0301"


@given(text=nasty_texts(), room=st.floats(20, 300), size=st.sampled_from([8.0, 9.0, 14.0]), bold=st.booleans())
def test_a_fitted_text_fits_its_room(text: str, room: float, size: float, bold: bool) -> None:
    short = fitted(text, room, size, bold)
    assert width_of(short, size, bold) <= room
    if short != harmless(text):
        assert short.endswith("…")
        assert harmless(text).startswith(short[:-1])


def test_a_text_that_fits_is_left_alone() -> None:
    assert fitted("GND", 40, 8) == "GND"
    assert fitted(NASTY[0], 40, 8) == '"'


def test_values_are_written_with_a_prefix_that_suits() -> None:
    written = [
        quantity(5100, "Ω"),
        quantity(0.2, "Ω"),
        quantity(1e-7, "F"),
        quantity(4.7e-12, "F"),
        quantity(0, "V"),
    ]
    assert written == ["5.1 kΩ", "200 mΩ", "100 nF", "4.7 pF", "0 pV"]
