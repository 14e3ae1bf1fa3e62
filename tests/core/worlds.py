"""Every way that a few points can be wired, when what does not conduct like one conductor does not conduct at all.

A world has a number for each point: equal numbers are one conductor. There are 52 of five points, so what readings
prove can be held against all of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from hypothesis import strategies as st

from catalogue.core.document import Mode, Point, Reading, Result

POINTS = ("A:1", "A:2", "A:3", "B:1", "B:2")

World = dict[Point, int]


def worlds(points: Sequence[Point] = POINTS) -> list[World]:
    """All of them, each once."""
    return [dict(zip(points, numbers, strict=True)) for numbers in _numberings(len(points))]


def _numberings(count: int) -> Iterator[tuple[int, ...]]:
    if count == 0:
        yield ()
        return
    for before in _numberings(count - 1):
        for number in range(max(before, default=-1) + 2):
            yield (*before, number)


def is_true(reading: Reading, world: World) -> bool:
    """Whether a reading can show this in the world. While flexing it can show anything."""
    joined = any(world[reading.red] == world[black] for black in reading.black)
    return reading.flexed or joined is (reading.result in (Result.BEEPS, Result.VALUE))


@st.composite
def readings(draw: st.DrawFn, most: int = 9, world: World | None = None) -> list[Reading]:
    """Readings of conductors and of what is open, repeats and self-probes included; true of the world, if any."""
    found = []
    for number in range(1, draw(st.integers(1, most)) + 1):
        mode = draw(st.sampled_from([Mode.SWEEP, Mode.SWEEP, Mode.BEEP, Mode.OHMS]))
        most_members = 4 if mode is Mode.SWEEP else 1
        red = draw(st.sampled_from(POINTS))
        black = tuple(draw(st.lists(st.sampled_from(POINTS), min_size=1, max_size=most_members)))
        flexed = draw(st.integers(0, 19)) == 19
        low, high = (Result.VALUE, Result.OVER) if mode is Mode.OHMS else (Result.BEEPS, Result.SILENT)
        if world is None:
            result = draw(st.sampled_from([low, high]))
        else:
            result = low if any(world[red] == world[each] for each in black) else high
        value = 0.5 if result is Result.VALUE else None
        found.append(Reading(f"r{number}", mode, red, black, result, value, flexed=flexed))
    return found
