"""Values and lists as findings say them: `1.9 kΩ`, `USB:1, USB:2 and 5 more`."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence, Sized
from decimal import ROUND_CEILING, ROUND_FLOOR, Context

from catalogue.core.document import Mode, Reading
from catalogue.core.findings import Limit, Step

MOST_NAMED = 6
BOUND_FIGURES, MOST_FIGURES = 2, 9
"""Figures of a bound that people read, more than which no hand meter bears out; and those that are computed."""

ROUNDED_TO = {Limit.AT_MOST: ROUND_CEILING, Limit.AT_LEAST: ROUND_FLOOR}


def ohms(value: float) -> str:
    """A resistance that is no bound, with three figures at most and the unit that suits it."""
    return _with_unit(float(f"{value:.3g}"))


def bound(limit: Limit, value: float, figures: int = BOUND_FIGURES) -> str:
    """`at most 0.51 Ω`: a bound on a resistance, rounded outwards, so that it still is one."""
    return f"{limit} {_with_unit(_rounded(limit, value, figures))}"


def bounds_apart(least: float, most: float) -> tuple[str, str]:
    """Two bounds that cannot both hold, since `least` is above `most`, with figures enough to show it."""
    figures = next(
        (
            figures
            for figures in range(BOUND_FIGURES, MOST_FIGURES)
            if _rounded(Limit.AT_LEAST, least, figures) > _rounded(Limit.AT_MOST, most, figures)
        ),
        MOST_FIGURES,
    )
    return bound(Limit.AT_LEAST, least, figures), bound(Limit.AT_MOST, most, figures)


def _rounded(limit: Limit, value: float, figures: int) -> float:
    # From decimal figures, because 0.1 + 0.2 is a little more than 0.3 in binary.
    context = Context(prec=figures, rounding=ROUNDED_TO[limit])
    return float(context.create_decimal(f"{value:.{MOST_FIGURES}g}"))


def _with_unit(value: float) -> str:
    if math.isinf(value):
        return "over limit"
    for unit, size in (("MΩ", 1e6), ("kΩ", 1e3)):
        if value >= size:
            return f"{value / size:,.10g} {unit}"
    return f"{value:.10g} Ω"


def shown_value(reading: Reading) -> str:
    """What the display showed for a reading in ohms or diode mode, every figure of it."""
    if reading.value is None:
        return "over limit"
    return _with_unit(reading.value) if reading.mode is Mode.OHMS else volts(reading.value)


def metres(value: float) -> str:
    return f"{value:.4g} m"


def volts(value: float) -> str:
    return f"{value:.4g} V"


def listed(names: Iterable[str], most: int = MOST_NAMED) -> str:
    """`A`, `A and B`, `A, B and C`; beyond `most` names the rest is counted."""
    every = list(names)
    if len(every) > most:
        return f"{', '.join(every[: most - 1])} and {len(every) - most + 1} more"
    return " and ".join([", ".join(every[:-1]), every[-1]] if len(every) > 1 else every)


def counted(number: int, one: str, many: str = "") -> str:
    """`1 reading`, `12 readings`, with `many` where adding an s does not do."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def readings_of(witness: Sequence[Step]) -> tuple[str, ...]:
    """The readings that a proof rests on, each once."""
    return tuple(dict.fromkeys(step.reading for step in witness))


def shown_apart(witness: Sequence[Step]) -> str:
    """What proves two points apart: `r17 shows at least 1.9 kΩ`, and which readings lead there."""
    decisive = next(step for step in witness if step.limit is Limit.AT_LEAST)
    others = [reading for reading in readings_of(witness) if reading != decisive.reading]
    shown = f"{decisive.reading} shows {bound(Limit.AT_LEAST, decisive.ohms)}"
    if not others:
        return f"{shown} between them"
    leads = verb(others, "leads", "lead")
    return f"{shown} between {decisive.start} and {decisive.finish}, to which {listed(others)} {leads}"


def verb(names: Sized, one: str, many: str) -> str:
    return one if len(names) == 1 else many


def chain(witness: Sequence[Step]) -> str:
    """The points that a chain of joins runs through: `USB:1 – TOOL:1 – TOOL:2`."""
    return " – ".join([witness[0].start, *(step.finish for step in witness)])
