"""Mails of the site, as plain text: short, with what happened, why, and where to answer."""

from __future__ import annotations

from dataclasses import dataclass

from catalogue.core.reviewing import Kind, Standing
from catalogue.core.words import word

NEXT = {
    Standing.APPROVED: "There is nothing for you to do. Your account shows it:",
    Standing.QUERIED: "It is still shown, with the question beside it. Your account has a link to answer:",
    Standing.WITHDRAWN: "It is kept, but not shown any more. Your account says how to answer:",
}


@dataclass(frozen=True, slots=True)
class Letter:
    subject: str
    text: str


def decision_letter(name: str, kind: Kind, cable: str, decision: Standing, reason: str, page: str) -> Letter:
    """What the author `name` of a contribution is told of a decision on it; `page` is the address of their account."""
    what = f"Your {word(kind)} {'of' if kind is Kind.MAP else 'on'} {' '.join(cable.split())}"
    was = {Standing.QUERIED: "questioned"}.get(decision, word(decision))
    paragraphs = [
        f"{name},",
        f"{what} was {was} by a reviewer.",
        *(["The reason:", "\n".join(f"    {line}".rstrip() for line in reason.splitlines())] if reason else []),
        f"{NEXT[decision]}\n{page}",
        "You get this because you contributed to Corelore. If you want no such mails, say so on that page.",
    ]
    return Letter(f"{what} was {was}", "\n\n".join(paragraphs) + "\n")
