"""Values and lists as findings say them: `1.9 kΩ`, `USB:1, USB:2 and 5 more`."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence, Sized

from catalogue.core.document import Mode, Reading
from catalogue.core.findings import Limit, Step

MOST_NAMED = 6


def ohms(value: float) -> str:
    """A resistance with three figures at most and the unit that suits it."""
    if math.isinf(value):
        return "over limit"
    rounded = float(f"{value:.3g}")
    for unit, size in (("MΩ", 1e6), ("kΩ", 1e3)):
        if rounded >= size:
            return f"{rounded / size:,.10g} {unit}"
    return f"{rounded:.10g} Ω"


def shown_value(reading: Reading) -> str:
    """What the display showed for a reading in ohms or diode mode."""
    if reading.value is None:
        return "over limit"
    return ohms(reading.value) if reading.mode is Mode.OHMS else volts(reading.value)


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
    shown = f"{decisive.reading} shows at least {ohms(decisive.ohms)}"
    if not others:
        return f"{shown} between them"
    leads = verb(others, "leads", "lead")
    return f"{shown} between {decisive.start} and {decisive.finish}, to which {listed(others)} {leads}"


def verb(names: Sized, one: str, many: str) -> str:
    return one if len(names) == 1 else many


def chain(witness: Sequence[Step]) -> str:
    """The points that a chain of joins runs through: `USB:1 – TOOL:1 – TOOL:2`."""
    return " – ".join([witness[0].start, *(step.finish for step in witness)])
