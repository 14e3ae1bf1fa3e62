"""How well wrong readings are named and hidden resistors recovered, and what it costs.

A wrong reading can be known only where it is at odds with others, and can be told from them only where no
other single reading would explain the same. Which cases these are, a referee decides by the formulas written
out and scipy's dense shortest paths (`tests.bench.readings.referee_knows`), leaving out one reading after the
other. Links above 200 Ω that were not read alike both ways may be junctions, so the referee leaves them out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, islice

import numpy as np
from numpy.random import Generator

from catalogue.core.bounds import bounds, violations
from catalogue.core.conflicts import Conflicts
from catalogue.core.document import Meter, Reading, Result
from catalogue.core.hidden_parts import hidden_parts
from catalogue.core.nets import deduce
from catalogue.core.network import Link, resistance_distances
from catalogue.core.simulation import BenchMeter, Specimen, every_pair, flipped, read
from catalogue.core.suspects import Suspects, suspects
from tests.bench.figure import Figure, seconds_once
from tests.bench.readings import all_pairs, referee_knows, simulated, spoilt

SPOILT_CABLES = 3_000
TRUE_CABLES = 2_000
NETWORKS = 300


def figures() -> Iterator[Figure]:
    yield from planted()
    yield true_cables()
    yield from many_wrong()
    yield from networks()


def planted() -> Iterator[Figure]:
    noticed = alone = named = certain = among_equals = 0
    for document, readings, turned in islice(spoilt(), SPOILT_CABLES):
        linear = [reading for reading in readings if not _may_be_a_junction(reading)]
        if not referee_knows(tuple(linear), document.meter):
            continue
        noticed += 1
        found = suspects(Conflicts(readings, document.meter))
        is_named = found.smallest is not None and turned.id in found.smallest
        if _explanations(linear, document.meter) == [turned.id]:
            alone += 1
            named += is_named
            certain += turned.id in (found.in_every or ())
        else:
            among_equals += is_named
    share = named / alone
    yield Figure(
        f"one wrong reading in the smallest set, of {alone:,} that a referee can tell from all others",
        f"{share:.1%}",
        "≥ 95 %",
        share >= 0.95,
        exact=True,
    )
    yield Figure("of these, those in every smallest set", f"{certain / alone:.1%}")
    others = noticed - alone
    yield Figure(
        f"named where another reading would explain the same ({others:,} cases)", f"{among_equals / others:.1%}"
    )


def _may_be_a_junction(reading: Reading) -> bool:
    return reading.result is Result.VALUE and (reading.value or 0.0) > 150


def _explanations(readings: Sequence[Reading], meter: Meter) -> list[str]:
    """The readings without any one of which the referee finds no fault; each is one of every conflict."""
    first = violations(bounds(readings, meter))[0]
    names = {first.bound.reading, *(link.reading for link in first.path)}
    return [
        name
        for name in sorted(names)
        if not referee_knows(tuple(reading for reading in readings if reading.id != name), meter)
    ]


def true_cables() -> Figure:
    suspected = 0
    for seed in range(TRUE_CABLES):
        document = simulated(np.random.default_rng([seed, 2]))
        suspected += suspects(Conflicts(document.readings, document.meter)) != Suspects(0, (), ())
    return Figure(f"true cables of {TRUE_CABLES:,} with a reading suspected", str(suspected), "0", suspected == 0, True)


def many_wrong() -> Iterator[Figure]:
    document = all_pairs((38, 24, 4))
    for wrong in (1, 10, 40):
        readings, turned = _spoilt_often(document.readings, wrong, document.meter, np.random.default_rng(wrong))
        found = suspects(Conflicts(readings, document.meter))
        taken = seconds_once(lambda readings=readings: suspects(Conflicts(readings, document.meter)))
        hits = len(set(found.smallest or ()) & turned)
        yield Figure(
            f"{wrong} wrong of {len(readings):,} readings of 66 contacts",
            f"{taken * 1e3:.0f} ms, {hits} of {len(found.smallest or ())} named are wrong",
            "≤ 10 s",
            found.smallest is not None and taken <= 10,
        )


def _spoilt_often(
    readings: tuple[Reading, ...], times: int, meter: Meter, rng: Generator
) -> tuple[tuple[Reading, ...], set[str]]:
    turned = set()
    while len(turned) < times:
        readings, one = flipped(readings, rng, meter)
        turned.add(one.id)
    return readings, turned


def networks() -> Iterator[Figure]:
    """Random networks of 2 to 7 nets, resistors over two decades, all pairs read by a common meter."""
    held = met = alike = unsolved = 0
    meter = Meter()
    for seed in range(NETWORKS):
        rng = np.random.default_rng([seed, 3])
        nodes, links = _random_network(rng)
        sample = Specimen(tuple(f"A:{number}" for number in range(nodes)), resistance_distances(nodes, links))
        readings = read(sample, every_pair(sample.points), BenchMeter.of(meter, rng))
        found = hidden_parts(readings, meter, deduce((), readings, meter))
        spans = {frozenset(part.between): part.span for part in found.parts}
        truth = {frozenset((f"A:{a}", f"A:{b}")): value for a, b, value in links}
        unsolved += bool(found.unsolved)
        alike += truth.keys() == spans.keys()
        for pair in truth.keys() & spans.keys():
            met += 1
            held += spans[pair].least_ohms <= truth[pair] <= spans[pair].most_ohms
    yield Figure(f"true resistors within their interval, of {met:,}", f"{held / met:.2%}", "≥ 99 %", held >= 0.99 * met)
    yield Figure(f"networks of {NETWORKS:,} recovered with no resistor more or less", f"{alike / NETWORKS:.0%}")
    yield Figure(f"true networks of {NETWORKS:,} said to be none", str(unsolved))


def _random_network(rng: Generator) -> tuple[int, list[Link]]:
    nodes = int(rng.integers(2, 8))
    pairs = {(int(rng.integers(node)), node) for node in range(1, nodes)}
    every = list(combinations(range(nodes), 2))
    pairs |= {every[place] for place in rng.integers(len(every), size=int(rng.integers(nodes))).tolist()}
    return nodes, [(a, b, float(10 ** rng.uniform(3, 5))) for a, b in sorted(pairs)]
