"""What readings tell, as JSON values: nets with their proof, conflicts, suspects, parts."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from catalogue.core.conflicts import Conflict
from catalogue.core.document import Net, Point
from catalogue.core.findings import Step
from catalogue.core.hidden_parts import HiddenPart, nearest_e24
from catalogue.core.nets import Pairs
from catalogue.core.network import Unsolved
from catalogue.core.reference import KnownResistor
from catalogue.core.suspects import Suspects
from catalogue.exchange.shapes import NET

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class ProvedNet:
    """A net and the readings that prove it. `is_whole`: the proof also has what sweeps in it lean on.

    `proposed` is how a map would name it and what its standard contacts say of it; None for a contact alone.
    """

    contacts: tuple[Point, ...]
    proof: tuple[str, ...]
    is_whole: bool = True
    proposed: Net | None = None


@dataclass(frozen=True, slots=True)
class ProvedPair:
    """`state` is joined, apart or undecided; the proof is empty when it is undecided."""

    points: tuple[Point, Point]
    state: str
    proof: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class NamedPart:
    """A part found, whether all pairs around it were read, and what it may be called."""

    part: HiddenPart
    is_complete: bool
    names: tuple[KnownResistor, ...]


@dataclass(frozen=True, slots=True)
class Inference:
    """All that readings tell. Of many conflicts the first are there, and how many are known."""

    nets: tuple[ProvedNet, ...]
    pairs: Pairs
    conflicts: tuple[Conflict, ...]
    conflicts_total: int
    suspects: Suspects
    parts: tuple[NamedPart, ...]
    unsolved: tuple[tuple[tuple[Point, ...], Unsolved], ...]
    pair: ProvedPair | None = None


def inference_json(inference: Inference) -> Json:
    """The answer that the API gives and the command prints. No answer holds infinity: it is null there."""
    pairs, suspects = inference.pairs, inference.suspects
    answer: Json = {
        "nets": [
            {
                "contacts": list(net.contacts),
                "proof": list(net.proof),
                "proof_is_whole": net.is_whole,
                "proposed": NET.write(net.proposed) if net.proposed else None,
            }
            for net in inference.nets
        ],
        "pairs": {
            "joined": pairs.joined,
            "apart": pairs.apart,
            "undecided": pairs.undecided,
            "total": pairs.total,
        },
        "conflicts": [_conflict(conflict) for conflict in inference.conflicts],
        "conflicts_total": inference.conflicts_total,
        "suspects": {
            "at_least": suspects.at_least,
            "smallest": _names(suspects.smallest),
            "in_every": _names(suspects.in_every),
        },
        "parts": [_part(part) for part in inference.parts],
        "unsolved": [{"contacts": list(contacts), "why": why.value} for contacts, why in inference.unsolved],
    }
    if inference.pair is not None:
        pair = inference.pair
        answer["pair"] = {"points": list(pair.points), "state": pair.state, "proof": _steps(pair.proof)}
    return answer


def _names(names: Sequence[str] | None) -> list[str] | None:
    return None if names is None else list(names)


def _conflict(conflict: Conflict) -> Json:
    return {
        "reading": conflict.reading,
        "readings": sorted(conflict.readings),
        "witness": _steps(conflict.witness),
    }


def _steps(steps: Iterable[Step]) -> list[Json]:
    return [
        {
            "reading": step.reading,
            "from": step.start,
            "to": step.finish,
            "limit": step.limit.value,
            "ohms": step.ohms,
        }
        for step in steps
    ]


def _part(named: NamedPart) -> Json:
    part, span = named.part, named.part.span
    return {
        "kind": "resistor",
        "between": list(part.between),
        "ohms": span.ohms,
        "least_ohms": span.least_ohms,
        "most_ohms": None if math.isinf(span.most_ohms) else span.most_ohms,
        "e24_ohms": nearest_e24(span.ohms),
        "readings": list(part.readings),
        "ohmic": part.is_ohmic,
        "all_pairs_read": named.is_complete,
        "known_as": [
            {"key": known.key, "where": known.where, "source": known.source, "basis": known.basis}
            for known in named.names
        ],
    }
