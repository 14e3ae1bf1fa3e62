"""Hypothesis strategies for cables, meters, readings and networks. What they draw is small, and shrinks."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st

from catalogue.core.bounds import Bound
from catalogue.core.document import MapDocument, Meter, Mode, Reading, Result
from catalogue.core.simulation import random_cable

NASTY_OHMS = (0.0, 0.1, 0.6, 5.0, 9.9, 10.0, 33.0, 55.0, 100.0, 5100.0, 1e6)


def points(most: int = 6) -> st.SearchStrategy[list[str]]:
    """Two or more contacts of two ends."""
    return st.integers(2, most).map(lambda count: [f"{'AB'[n % 2]}:{n // 2 + 1}" for n in range(count)])


def meters() -> st.SearchStrategy[Meter]:
    """Meters from good to poor, all of which can tell a conductor from an open pair."""
    return st.builds(
        Meter,
        lead_ohms=st.sampled_from([0.0, 0.2, 0.5]),
        contact_ohms=st.sampled_from([0.0, 0.1, 0.5, 1.0]),
        accuracy_pct=st.sampled_from([0.0, 0.3, 0.8, 2.0]),
        accuracy_digits=st.sampled_from([1.0, 2.0, 5.0]),
        range_ohms=st.sampled_from([2e6, 2e7, 4e7, 6e7]),
        beep_ohms=st.sampled_from([(20.0, 60.0), (30.0, 30.0), (15.0, 90.0)]),
    )


@st.composite
def readings(draw: st.DrawFn, among: list[str], most: int = 14) -> list[Reading]:
    """Readings that nobody promised to agree: values, over limit, beeps and sweeps of any points."""
    found = []
    for number in range(1, draw(st.integers(0, most)) + 1):
        red = draw(st.sampled_from(among))
        mode = draw(st.sampled_from([Mode.OHMS, Mode.BEEP, Mode.SWEEP]))
        flexed = draw(st.integers(0, 9)) == 9
        if mode is Mode.SWEEP:
            black = tuple(draw(st.lists(st.sampled_from(among), min_size=1, max_size=4)))
        else:
            black = (draw(st.sampled_from(among)),)
        if mode is Mode.OHMS and draw(st.booleans()):
            value = draw(st.sampled_from(NASTY_OHMS))
            found.append(Reading(f"r{number}", mode, red, black, Result.VALUE, value, flexed=flexed))
        elif mode is Mode.OHMS:
            span = draw(st.sampled_from([None, 5.0, 200.0, 2000.0]))
            found.append(Reading(f"r{number}", mode, red, black, Result.OVER, range_ohms=span, flexed=flexed))
        else:
            result = draw(st.sampled_from([Result.BEEPS, Result.SILENT]))
            found.append(Reading(f"r{number}", mode, red, black, result, flexed=flexed))
    return found


@st.composite
def whole_bounds(draw: st.DrawFn, most_points: int = 5, most: int = 12) -> tuple[Bound, ...]:
    """Bounds of whole ohms, so that sums of them are exact: any pairs, repeats and self-probes included."""
    names = [f"A:{number}" for number in range(1, draw(st.integers(2, most_points)) + 1)]
    found = []
    for number in range(1, draw(st.integers(1, most)) + 1):
        a, b = draw(st.sampled_from(names)), draw(st.sampled_from(names))
        lower = draw(st.integers(0, 9))
        more = draw(st.one_of(st.just(math.inf), st.integers(0, 6)))
        found.append(Bound(f"r{number}", a, b, float(lower), float(lower + more), draw(st.booleans())))
    return tuple(found)


@st.composite
def networks(draw: st.DrawFn, most_nodes: int = 7) -> tuple[int, list[tuple[int, int, float]]]:
    """Resistors between numbered nodes, not always connected: (nodes, [(node, node, ohms)])."""
    nodes = draw(st.integers(2, most_nodes))
    pair = st.lists(st.integers(0, nodes - 1), min_size=2, max_size=2, unique=True)
    ohms = st.one_of(st.floats(0.05, 20), st.floats(100, 1e5))
    return nodes, [(*draw(pair), draw(ohms)) for _ in range(draw(st.integers(1, 2 * nodes)))]


def generators() -> st.SearchStrategy[np.random.Generator]:
    return st.integers(0, 2**32 - 1).map(np.random.default_rng)


@st.composite
def cables(draw: st.DrawFn, most_contacts: int = 10) -> MapDocument:
    """Invented cables of two or three ends, some with resistors between nets."""
    contacts = draw(st.lists(st.integers(1, most_contacts), min_size=2, max_size=3))
    return random_cable(draw(generators()), contacts, draw(st.integers(0, 3)), draw(meters()))
