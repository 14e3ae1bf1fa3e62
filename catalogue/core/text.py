"""Which characters may stand in what people write: all printable ones, none that hides or turns text."""

import re

_HIDDEN = (
    "\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f"  # control characters but tab and the ends of lines
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"  # marks that turn the direction of text (Unicode UAX 9)
    "\u2028\u2029\ufeff\ufff9-\ufffb\ufffe\uffff"  # separators, annotations and non-characters
    "\ud800-\udfff"  # halves of surrogate pairs, which no encoding takes
)
_HIDDEN_CHARACTER = re.compile(f"[{_HIDDEN}]")


def hidden_characters(text: str) -> list[str]:
    """The characters in a text that may not stand there, as `U+202E`, each once, in order of first appearance."""
    return [f"U+{ord(character):04X}" for character in dict.fromkeys(_HIDDEN_CHARACTER.findall(text))]
