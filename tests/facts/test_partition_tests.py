"""Plans of pair probes against what is known of finding a hidden partition by asking "same class?".

Sources: Reyzin and Srivastava 2007 (upper) and X. Liu and S. Mukherjee, "Tight Query Complexity Bounds for
Learning Graph Partitions", 2022 (lower): with at most k classes (k-1)n - k(k-1)/2 tests are needed for
n >= k >= 2, and without a bound on k, which a plan does not have, all n(n-1)/2 when every contact is alone.
Counting: any strategy of yes/no answers needs log2 of the Bell number in the worst case (OEIS A000110).
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, log2

import pytest

from tests.core.planning.mapping import mapped

BELL = (1, 1, 2, 5, 15, 52)
"""B(0) to B(5), OEIS A000110."""


@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_no_plan_beats_the_floor_that_counting_sets(count):
    worst = {sweeps: max(_acts(labels, sweeps) for labels in _partitions(count)) for sweeps in (False, True)}
    assert worst[True] >= ceil(log2(BELL[count]))
    assert worst[False] >= ceil(log2(BELL[count]))


@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_pairs_alone_need_every_pair_when_all_contacts_are_alone_and_never_more(count):
    pairs = count * (count - 1) // 2
    assert _acts(tuple(range(count)), sweeps=False) == pairs
    assert max(_acts(labels, sweeps=False) for labels in _partitions(count)) == pairs


@pytest.mark.parametrize(("n", "k", "tests"), [(3, 2, 2), (4, 2, 3), (4, 3, 5), (5, 2, 4), (5, 3, 7), (5, 4, 9)])
def test_the_worst_case_of_k_nets_is_no_less_than_the_published_bound(n, k, tests):
    assert tests == (k - 1) * n - k * (k - 1) // 2
    worst = max(_acts(labels, sweeps=False) for labels in _partitions(n) if len(set(labels)) <= k)
    assert worst >= tests


def test_sweeps_beat_the_bound_of_pair_probes_by_far():
    """19 contacts, all alone: 171 pairs (k = n = 19 in the table of the source), or a sweep for all but one."""
    assert (19 - 1) * 19 - 19 * 18 // 2 == 171
    assert _acts(tuple(range(19)), sweeps=True) == 18


def _acts(labels: tuple[int, ...], sweeps: bool) -> int:
    points = tuple(f"A:{number}" for number in range(1, len(labels) + 1))
    *_, (_, taken) = mapped(dict(zip(points, labels, strict=True)), (points,), sweeps=sweeps)
    return len(taken)


def _partitions(count: int) -> Iterator[tuple[int, ...]]:
    def grown(labels: tuple[int, ...], most: int) -> Iterator[tuple[int, ...]]:
        if len(labels) == count:
            yield labels
            return
        for label in range(most + 1):
            yield from grown((*labels, label), max(most, label + 1))

    return grown((), 0)
