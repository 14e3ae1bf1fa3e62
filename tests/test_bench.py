"""What a run of the benchmarks tells, and when it ends badly."""

import io

from rich.console import Console

from tests.bench.__main__ import tell
from tests.bench.figure import Figure

SLOW = Figure("submit a map", "2.1 s", "≤ 1 s", met=False)
FAST = Figure("draw [66 contacts]", "0.1 s", "≤ 1 s", met=True)
WRONG = Figure("true cables rejected", "3", "0", met=False, exact=True)


def told(*figures: Figure) -> tuple[int, str]:
    """Status and printed text."""
    paper = io.StringIO()
    return tell(figures, Console(file=paper, width=100)), paper.getvalue()


def test_a_time_that_misses_its_bound_is_shown_and_fails_nothing():
    status, text = told(SLOW, FAST)

    assert status == 0
    slow, fast = (line for line in text.splitlines() if " s " in line)
    assert [cell.strip() for cell in slow.split("│")[1:-1]] == ["submit a map", "2.1 s", "≤ 1 s", "no"]
    assert [cell.strip() for cell in fast.split("│")[1:-1]] == ["draw [66 contacts]", "0.1 s", "≤ 1 s", "yes"]


def test_a_count_that_misses_its_bound_ends_the_run_badly():
    status, text = told(FAST, WRONG)

    assert status == 1
    assert "missed: true cables rejected" in text
