"""Slips of typing: the word of the catalogue that is nearest to one that no cable has.

All words that cables are described by are kept once each, and looked up by the groups of three letters that they share
with what was typed, as PostgreSQL's manual advises for spelling (F.35, pg_trgm, "Text Search Integration"). Both stores
only find candidates; which of them is meant is decided here, alike for both.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from difflib import get_close_matches

from django.db import connection, connections, router

from catalogue.models import Word

LEAST_LETTERS = 4
MOST_LETTERS = 40
NEARNESS = 0.75
"""Least share of letters in common, as `difflib` counts: one slip in a word of four. Judgement."""

CANDIDATES = 60
"""For each word. More sharing that many groups of letters would be a strange catalogue."""

_WORD = re.compile(rf"[^\W\d_]{{{LEAST_LETTERS},{MOST_LETTERS}}}")


def remember(text: str) -> None:
    """Keep the words of a folded text. Numbers and model names are left out: near is not the same there.

    Words are only added: one that no cable has any more leads to nothing, as it would have without it.
    """
    words = sorted({word for word in text.split() if _WORD.fullmatch(word)})
    Word.objects.bulk_create((Word(word=word) for word in words), ignore_conflicts=True)


def corrected(words: Iterable[str]) -> Mapping[str, str]:
    """For each folded word that nobody uses, the nearest that somebody does; a word without one is left out."""
    typed = sorted({word for word in words if _WORD.fullmatch(word)})
    if not typed:
        return {}
    candidates = _candidates(typed)
    nearest = {word: get_close_matches(word, sorted(candidates[word]), n=1, cutoff=NEARNESS) for word in typed}
    return {word: found[0] for word, found in nearest.items() if found and found[0] != word}


def _candidates(typed: Sequence[str]) -> dict[str, set[str]]:
    """For each word typed, words of the catalogue that share groups of three letters with it. One statement."""
    one, parameters = (_POSTGRESQL, _as_typed) if connection.vendor == "postgresql" else (_SQLITE, _any_group)
    statement = " UNION ALL ".join(f"SELECT * FROM ({one}) AS near_{number}" for number in range(len(typed)))
    found: dict[str, set[str]] = {word: set() for word in typed}
    with connections[router.db_for_read(Word)].cursor() as cursor:
        cursor.execute(statement, [value for word in typed for value in parameters(word)])
        for word, near in cursor.fetchall():
            found[word].add(near)
    return found


# By distance and not by likeness above a threshold: two letters changed over leave a short word few groups in common.
_POSTGRESQL = f"SELECT %s::text, word FROM catalogue_word ORDER BY word <-> %s LIMIT {CANDIDATES}"
_SQLITE = f"SELECT %s, trim(word) FROM catalogue_word_groups WHERE word MATCH %s ORDER BY rank LIMIT {CANDIDATES}"


def _as_typed(word: str) -> tuple[str, ...]:
    return word, word


def _any_group(word: str) -> tuple[str, ...]:
    """FTS5's words for "any of these groups". Spaces at the ends count as letters, as they do for PostgreSQL."""
    padded = f"  {word} "
    groups = dict.fromkeys(padded[at : at + 3] for at in range(1, len(padded) - 2))
    return word, " OR ".join(f'"{group}"' for group in groups)
