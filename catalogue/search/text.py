"""Text as it is searched: folded, so that capitals, accents and punctuation make no difference."""

import re
import unicodedata
from collections.abc import Iterable, Iterator


def fold(text: str) -> str:
    """Lower case, no accents, words parted by single spaces: `Näher-Werk  DX/2` is `naher werk dx 2`."""
    decomposed = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    plain = "".join(character for character in decomposed if not unicodedata.combining(character))
    return " ".join(re.findall(r"[\w+]+", plain))


def forms(token: str) -> tuple[str, ...]:
    """The ways in which one word without spaces may stand in a text: `PL-2` as `pl 2` and `pl2`, `PL2` also as `pl 2`.

    Empty when nothing of the word is searched.
    """
    folded = fold(token)
    joined = folded.replace(" ", "")
    parted = " ".join(re.findall(r"\d+|[^\d]+", joined))
    return tuple(dict.fromkeys(form for form in (folded, joined, parted) if form))


def searchable(texts: Iterable[str], loose: Iterable[str] = ()) -> str:
    """One text to search in: each of the texts folded, once, with its hyphened words also joined.

    Of the `loose` texts only words that are nowhere else come along, so that a hundred reports in the same words
    take the room of one.
    """
    kept = " ".join(dict.fromkeys(form for text in texts for form in _written(text)))
    known = set(kept.split())
    added = dict.fromkeys(word for text in loose for word in fold(text).split() if word not in known)
    return " ".join(filter(None, (kept, *added)))


def _written(text: str) -> Iterator[str]:
    yield fold(text)
    for token in text.split():
        folded = fold(token)
        if " " in folded:
            yield folded.replace(" ", "")
