"""The drawn strip of failure points: to scale, within its bar, and with dots that do not hide each other."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import Section
from catalogue.core.failures import Ending, Failure, FailureKind, failure_points
from catalogue.views.strip import DOT, EDGE, WIDTH, strips

MAIN = Section("main", "POD", "TOOL", 4.0)
TAIL = Section("tail", "USB", "POD", 1.0)


def points(*places_m, section="main"):
    failures = [Failure(FailureKind.CORE_OPEN, Ending.MENDED, section=section, at_m=at_m) for at_m in places_m]
    return failure_points(failures)


def test_bars_are_to_one_scale_and_the_longest_fills_the_width():
    main, tail = strips([MAIN, TAIL], points(1.0))
    assert main.bar == pytest.approx(WIDTH - 2 * EDGE)
    assert tail.bar == pytest.approx(main.bar / 4)


def test_a_point_stands_at_its_share_of_the_bar_with_its_span_around_it():
    (main,) = strips([MAIN], points(2.95, 3.0, 3.05))
    (pin,) = main.pins
    assert pin.x == pytest.approx(EDGE + main.bar * 3 / 4)
    assert pin.first_x == pytest.approx(EDGE + main.bar * 2.95 / 4)
    assert pin.span == pytest.approx(main.bar * 0.1 / 4)


def test_points_at_both_ends_stay_on_the_drawing():
    (main,) = strips([MAIN], points(0.0, 4.0))
    first, last = main.pins
    assert first.x - DOT >= 0
    assert last.x + DOT <= WIDTH


@given(st.lists(st.floats(0, 40), max_size=30))
def test_no_dot_hides_another(places_m):
    (hose,) = strips([Section("main", "POD", "TOOL", 40.0)], points(0.0, *places_m))
    for pin in hose.pins:
        assert pin.y - DOT >= 0
        assert pin.y + DOT <= hose.base
    for one, other in itertools.combinations(hose.pins, 2):
        assert (one.x - other.x) ** 2 + (one.y - other.y) ** 2 >= (2 * DOT - 1e-6) ** 2


def test_without_a_place_or_a_length_nothing_is_drawn():
    unmeasured = Section("main", "POD", "TOOL")
    assert strips([MAIN], points()) == ()
    assert strips([unmeasured], points(1.0)) == ()
