"""One measured figure beside its bound. `python -m tests.bench` prints the `figures()` of each module."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figure:
    """`met` is None where a figure has no bound and is only told.

    `exact` marks a count that is alike on every machine, such as false rejections, and never a time: a run of
    the benchmarks fails when such a figure misses its bound.
    """

    name: str
    measured: str
    bound: str = ""
    met: bool | None = None
    exact: bool = False


def seconds(act: Callable[[], object], runs: int = 5) -> float:
    """Median wall time of one act, in seconds, after one run to warm up."""
    act()
    return statistics.median(seconds_once(act) for _ in range(runs))


def times_as_long(act: Callable[[], object], bare: Callable[[], object], runs: int = 7) -> float:
    """How many times as long `act` takes as `bare`: the median over runs in turn, so that a change of the machine's
    speed falls on both."""
    return statistics.median(seconds_once(act) / seconds_once(bare) for _ in range(runs + 1))


def seconds_once(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start
