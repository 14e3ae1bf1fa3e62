"""Text as it is searched: folded, so that capitals, accents and punctuation make no difference."""

import re
import unicodedata


def fold(text: str) -> str:
    """Lower case, no accents, words parted by single spaces: `Näher-Werk  DX/2` is `naher werk dx 2`."""
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(character for character in decomposed if not unicodedata.combining(character))
    return " ".join(re.findall(r"[\w+]+", plain))
