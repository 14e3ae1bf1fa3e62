"""The next readings as JSON values, with what each outcome would prove in words."""

from __future__ import annotations

from dataclasses import dataclass

from catalogue.core.document import Mode, Point
from catalogue.core.nets import Pairs
from catalogue.core.planning.plan import Plan, Proposal, Proved
from catalogue.core.rules.phrases import counted, listed
from catalogue.core.suspects import Suspects
from catalogue.exchange.inferences import Json

NAMED = 8
"""Contacts told in a sentence before the rest is counted."""


@dataclass(frozen=True, slots=True)
class NextReadings:
    """A plan, the acts that decide the rest if nothing more beeps, and what is decided or at odds so far."""

    plan: Plan
    acts_left: int
    pairs: Pairs
    suspects: Suspects


def plan_json(found: NextReadings) -> Json:
    """The answer that the API gives and the command prints."""
    pairs = found.pairs
    return {
        "next": [_proposal(proposal) for proposal in found.plan.next],
        "acts_left": found.acts_left,
        "decided": found.plan.is_decided,
        "pairs": {"joined": pairs.joined, "apart": pairs.apart, "undecided": pairs.undecided, "total": pairs.total},
        "undecidable": [list(pair) for pair in found.plan.undecidable],
        "measure_again": _measure_again(found.suspects),
    }


def _measure_again(suspects: Suspects) -> list[str]:
    return list(suspects.in_every or suspects.smallest or ())


def _proposal(proposal: Proposal) -> Json:
    return {
        "mode": proposal.mode.value,
        "red": proposal.red,
        "black": list(proposal.black),
        "chance_of_beep": round(proposal.chance, 4),
        "tells_bits": round(proposal.tells_bits, 4),
        "if_yes": _outcome(proposal, proposal.if_yes, _first_words(proposal.mode, True)),
        "if_no": _outcome(proposal, proposal.if_no, _first_words(proposal.mode, False)),
    }


def _first_words(mode: Mode, is_yes: bool) -> str:
    if mode is Mode.OHMS:
        return "A value that joins" if is_yes else "Over limit"
    return "A beep" if is_yes else "Silence"


def _outcome(proposal: Proposal, proved: Proved, first: str) -> Json:
    return {
        "text": f"{first} {_proof(proposal, proved)}.",
        "net": list(proved.net),
        "joined": proved.joined,
        "apart": proved.apart,
        "one_of": list(proved.one_of),
    }


def _proof(proposal: Proposal, proved: Proved) -> str:
    if proved.net:
        others = [point for point in proved.net if point != proposal.red]
        more = f", which also sets {counted(proved.apart, 'pair')} apart" if proved.apart else ""
        return f"proves {proposal.red} one conductor with {_named(others)}{more}"
    if len(proved.one_of) > 1:
        return f"leaves {proposal.red} joined to at least one of {_named(proved.one_of)}"
    if proved.apart:
        black = proposal.black
        along = _named(black) if len(black) == 1 else f"{black[0]} … {black[-1]}"
        return f"proves {proposal.red} apart from {along}: {counted(proved.apart, 'pair')} decided"
    return "proves nothing yet: read the pair in ohms"


def _named(points: list[Point] | tuple[Point, ...]) -> str:
    return listed(points, NAMED)
