"""What somebody typed into the search box, as what a cable's text has to hold.

Words that say nothing are passed over. Everyday words for a symptom ("works when bent") stand for that symptom as
well as for themselves: a net may be called HOT.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from catalogue.core.failures import Symptom
from catalogue.search.text import fold, forms

MOST_TERMS = 12
"""Terms that are searched by; what is typed beyond that says nothing new."""

# fmt: off
SMALL_WORDS = frozenset({
    "a", "an", "and", "are", "at", "be", "but", "by", "for", "from", "gets", "goes", "i", "if", "in", "is", "it", "its",
    "me", "my", "of", "on", "or", "so", "that", "the", "then", "there", "to", "was", "when", "while", "with",
})
# fmt: on
"""Words that part no cable from another, also inside the phrases for symptoms."""

Phrases = Mapping[tuple[str, ...], Symptom]
"""Everyday words for symptoms, folded and without small words."""


@dataclass(frozen=True, slots=True)
class Term:
    """Something that a text must hold: all pieces of one of the `ways`, or the mark of the `symptom`."""

    typed: str
    ways: tuple[tuple[str, ...], ...]
    symptom: Symptom | None = None


@dataclass(frozen=True, slots=True)
class Query:
    """All terms, in the order typed; a text must hold every one of them."""

    terms: tuple[Term, ...] = ()

    @property
    def symptoms(self) -> tuple[Term, ...]:
        """The terms that were taken for a symptom."""
        return tuple(term for term in self.terms if term.symptom)


def mark(symptom: Symptom) -> str:
    """How a symptom stands in the text of a cable, so that nobody types it by chance: folded text has no `=`."""
    return f"={symptom.value}="


def phrase(text: str) -> tuple[str, ...]:
    """A phrase for a symptom as it is looked up."""
    return tuple(word for word in fold(text).split() if word not in SMALL_WORDS)


def understood(text: str, phrases: Phrases) -> Query:
    """What the words typed ask for. Of the phrases that begin at a word the longest counts."""
    tokens = [token for token in text.split() if fold(token)]
    everything = range(len(tokens))
    telling = [place for place in everything if fold(tokens[place]) not in SMALL_WORDS] or everything
    return Query(tuple(_terms(tokens, telling, phrases))[:MOST_TERMS])


def _terms(tokens: Sequence[str], telling: Sequence[int], phrases: Phrases) -> Iterator[Term]:
    """The terms that begin at the tokens that tell something, by their places."""
    longest = max(map(len, phrases), default=0)
    at = 0
    while at < len(telling):
        for end in range(min(len(telling), at + longest), at, -1):
            words = tuple(" ".join(fold(tokens[place]) for place in telling[at:end]).split())
            if symptom := phrases.get(words):
                yield Term(" ".join(tokens[telling[at] : telling[end - 1] + 1]), (words,), symptom)
                at = end
                break
        else:
            token = tokens[telling[at]]
            yield Term(token, tuple((form,) for form in forms(token)))
            at += 1
