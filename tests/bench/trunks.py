"""Invented trunk cables of 38, 24 and 4 contacts, wired in runs: the family by which plans are measured.

Ends A (two rows of 19), B (two rows of 12) and C (one row of 4: supply, supply, ground, ground). Along B, then
along A, each contact is a signal, ground, supply or spare; it is of the same kind as the one before with
chance `keep`, else of another by the shares below. Every signal of B meets one of A. Along A, signals carry on
beside the mate of the one before, in one direction for the whole cable, with chance `carry`; else they jump to
any other mate that is free. All shares are judgement.

Different choices give different cables, but for the direction where no run shows it, so that the bits of the
choices are the entropy of the family, and at most one bit a cable too many.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.random import Generator

from catalogue.core.document import Point

SHARES = {"signal": 0.6, "ground": 0.18, "supply": 0.08, "spare": 0.14}
A, B = 38, 24
ROWS = tuple(
    tuple(f"{end}:{number}" for number in range(first, last + 1))
    for end, first, last in (("A", 1, 19), ("A", 20, 38), ("B", 1, 12), ("B", 13, 24), ("C", 1, 4))
)
POINTS = tuple(point for row in ROWS for point in row)


@dataclass(frozen=True, slots=True)
class Trunk:
    """The net of each contact, and how many bits it took to choose it."""

    net_of: dict[Point, str]
    bits: float


def trunk(rng: Generator, keep: float, carry: float) -> Trunk:
    net_of = {"C:1": "supply", "C:2": "supply", "C:3": "ground", "C:4": "ground"}
    chosen = _Chosen(rng)
    last, signals = "", []
    for number in range(1, B + 1):
        last = chosen.among(_next_kind(last, keep))
        if last == "signal":
            signals.append(number)
        else:
            net_of[f"B:{number}"] = f"B:{number}" if last == "spare" else last
    free, mate, last = list(signals), None, ""
    step = int(chosen.among({"-1": 0.5, "1": 0.5}))
    for number in range(1, A + 1):
        kinds = _next_kind(last, keep)
        if not free:
            del kinds["signal"]
        elif A - number + 1 == len(free):
            kinds = {"signal": 1.0}
        last = chosen.among(kinds)
        if last == "signal":
            mate = chosen.mate(free, _beside(signals, mate, step), carry)
            free.remove(mate)
            net_of[f"B:{mate}"] = f"A:{number}"
        net_of[f"A:{number}"] = last if last in ("ground", "supply") else f"A:{number}"
    return Trunk({point: net_of[point] for point in POINTS}, chosen.bits)


def _next_kind(last: str, keep: float) -> dict[str, float]:
    if not last:
        return dict(SHARES)
    others = 1 - SHARES[last]
    return {kind: keep if kind == last else (1 - keep) * share / others for kind, share in SHARES.items()}


def _beside(signals: list[int], mate: int | None, step: int) -> int | None:
    place = signals.index(mate) + step if mate is not None else -1
    return signals[place] if 0 <= place < len(signals) else None


class _Chosen:
    """Draws, and adds up how many bits each draw told."""

    def __init__(self, rng: Generator) -> None:
        self.bits = 0.0
        self._rng = rng

    def among(self, weights: dict[str, float]) -> str:
        names, whole = list(weights), sum(weights.values())
        chances = [weights[name] / whole for name in names]
        place = int(self._rng.choice(len(names), p=chances))
        self.bits -= math.log2(chances[place])
        return names[place]

    def mate(self, free: list[int], beside: int | None, carry: float) -> int:
        others = [number for number in free if number != beside]
        if beside not in free:
            beside = None
        if beside is not None and (not others or self._rng.random() < carry):
            self.bits -= math.log2(carry) if others else 0.0
            return beside
        self.bits += math.log2(len(others)) - (math.log2(1 - carry) if beside is not None else 0.0)
        return others[int(self._rng.integers(len(others)))]
