"""Which characters may stand in what people write."""

import json
import re

from catalogue.core.text import hidden_characters
from catalogue.exchange.documents import schema_text


def test_notes_of_maps_and_of_reports_refuse_the_same_characters():
    """A map's notes have one line end only; a report's come from a browser's text field, which sends two."""
    pattern = re.compile(json.loads(schema_text())["$defs"]["note"]["pattern"])
    for code in range(0x10000):
        if not 0xD800 <= code <= 0xDFFF and chr(code) not in "\t\r":
            assert bool(pattern.search(chr(code))) is not bool(hidden_characters(chr(code))), hex(code)


def test_each_hidden_character_is_named_once_in_order():
    assert hidden_characters("a\u202eb\u0000c\u202ed\ud800") == ["U+202E", "U+0000", "U+D800"]
    assert hidden_characters("two lines\r\nand a\ttab, 電線 Ω") == []
