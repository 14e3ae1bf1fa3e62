"""What one reading bounds, and which are refused together; the second way is brute force or scipy."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from catalogue.core.bounds import Bound, Violation, _Ways, bounds, disputed, steps, violations
from catalogue.core.document import Meter, Mode, Reading, Result
from catalogue.core.findings import Limit
from tests.core import strategies

METER = Meter()


def ohms(value: float, red: str = "A:1", black: str = "B:1", id: str = "r1", **more: object) -> Reading:
    return Reading(id, Mode.OHMS, red, (black,), Result.VALUE, value, **more)


def over(red: str = "A:1", black: str = "B:1", id: str = "r1", **more: object) -> Reading:
    return Reading(id, Mode.OHMS, red, (black,), Result.OVER, **more)


def beep(beeps: bool, red: str = "A:1", black: str = "B:1", id: str = "r1", **more: object) -> Reading:
    return Reading(id, Mode.BEEP, red, (black,), Result.BEEPS if beeps else Result.SILENT, **more)


def sweep(beeps: bool, red: str, *black: str, id: str = "r1") -> Reading:
    return Reading(id, Mode.SWEEP, red, black, Result.BEEPS if beeps else Result.SILENT)


def only(*readings: Reading, meter: Meter = METER) -> Bound:
    (bound,) = bounds(readings, meter)
    return bound


# --- what one reading bounds ---


def test_a_value_is_bounded_by_the_accuracy_of_the_meter_its_leads_and_the_touch_of_the_probes():
    bound = only(ohms(10.0, digit_ohms=0.1))
    # 0.8 % and 2 digits of 0.1 make 0.28 either way; leads 0.2 always, touch 0 to 0.5
    assert bound == Bound("r1", "A:1", "B:1", pytest.approx(9.02), pytest.approx(10.08), True)


@pytest.mark.parametrize(("shown", "limit"), [(10.0, 0.28), (0.5, 0.204)])
def test_accuracy_of_a_common_meter_as_its_manual_has_it(shown: float, limit: float):
    # accuracy of 0.8 % and 2 digits on the 200 ohm range, 0.1 ohm digit: Elenco M-1000D manual, page 7
    meter = Meter(lead_ohms=0.0, contact_ohms=0.0)
    bound = only(ohms(shown, digit_ohms=0.1), meter=meter)
    assert (bound.upper - bound.lower) / 2 == pytest.approx(limit)


def test_neither_bound_is_below_zero():
    bound = only(ohms(0.0, digit_ohms=0.01))
    assert (bound.lower, bound.upper) == (0.0, 0.0)


def test_over_limit_proves_no_more_than_the_range_in_use_less_what_the_meter_may_be_off():
    bound = only(over(range_ohms=2000.0, digit_ohms=1.0))
    assert (bound.lower, bound.upper) == (pytest.approx(2000 - 16 - 2 - 0.7), math.inf)


def test_over_limit_without_a_range_is_at_the_end_of_the_highest():
    bound = only(over())
    assert bound.lower == pytest.approx(40e6 * (1 - 0.008 - 2 / 2000) - 0.7)


def test_a_beep_allows_at_most_the_highest_threshold():
    assert only(beep(True)) == Bound("r1", "A:1", "B:1", 0.0, 60.0, True)


def test_silence_proves_at_least_the_lowest_threshold_less_leads_and_touch():
    assert only(beep(False)) == Bound("r1", "A:1", "B:1", pytest.approx(19.3), math.inf, False)


def test_a_silent_sweep_is_silent_on_each_member():
    found = bounds([sweep(False, "A:1", "B:1", "B:2", "B:1")], METER)
    assert [(bound.b, bound.lower) for bound in found] == [
        ("B:1", pytest.approx(19.3)),
        ("B:2", pytest.approx(19.3)),
    ]


def test_a_sweep_that_beeped_on_several_contacts_says_nothing_of_any_pair():
    assert bounds([sweep(True, "A:1", "B:1", "B:2")], METER) == ()


def test_a_sweep_that_beeped_on_one_contact_is_a_beep():
    assert only(sweep(True, "A:1", "B:1", "B:1")) == only(beep(True))


@pytest.mark.parametrize(
    "reading",
    [
        ohms(0.6, flexed=True),
        over(flexed=True),
        beep(True, flexed=True),
        Reading("r1", Mode.DIODE, "A:1", ("B:1",), Result.VALUE, 0.55),
        Reading("r1", Mode.DIODE, "A:1", ("B:1",), Result.OVER),
        Reading("r1", Mode.FARADS, "A:1", ("B:1",), Result.VALUE, 1.2e-10),
    ],
)
def test_flexing_diode_and_capacitance_readings_say_nothing_about_resistance(reading: Reading):
    assert bounds([reading], METER) == ()


@pytest.mark.parametrize(
    ("value", "more", "digit"),
    [
        (0.6, {}, 0.1),
        (180.0, {}, 0.1),
        (181.0, {}, 1.0),
        (199.9, {"range_ohms": 200.0}, 0.1),
        (250.0, {}, 1.0),
        (5100.0, {}, 10.0),
        (35.0, {"range_ohms": 2000.0}, 1.0),
        (250.0, {"range_ohms": 200.0}, 1.0),
        (35.0, {"range_ohms": 2000.0, "digit_ohms": 0.01}, 0.01),
    ],
)
def test_without_a_last_digit_the_coarsest_display_that_could_have_shown_the_value_is_taken(
    value: float, more: dict[str, float], digit: float
):
    meter = Meter(lead_ohms=0.0, contact_ohms=0.0, accuracy_pct=0.0, accuracy_digits=1.0)
    assert only(ohms(value, **more), meter=meter).upper == pytest.approx(value + digit)


# --- what is ohmic ---


def test_what_reads_200_ohms_or_less_is_no_junction():
    assert only(ohms(195.0, digit_ohms=0.1)).ohmic
    assert not only(ohms(5100.0)).ohmic


def test_what_reads_alike_with_the_probes_changed_over_is_no_junction():
    found = bounds([ohms(5100.0, "A:1", "B:1"), ohms(5110.0, "B:1", "A:1", "r2")], METER)
    assert [bound.ohmic for bound in found] == [True, True]


@pytest.mark.parametrize(
    "again",
    [
        ohms(9000.0, "B:1", "A:1", "r2"),
        ohms(5100.0, "A:1", "B:1", "r2"),
        ohms(5100.0, "B:1", "A:1", "r2", flexed=True),
        over("B:1", "A:1", "r2"),
    ],
)
def test_another_value_the_same_polarity_flexing_or_over_limit_prove_nothing_ohmic(again: Reading):
    assert not bounds([ohms(5100.0, "A:1", "B:1"), again], METER)[0].ohmic


@given(st.lists(st.tuples(st.booleans(), st.sampled_from([300.0, 305.0, 330.0, 400.0])), max_size=8))
def test_ohmic_by_both_polarities_is_found_as_by_comparing_each_with_each(reads: list[tuple[bool, float]]):
    readings = [
        ohms(value, *(("A:1", "B:1") if forward else ("B:1", "A:1")), f"r{number}")
        for number, (forward, value) in enumerate(reads)
    ]
    found = bounds(readings, METER)
    for bound in found:
        alike = (other.a == bound.b and other.lower <= bound.upper and bound.lower <= other.upper for other in found)
        assert bound.ohmic == any(alike)
        assert bool(bound.alike) == bound.ohmic


# --- which readings are refused together ---


def refused(*readings: Reading) -> tuple[Violation, ...]:
    return violations(bounds(readings, METER))


def test_an_open_pair_that_a_third_point_joins_is_refused_with_that_way_as_witness():
    (violation,) = refused(
        ohms(0.6, "A:1", "B:1", "r1", digit_ohms=0.1),
        ohms(0.7, "B:2", "B:1", "r2", digit_ohms=0.1),
        over("A:1", "B:2", "r3", range_ohms=2000.0),
    )
    assert violation.ohmic
    assert violation.bound.reading == "r3"
    assert [(s.reading, s.start, s.finish, s.limit) for s in steps(violation)] == [
        ("r1", "A:1", "B:1", Limit.AT_MOST),
        ("r2", "B:1", "B:2", Limit.AT_MOST),
        ("r3", "A:1", "B:2", Limit.AT_LEAST),
    ]
    assert violation.shortest_ohms == pytest.approx((0.6 + 0.2048 - 0.2) + (0.7 + 0.2056 - 0.2))


def test_repeats_that_disagree_are_refused():
    (violation,) = refused(ohms(0.6, id="r1"), ohms(5100.0, id="r2"))
    assert [link.reading for link in violation.path] == ["r1"]
    assert violation.bound.reading == "r2"


def test_repeats_that_agree_are_not():
    assert refused(ohms(0.6, id="r1"), ohms(0.8, id="r2"), beep(True, id="r3")) == ()


def test_a_triangle_with_one_side_longer_than_the_others_together_is_refused():
    sides = (ohms(100.0, "A:1", "A:2", "r1"), ohms(90.0, "A:2", "A:3", "r2"))
    assert refused(*sides, ohms(192.0, "A:1", "A:3", "r3")) == ()
    (violation,) = refused(*sides, ohms(198.0, "A:1", "A:3", "r3"))
    assert {link.reading for link in violation.path} == {"r1", "r2"}


def test_a_point_probed_against_itself_must_read_nothing():
    assert refused(ohms(0.6, "A:1", "A:1")) == ()
    (violation,) = refused(over("A:1", "A:1"))
    assert (violation.path, violation.shortest_ohms, violation.ohmic) == ((), 0.0, True)
    assert [step.limit for step in steps(violation)] == [Limit.AT_LEAST]


def test_a_way_through_what_may_be_a_junction_is_refused_without_proof():
    readings = [
        ohms(0.5e6, "A:1", "A:2", "r1"),
        ohms(0.6, "A:2", "A:3", "r2"),
        over("A:1", "A:3", "r3"),
    ]
    (violation,) = refused(*readings)
    assert not violation.ohmic
    (proved,) = refused(*readings, ohms(0.5e6, "A:2", "A:1", "r4"))
    assert proved.ohmic


def test_an_ohmic_way_is_preferred_to_a_shorter_one_that_may_hold_a_junction():
    found = violations(
        (
            Bound("short", "A:1", "A:2", 0.0, 1.0, False),
            Bound("long", "A:1", "A:2", 0.0, 5.0, True),
            Bound("open", "A:1", "A:2", 9.0, math.inf, False),
            Bound("some", "A:1", "A:2", 3.0, math.inf, False),
        )
    )
    assert [(v.bound.reading, v.path[0].reading, v.ohmic) for v in found] == [
        ("open", "long", True),
        ("some", "short", False),
    ]


def test_a_conductor_of_no_resistance_at_all_is_a_link():
    found = violations(
        (
            Bound("zero", "A:1", "A:2", 0.0, 0.0, True),
            Bound("also", "A:2", "A:3", 0.0, 0.0, True),
            Bound("open", "A:3", "A:1", 1.0, math.inf, False),
        )
    )
    assert [link.reading for link in found[0].path] == ["also", "zero"]


def test_no_readings_refuse_nothing():
    assert violations(()) == ()


# --- the second way ---


def feasible_as_a_metric(found: tuple[Bound, ...], usable: tuple[Bound, ...]) -> bool:
    """Whether scipy finds distances that keep all lower bounds, usable upper bounds, and triangles."""
    names = sorted({point for bound in found for point in (bound.a, bound.b)})
    if any(bound.a == bound.b and bound.lower > 0 for bound in found):
        return False
    column = {pair: number for number, pair in enumerate(combinations(names, 2))}
    limits = [[0.0, np.inf] for _ in column]
    for bound in found:
        if bound.a != bound.b:
            limit = limits[column[min(bound.a, bound.b), max(bound.a, bound.b)]]
            limit[0] = max(limit[0], bound.lower)
            limit[1] = min(limit[1], bound.upper if bound in usable else np.inf)
    if not column or any(lower > upper for lower, upper in limits):
        return not any(lower > upper for lower, upper in limits)
    triangles = []
    for a, b, c in permutations(names, 3):
        row = np.zeros(len(column))
        row[column[min(a, c), max(a, c)]] = 1
        row[column[min(a, b), max(a, b)]] -= 1
        row[column[min(b, c), max(b, c)]] -= 1
        triangles.append(row)
    result = linprog(
        np.zeros(len(column)),
        A_ub=np.array(triangles) if triangles else None,
        b_ub=np.zeros(len(triangles)) if triangles else None,
        bounds=limits,
    )
    assert result.status in (0, 2), result.message
    return result.status == 0


@given(strategies.whole_bounds())
def test_bounds_can_all_be_kept_by_a_metric_exactly_when_none_is_refused(found: tuple[Bound, ...]):
    ohmic = tuple(bound for bound in found if bound.ohmic)
    assert feasible_as_a_metric(found, found) == (not violations(found))
    proved = [violation for violation in violations(found) if violation.ohmic]
    assert feasible_as_a_metric(found, ohmic) == (not proved)


def shortest_by_all_ways(links: tuple[Bound, ...], a: str, b: str) -> float:
    """The least sum of upper bounds over every order of every choice of points between."""
    if a == b:
        return 0.0
    least: dict[tuple[str, str], float] = {}
    for link in links:
        for pair in ((link.a, link.b), (link.b, link.a)):
            least[pair] = min(least.get(pair, math.inf), link.upper)
    others = sorted({point for pair in least for point in pair} - {a, b})
    return min(
        sum(least.get(pair, math.inf) for pair in zip((a, *way), (*way, b), strict=True))
        for length in range(len(others) + 1)
        for way in permutations(others, length)
    )


@given(strategies.whole_bounds())
def test_each_refusal_is_the_shortest_of_all_ways(found: tuple[Bound, ...]):
    ohmic = tuple(bound for bound in found if bound.ohmic)
    answers = {violation.bound: violation for violation in violations(found)}
    for bound in found:
        over_ohmic = shortest_by_all_ways(ohmic, bound.a, bound.b)
        over_all = shortest_by_all_ways(found, bound.a, bound.b)
        if bound.lower > over_ohmic:
            assert (answers[bound].ohmic, answers[bound].shortest_ohms) == (True, over_ohmic)
        elif bound.lower > over_all:
            assert (answers[bound].ohmic, answers[bound].shortest_ohms) == (False, over_all)
        else:
            assert bound not in answers


@given(strategies.whole_bounds(most_points=7, most=25))
def test_each_witness_leads_from_point_to_point_and_asks_more_than_it_allows(found: tuple[Bound, ...]):
    for violation in violations(found):
        *way, last = steps(violation)
        at, total = last.start, 0.0
        for step in way:
            assert step.start == at
            assert any(
                {b.a, b.b} == {step.start, step.finish}
                and (b.reading, b.upper) == (step.reading, step.ohms)
                and (b.ohmic or not violation.ohmic)
                for b in found
            )
            at, total = step.finish, total + step.ohms
        assert at == last.finish
        assert last.ohms == violation.bound.lower > total == violation.shortest_ohms
        assert violation.bound in found


@given(strategies.whole_bounds(most_points=7, most=25))
def test_disputed_are_the_readings_of_all_violations(found: tuple[Bound, ...]):
    refused = violations(found)
    named = {each.reading for violation in refused for each in (violation.bound, *violation.path)}
    told = disputed(refused)
    assert set(told) == named
    assert len(told) == len(named)


def test_readings_at_odds_along_one_long_chain_are_gathered_without_walking_it_for_each(
    monkeypatch: pytest.MonkeyPatch,
):
    chain = [Bound(f"c{n}", f"A:{n}", f"A:{n + 1}", 0.0, 0.1, True) for n in range(100)]
    opens = [Bound(f"o{n}", "A:0", f"A:{n}", 50.0, math.inf, False) for n in range(1, 101)]
    refused = violations([*chain, *opens])
    walked = []
    back = _Ways.back_from

    def counted(self: _Ways, point: str) -> Iterator[tuple[int, Bound]]:
        for each in back(self, point):
            walked.append(each)
            yield each

    monkeypatch.setattr(_Ways, "back_from", counted)
    assert len(disputed(refused)) == 200
    assert len(walked) <= 200


@given(strategies.whole_bounds(), st.randoms())
def test_the_order_of_readings_does_not_change_what_is_refused(found: tuple[Bound, ...], random):
    shuffled = random.sample(found, len(found))
    assert {(v.bound, v.shortest_ohms, v.ohmic) for v in violations(found)} == {
        (v.bound, v.shortest_ohms, v.ohmic) for v in violations(shuffled)
    }


@given(strategies.whole_bounds())
def test_refusals_come_in_the_order_of_the_readings(found: tuple[Bound, ...]):
    numbers = [int(violation.bound.reading[1:]) for violation in violations(found)]
    assert numbers == sorted(numbers)


@given(st.integers(20, 60), st.integers(0, 2**31))
def test_a_search_in_blocks_finds_what_a_search_at_once_finds(count: int, seed: int):
    rng = np.random.default_rng(seed)
    found = []
    for number in range(4 * count):
        a, b = rng.integers(count, size=2).tolist()
        upper = float(rng.integers(1, 50)) if rng.random() < 0.4 else math.inf
        lower = float(rng.integers(0, 60)) if math.isinf(upper) else 0.0
        found.append(Bound(f"r{number}", f"A:{a}", f"A:{b}", lower, upper, True))
    at_once = violations(found)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("catalogue.core.bounds.BLOCK_CELLS", 3 * count)
        assert violations(found) == at_once
