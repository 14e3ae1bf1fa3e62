"""What reasoning from readings costs, and how often it is wrong: true cables refused, spoilt readings missed.

The referee for spoilt readings is written here, from the formulas, on scipy's dense shortest paths. That test
is exact: what it finds no fault with can be told of some metric, so no method that takes the readings for
resistances can know it.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from itertools import count, islice

import numpy as np
from numpy.random import Generator
from scipy.sparse.csgraph import shortest_path

from catalogue.core.bounds import Bound, bounds, violations
from catalogue.core.check import check
from catalogue.core.document import MapDocument, Meter, Mode, Reading, Result
from catalogue.core.findings import accepted
from catalogue.core.nets import deduce
from catalogue.core.reference import Reference
from catalogue.core.simulation import (
    BenchMeter,
    every_pair,
    flipped,
    mixed_acts,
    random_cable,
    read,
    specimen,
)
from tests.bench.figure import Figure, seconds

NO_STANDARDS = Reference({}, (), {}, {}, {})
TRUE_CABLES = 10_000
SPOILT_CABLES = 3_000


def figures() -> Iterator[Figure]:
    yield from speed_of_66_contacts()
    yield from growth()
    yield large()
    yield from true_cables()
    yield from spoilt_readings()


def all_pairs(contacts: tuple[int, ...], seed: int = 1) -> MapDocument:
    """An invented cable with a reading of every pair of its contacts."""
    rng = np.random.default_rng(seed)
    cable = random_cable(rng, contacts, resistors=4)
    sample = specimen(cable, rng)
    readings = read(sample, every_pair(sample.points), BenchMeter.of(cable.meter, rng))
    return replace(cable, readings=readings)


def reason(document: MapDocument) -> None:
    violations(bounds(document.readings, document.meter))
    deduce((), document.readings, document.meter)


def matrix(found: tuple[Bound, ...]) -> np.ndarray:
    """The least upper bound of each pair, infinite where there is none."""
    points = sorted({point for bound in found for point in (bound.a, bound.b)})
    place = {point: number for number, point in enumerate(points)}
    upper = np.full((len(points), len(points)), np.inf)
    for bound in found:
        a, b = place[bound.a], place[bound.b]
        upper[a, b] = upper[b, a] = min(upper[a, b], bound.upper)
    return upper


def speed_of_66_contacts() -> Iterator[Figure]:
    document = all_pairs((38, 24, 4))
    upper = matrix(bounds(document.readings, document.meter))
    bare = seconds(lambda: shortest_path(upper, directed=False), 15)
    taken = seconds(lambda: reason(document), 15)
    yield Figure(
        f"bounds, contradictions and nets: 66 contacts, {len(document.readings):,} readings",
        f"{taken * 1e3:.1f} ms (bare scipy shortest paths: {bare * 1e3:.2f} ms)",
        "≤ 3 × bare + 30 ms",
        taken <= 3 * bare + 0.03,
    )


def least_processor_seconds(act: Callable[[], object], runs: int = 25) -> float:
    """Least processor time of one act. For ratios of long acts to short ones: whatever else runs on the
    machine slows a long act every time, and a short one only sometimes.
    """
    act()
    times = []
    for _ in range(runs):
        start = time.process_time()
        act()
        times.append(time.process_time() - start)
    return min(times)


def growth() -> Iterator[Figure]:
    small = all_pairs((38, 24, 4))
    base = least_processor_seconds(lambda: reason(small))
    repeated = replace(
        small,
        readings=tuple(replace(reading, id=f"{reading.id}-{turn}") for turn in range(10) for reading in small.readings),
    )
    wide = all_pairs((110, 80, 19))
    for name, document in (("each pair ten times", repeated), ("209 contacts", wide)):
        factor = least_processor_seconds(lambda document=document: reason(document)) / base
        more = len(document.readings) / len(small.readings)
        yield Figure(f"the same with readings × {more:.1f} ({name})", f"cost × {factor:.1f}", "≤ 12 ×", factor <= 12)


def large() -> Figure:
    """Resistors over five decades between everything: every reading is finite, so that all are searched."""
    rng = np.random.default_rng(3)
    points = [f"A:{number}" for number in range(2000)]
    height = 10 ** rng.uniform(0, 5, size=len(points))
    readings = []
    for number in range(200_000):
        a, b = rng.choice(len(points), 2, replace=False).tolist()
        value = round(float(height[a] + height[b]))
        readings.append(Reading(f"r{number}", Mode.OHMS, points[a], (points[b],), Result.VALUE, value))
    start = time.process_time()
    found = violations(bounds(readings, Meter()))
    taken = time.process_time() - start
    assert not found
    return Figure("contradictions: 2,000 points, 200,000 values", f"{taken:.1f} s", "≤ 10 s", taken <= 10)


def simulated(rng: Generator) -> MapDocument:
    """A small invented cable read by a meter of any quality, each pair with a chance, by all modes."""
    meter = Meter(
        lead_ohms=float(rng.choice([0.0, 0.2, 0.5])),
        contact_ohms=float(rng.choice([0.1, 0.5, 1.0])),
        accuracy_pct=float(rng.choice([0.3, 0.8, 2.0])),
        accuracy_digits=float(rng.choice([1.0, 2.0, 5.0])),
    )
    contacts = rng.integers(2, 11, size=int(rng.integers(2, 4))).tolist()
    cable = random_cable(rng, contacts, int(rng.integers(0, 4)), meter)
    sample = specimen(cable, rng)
    acts = mixed_acts(sample.points, rng, float(rng.uniform(0.1, 1.0)))
    return replace(cable, readings=read(sample, acts, BenchMeter.of(meter, rng)))


def true_cables() -> Iterator[Figure]:
    refused = wrong_nets = readings = 0
    start = time.perf_counter()
    for seed in range(TRUE_CABLES):
        document = simulated(np.random.default_rng(seed))
        readings += len(document.readings)
        refused += not accepted(check(document, NO_STANDARDS))
        owner = document.net_of_contact
        nets = deduce((), document.readings, document.meter).nets
        wrong_nets += any(len({owner.get(point, point) for point in net}) > 1 for net in nets)
    taken = time.perf_counter() - start
    yield Figure(
        f"true cables with meter error refused, of {TRUE_CABLES:,} ({readings:,} readings, {taken:.0f} s)",
        str(refused),
        "0",
        refused == 0,
        exact=True,
    )
    yield Figure("of these, cables with a net deduced that is not there", str(wrong_nets), "0", wrong_nets == 0, True)


def spoilt_readings() -> Iterator[Figure]:
    knowable = caught = blamed = 0
    for document, readings, turned in islice(spoilt(), SPOILT_CABLES):
        found = violations(bounds(readings, document.meter))
        if not referee_knows(readings, document.meter):
            assert not found
            continue
        knowable += 1
        caught += bool(found)
        blamed += all(turned.id in {each.bound.reading, *(link.reading for link in each.path)} for each in found)
    yield Figure(
        f"spoilt readings caught, of {knowable:,} that shortest paths can know",
        f"{caught:,}",
        "all",
        caught == knowable,
        exact=True,
    )
    yield Figure("of these, those that every witness holds", f"{blamed:,}", "all", blamed == knowable, exact=True)
    yield Figure(f"spoilt readings that no method can know, of {SPOILT_CABLES:,}", f"{SPOILT_CABLES - knowable:,}")


def spoilt() -> Iterator[tuple[MapDocument, tuple[Reading, ...], Reading]]:
    """Invented cables, each with its readings after one was spoilt, and that one."""
    for seed in count():
        rng = np.random.default_rng([seed, 1])
        document = simulated(rng)
        with suppress(ValueError):
            yield document, *flipped(document.readings, rng, document.meter)


def referee_knows(readings: tuple[Reading, ...], meter: Meter) -> bool:
    """Whether a lower bound exceeds the dense shortest path of upper bounds, by the formulas written out."""
    points = sorted({point for reading in readings for point in (reading.red, *reading.black)})
    place = {point: number for number, point in enumerate(points)}
    upper = np.full((len(points), len(points)), np.inf)
    lower = np.zeros((len(points), len(points)))
    for reading in readings:
        match reading.result:
            case Result.VALUE:
                half = meter.accuracy_pct / 100 * reading.value + meter.accuracy_digits * reading.digit_ohms
                least = reading.value - half - meter.lead_ohms - meter.contact_ohms
                most = reading.value + half - meter.lead_ohms
            case Result.OVER:
                end = reading.range_ohms or meter.range_ohms
                half = meter.accuracy_pct / 100 * end + meter.accuracy_digits * end / 2000
                least, most = end - half - meter.lead_ohms - meter.contact_ohms, math.inf
            case Result.SILENT:
                least, most = meter.beep_ohms[0] - meter.lead_ohms - meter.contact_ohms, math.inf
            case _ if len(reading.black) > 1:
                continue
            case _:
                least, most = 0.0, meter.beep_ohms[1]
        for black in reading.black:
            pair = place[reading.red], place[black]
            for a, b in (pair, pair[::-1]):
                upper[a, b] = min(upper[a, b], max(most, 1e-9))
                lower[a, b] = max(lower[a, b], least)
    return bool((lower > shortest_path(upper, directed=False) + 1e-6).any())
