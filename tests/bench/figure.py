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
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        act()
        times.append(time.perf_counter() - start)
    return statistics.median(times)
