"""The rows of a face as people write them: how many contacts are in each (`12 12`), or their names (`A1 A2 / B1 _ B3`).

The bench reads them in the browser by the same rule (`rowsFrom` in static/corelore/bench/contacts.js).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from itertools import count

FREE_SEAT = "_"
MOST_ROWS, LONGEST_ROW = 64, 200
LONGEST_CONTACT = 12

Rows = tuple[tuple[str, ...], ...]
"""Contacts by row, top row first, from left to right; a free seat is an empty name."""


def rows_from(text: str) -> Rows:
    """The rows that a text tells. Numbers alone, without a slash, are counts; their contacts are numbered from 1.

    Raises ValueError, which says what to write.

    >>> rows_from("2 1")
    (('1', '2'), ('3',))
    >>> rows_from("A1 _ / B1")
    (('A1', ''), ('B1',))
    """
    words = _words(text)
    if _are_counts(words) and not re.search(r"[/\n]", text.strip()):
        return _counted([int(word) for word in words])
    return _named([line for line in map(_words, re.split(r"[/\n]", text)) if line])


def _words(text: str) -> list[str]:
    return re.findall(r"[^\s,]+", text)


def _are_counts(words: Sequence[str]) -> bool:
    """`1 2 3` is a row of three names, since no connector grows like that."""
    if not words or not all(re.fullmatch(r"[1-9][0-9]{0,3}", word) for word in words):
        return False
    return len(words) == 1 or any(int(word) != place for place, word in enumerate(words, start=1))


def _counted(lengths: Sequence[int]) -> Rows:
    _refuse_too_many(lengths)
    numbers = count(1)
    return tuple(tuple(str(next(numbers)) for _ in range(length)) for length in lengths)


def _named(lines: Sequence[Sequence[str]]) -> Rows:
    contacts = [word for line in lines for word in line if word != FREE_SEAT]
    if not contacts:
        raise ValueError("Write the rows, such as 12 12.")
    _refuse_too_many([len(line) for line in lines])
    for contact in contacts:
        if re.search("[:@]", contact):
            raise ValueError(f"Use no colon and no @ in a contact: {contact}")
        if len(contact) > LONGEST_CONTACT:
            raise ValueError(f"At most {LONGEST_CONTACT} characters name a contact: {contact}")
    twice = [contact for contact, times in Counter(contacts).items() if times > 1]
    if twice:
        raise ValueError(f"Name each contact once: {twice[0]}")
    return tuple(tuple("" if word == FREE_SEAT else word for word in line) for line in lines)


def _refuse_too_many(lengths: Sequence[int]) -> None:
    if len(lengths) > MOST_ROWS or max(lengths) > LONGEST_ROW:
        raise ValueError(f"At most {MOST_ROWS} rows of {LONGEST_ROW} contacts fit.")
