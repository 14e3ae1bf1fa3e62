"""Review: what a reviewer may say of what others contributed, and what a contribution counts for after it.

A contribution is shown from the moment it is stored. A reviewer confirms it, questions it, or withdraws it; a
withdrawn one is kept, and shown to nobody but its author and reviewers. Every decision is kept, and the last counts,
until the author of a report tells it anew: then it waits to be reviewed again.
"""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from catalogue.core.problems import Defect, Withdrawn

LONGEST_REASON = 2000


class Kind(StrEnum):
    """What is reviewed. Confirmations of a map are not: they are readings that are checked against it."""

    MAP = "map"
    REPORT = "report"


class Standing(StrEnum):
    """What the last review made of a contribution."""

    UNREVIEWED = "not-reviewed"
    APPROVED = "approved"
    QUERIED = "queried"
    WITHDRAWN = "withdrawn"


DECISIONS = (Standing.APPROVED, Standing.QUERIED, Standing.WITHDRAWN)
"""What a reviewer can decide, the mildest first."""

TOLD_ANEW = "Its author told it anew."


def decision_defects(decision: Standing, reason: str) -> tuple[Defect, ...]:
    """What is wrong with a decision and its reason. Everything but an approval has to say why."""
    if decision not in DECISIONS:
        return (Defect("/decision", "No decision was made.", "Choose one."),)
    if not reason.strip() and decision is not Standing.APPROVED:
        return (Defect("/reason", "Nothing says why.", "Write what the author and the next reader should know."),)
    if len(reason) > LONGEST_REASON:
        return (Defect("/reason", f"The reason is longer than {LONGEST_REASON:,} characters.", "Shorten it."),)
    if not all(character.isprintable() or character == "\n" for character in reason):
        return (Defect("/reason", "A character in the reason cannot be shown.", "Leave it out."),)
    return ()


def withdrawal(what: str, when: datetime, reason: str) -> Withdrawn:
    """What is told in place of something withdrawn. It is not named: its name may be why it was withdrawn."""
    told = f"{what} was withdrawn by a reviewer on {when.day} {when:%b %Y}. It is kept, but not shown any more."
    return Withdrawn(f"{told} The reason: {reason}")
