"""Where the break is, from what was observed: single methods against scipy's integrals, and what people are told."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import quad

from catalogue.core.document import MarkKind
from catalogue.core.line_tests import SPEED_OF_LIGHT
from catalogue.core.location.agreement import disagreements
from catalogue.core.location.likelihood import FARADS_PER_M, log_likelihood
from catalogue.core.location.locate import NoPlaceLeft, break_posterior, locate
from catalogue.core.location.observations import (
    CapacitanceBothEnds,
    CapacitanceTwin,
    Flexing,
    LoopBridge,
    Opened,
    Reflection,
    Side,
    Suspicion,
)
from catalogue.core.location.opening import WINDOW_M, open_next
from catalogue.core.location.prior import Prior

KINK, CUT = Suspicion(MarkKind.KINK, 3.1), Suspicion(MarkKind.CUT, 1.0)
THREE_METRES = CapacitanceBothEnds(301e-12, 101e-12, 1.0, 1e-12)
ECHO = Reflection(Side.NEAR, 30e-9, 0.1e-9, 0.66, 0.02)


def normal(value, mean, deviation):
    return math.exp(-0.5 * ((value - mean) / deviation) ** 2)


def interval(*observations, prior=None):
    return break_posterior(observations, prior or Prior(4.0)).shortest_interval(0.9)


@pytest.mark.parametrize(
    ("observation", "at_m"),
    [
        (THREE_METRES, 3.0),
        (CapacitanceTwin(301e-12, 402e-12, 1.0, 1e-12), 3.0),
        (ECHO, 2.968),
        (Reflection(Side.FAR, 10e-9, 0.1e-9, 0.66, 0.0), 3.011),
        (LoopBridge(arm_known=5.0, arm_other=3.0, loop_m=8.0, percent=1.0), 3.0),
        (Flexing(3.0, 0.1), 3.0),
    ],
    ids=lambda value: getattr(value, "method", None),
)
def test_each_method_by_itself_puts_the_break_where_its_formula_does(observation, at_m):
    found = break_posterior([observation], Prior(4.0))
    assert found.median_m == pytest.approx(at_m, abs=0.01)
    start_m, end_m = found.shortest_interval(0.9)
    assert start_m < at_m < end_m < start_m + 0.35


def test_the_reflection_is_summed_up_over_the_velocity_factor_as_scipy_does():
    places = np.array([1.0, 2.5, 2.9, 3.0, 3.2])

    def integrated(at_m):
        return quad(
            lambda factor: normal(factor, 0.66, 0.02) * normal(30e-9, 2 * at_m / (factor * SPEED_OF_LIGHT), 0.1e-9),
            0.1,
            1.5,
            points=[2 * at_m / (30e-9 * SPEED_OF_LIGHT)],
            epsabs=0,
            limit=200,
        )[0]

    expected = np.log([integrated(at_m) for at_m in places[1:]])
    found = log_likelihood([ECHO], 4.0, places)[1:]
    assert found - found[0] == pytest.approx(expected - expected[0], abs=1e-4)


def test_the_capacitance_is_summed_up_over_that_of_a_metre_as_scipy_does():
    """Between the limits of the capacitance per metre, each as likely; 1 % and 1 pF are limits, so over sqrt(3)."""
    places = np.array([2.95, 2.98, 3.0, 3.04])

    def deviation(reading):
        line = reading - 1.0
        return np.sqrt((0.01 * reading) ** 2 / 3 + 1 / 3 + 0.5**2 + (0.01 * line) ** 2)

    def integrated(at_m):
        return quad(
            lambda per_m: (
                normal(301, per_m * at_m + 1, deviation(301)) * normal(101, per_m * (4 - at_m) + 1, deviation(101))
            ),
            *(limit * 1e12 for limit in FARADS_PER_M),
            points=[100],
            epsabs=0,
            limit=500,
        )[0]

    expected = np.log([integrated(at_m) for at_m in places])
    found = log_likelihood([THREE_METRES], 4.0, places)
    assert found - found[0] == pytest.approx(expected - expected[0], abs=1e-6)


def test_repeating_a_reading_with_one_instrument_does_not_average_its_percentage_away():
    def width(readings):
        start_m, end_m = interval(*[CapacitanceTwin(301e-12, 402e-12, 3.0, 1e-15)] * readings)
        return end_m - start_m

    assert width(50) == pytest.approx(width(1), rel=0.02)


def test_one_velocity_factor_told_twice_is_known_no_better_but_echoes_from_both_ends_tell_it():
    def width(*echoes):
        start_m, end_m = interval(*echoes)
        return end_m - start_m

    far = Reflection(Side.FAR, 10.4e-9, 0.1e-9, 0.66, 0.02)
    assert width(ECHO, ECHO) > 0.95 * width(ECHO)
    assert width(ECHO, far) < 0.2 * width(ECHO)


def test_an_opening_rules_out_the_way_to_the_sound_end():
    assert interval(Opened(3.0, Side.NEAR))[0] >= 3.0
    assert interval(Opened(3.0, Side.FAR))[1] <= 3.0


def test_marks_share_what_is_theirs():
    before = locate([], Prior(4.0, (KINK, CUT)))
    assert before.mark_shares == pytest.approx((4 / 14, 8 / 14), abs=0.01)
    opened = locate([Opened(2.0, Side.NEAR)], Prior(4.0, (KINK, CUT)))
    assert opened.mark_shares == pytest.approx((0.8, 0.0), abs=0.01)


def test_two_marks_at_one_place_share_by_their_weight():
    shares = locate([Flexing(3.1, 0.05)], Prior(4.0, (KINK, Suspicion(MarkKind.ABRASION, 3.1)))).mark_shares
    assert shares[0] == pytest.approx(4 * shares[1])


def test_places_where_others_found_breaks_draw_the_break():
    found = break_posterior([], Prior(4.0, reports_m=(2.0, 2.02, 2.04, 2.0)))
    assert np.diff(found.before(np.array([1.8, 2.2])))[0] == pytest.approx(4 / 6 + 2 / 6 * 0.1, abs=0.01)


@given(st.lists(st.floats(0, 3.0), max_size=5), st.lists(st.floats(0, 3.0), max_size=20))
def test_the_prior_is_a_density(marks_m, reports_m):
    prior = Prior(3.0, tuple(Suspicion(MarkKind.KINK, at_m) for at_m in marks_m), tuple(reports_m))
    at_m = np.linspace(0, 3, 30_001)
    assert np.trapezoid(prior.density(at_m), at_m) == pytest.approx(1, abs=1e-4)
    assert (prior.mark_shares(at_m).sum(axis=0) <= 1).all()


def test_observations_that_tell_of_two_places_are_named_and_nothing_is_to_be_opened():
    location = locate([THREE_METRES, Flexing(3.0, 0.2), Reflection(Side.NEAR, 10e-9, 1e-10, 0.66, 0.02)], Prior(4.0))
    worst = location.disagreements[0]
    assert (worst.one, worst.other) == (0, 2)
    assert worst.odds > 1e6
    assert location.open_next is None


def test_observations_that_tell_of_one_place_do_not_disagree():
    location = locate([THREE_METRES, ECHO, ECHO, Flexing(3.0, 0.2), Opened(2.5, Side.NEAR)], Prior(4.0, (KINK,)))
    assert location.disagreements == ()
    assert location.open_next is not None


def test_evidence_of_one_place_is_that_of_two_normal_densities():
    """Two exact-velocity echoes of 0.2 m each on an even prior: the integral of the product of two densities."""

    def echo(at_m):
        deviation_s = 0.2 * 2 / (0.66 * SPEED_OF_LIGHT)
        return Reflection(Side.NEAR, 2 * at_m / (0.66 * SPEED_OF_LIGHT), deviation_s, 0.66, 0.0)

    (told,) = disagreements([echo(4.0), echo(6.0)], Prior(10.0))
    evidence = 10 * stats.norm(4, 0.2 * np.sqrt(2)).pdf(6)
    assert told.odds == pytest.approx(1 / evidence, rel=0.2)


def test_openings_that_leave_no_place_are_named():
    with pytest.raises(NoPlaceLeft) as raised:
        locate([Opened(2.0, Side.NEAR), THREE_METRES, Opened(1.0, Side.FAR)], Prior(4.0))
    assert (0, 2) in {(each.one, each.other) for each in raised.value.disagreements}


def test_an_opening_at_the_very_end_that_is_sound_towards_the_rest_leaves_no_place():
    with pytest.raises(NoPlaceLeft):
        locate([Opened(4.0, Side.NEAR), THREE_METRES], Prior(4.0))


@pytest.mark.parametrize(
    ("observation", "told"),
    [
        (Reflection(Side.NEAR, 60e-9, 0.1e-9, 0.66, 0.02), "outside the conductor's 0 to 4 m"),
        (Reflection(Side.FAR, 60e-9, 0.1e-9, 0.66, 0.02), "outside the conductor's 0 to 4 m"),
        (CapacitanceTwin(402e-12, 301e-12, 1.0, 1e-12), "outside the conductor's 0 to 4 m"),
        (LoopBridge(3.0, 5.0, 8.0, 1.0), "With the arms exchanged it would be 3 m"),
        (CapacitanceBothEnds(3e-12, 2e-12, 1.0, 1e-13), "0.75 pF per metre"),
        (CapacitanceBothEnds(30e-9, 10e-9, 1.0, 1e-13), "1e+04 pF per metre"),
    ],
)
def test_a_measurement_that_cannot_be_is_told_and_nothing_is_to_be_opened(observation, told):
    location = locate([observation], Prior(4.0))
    assert told in location.plain[0].impossible
    assert location.open_next is None


def test_a_measurement_just_beyond_the_end_is_a_break_at_the_end():
    location = locate([LoopBridge(3.98, 4.02, 8.0, 1.0)], Prior(4.0))
    assert location.plain[0].impossible == ""
    assert location.found.median_m > 3.95


def opened_by_advice(observations, prior, break_m):
    """Openings made by following the advice until it ends or the break is bared."""
    done = list(observations)
    measured = break_posterior(observations, prior)
    while advice := open_next(break_posterior(done, prior), measured, done):
        if abs(advice.at_m - break_m) <= WINDOW_M / 2:
            return len(done) - len(observations) + 1, True
        done.append(Opened(advice.at_m, Side.NEAR if advice.at_m < break_m else Side.FAR))
    left = break_posterior(done, prior).shortest_interval(0.999)
    return len(done) - len(observations), left[0] <= break_m <= left[1] <= left[0] + 0.06


@given(st.floats(0.001, 0.999))
def test_following_the_advice_finds_any_break(share):
    prior = Prior(3.0, (Suspicion(MarkKind.KINK, 2.0),))
    _, located = opened_by_advice([], prior, share * 3.0)
    assert located


def expected_openings(done, measured, prior):
    """Openings on average when the advice is followed: every way it can go, each with its chance."""
    found = break_posterior(done, prior)
    advice = open_next(found, measured, done)
    if advice is None:
        return 0.0
    edges = [0.0, advice.at_m - WINDOW_M / 2, advice.at_m + WINDOW_M / 2, prior.length_m]
    near = [each.at_m + WINDOW_M / 2 for each in done if each.sound_towards is Side.NEAR]
    far = [each.at_m - WINDOW_M / 2 for each in done if each.sound_towards is Side.FAR]
    before, _, beyond = np.diff(found.between(max([0.0, *near]), min([prior.length_m, *far])).before(np.array(edges)))
    openings = 1.0
    for chance, side in ((before, Side.FAR), (beyond, Side.NEAR)):
        if chance > 1e-9:
            openings += chance * expected_openings([*done, Opened(advice.at_m, side)], measured, prior)
    assert openings <= advice.expected_openings + 1e-3
    return openings


@pytest.mark.parametrize("places_m", [(), (1.0,), (1.0, 0.2)])
def test_following_the_advice_takes_no_more_openings_than_told(places_m):
    prior = Prior(1.5, tuple(Suspicion(MarkKind.KINK, at_m) for at_m in places_m))
    measured = break_posterior([], prior)
    told = open_next(measured, measured, [])
    assert expected_openings([], measured, prior) > told.expected_openings - 0.5
    assert told.expected_openings <= told.halving_openings


def test_opening_is_advised_where_the_break_is_all_but_known_to_be():
    advice = locate([Reflection(Side.NEAR, 30e-9, 1e-12, 0.66, 0.0)], Prior(4.0)).open_next
    assert advice.at_m == pytest.approx(2.968, abs=0.001)
    assert advice.expected_openings == pytest.approx(1.0)


def test_nothing_more_is_to_be_opened_between_two_openings_five_centimetres_apart():
    assert locate([Opened(2.0, Side.NEAR), Opened(2.05, Side.FAR)], Prior(4.0)).open_next is None


def test_ten_kilometres_are_located_to_what_a_thousand_places_allow():
    advice = locate([], Prior(10_000.0)).open_next
    assert advice.at_m == pytest.approx(5000, abs=10)
    assert advice.within_m == pytest.approx(10, rel=0.01)
    assert advice.expected_openings == pytest.approx(np.log2(1000), abs=0.1)


def test_a_narrow_echo_on_ten_kilometres_is_found():
    found = break_posterior([Reflection(Side.NEAR, 50e-6, 1e-11, 0.66, 0.0)], Prior(10_000.0))
    assert found.median_m == pytest.approx(0.66 * SPEED_OF_LIGHT * 25e-6, abs=0.001)
