"""What to begin with: against every order of attempts, against simulation, and against its own break-evens."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from catalogue.core.chances import Chance
from catalogue.core.decision import (
    Attempt,
    Lever,
    Stakes,
    best_order,
    decide,
    prospect,
    stop_after_hours,
)
from catalogue.core.outcomes import Option

ATTEMPTED = [option for option in Option if option is not Option.STOP]
MONEY = st.floats(0, 500).map(lambda amount: round(amount, 2))
HOURS = st.floats(0, 20).map(lambda hours: round(hours, 2))
QUICK = settings(max_examples=40)

CHANCE = st.builds(
    Chance, st.floats(0.02, 0.98).map(lambda mean: round(mean, 3)), st.sampled_from([1.0, 4.0, 30.0, float("inf")])
)


@st.composite
def stakes(draw):
    without = draw(MONEY)
    return Stakes(draw(MONEY) / 10, without + draw(MONEY), without)


@st.composite
def attempts(draw):
    options = draw(st.lists(st.sampled_from(ATTEMPTED), unique=True, max_size=4))
    return [Attempt(option, draw(MONEY), draw(HOURS), draw(CHANCE)) for option in options]


def first(given_attempts, given_stakes):
    return decide(given_attempts, given_stakes).ranked[0]


def by_option(decision):
    return {assessment.option: assessment for assessment in decision.ranked}


SHOP = Stakes(hour_worth=10, worth_with_cable=200, worth_without_cable=20)
MEND = Attempt(Option.MEND, 5, 2, Chance(0.5, 4))
BUY = Attempt(Option.BUY_NEW, 90, 0, Chance(1.0))


def test_a_cheap_mend_comes_before_a_sure_but_dear_cable():
    decision = decide([BUY, MEND], SHOP)
    assert [each.option for each in decision.ranked] == [Option.MEND, Option.BUY_NEW, Option.STOP]
    # 200 less the mend's 25, and half of the time the cable's 90 as well.
    assert decision.ranked[0].begun_with.net == pytest.approx(200 - 25 - 45)
    assert decision.ranked[0].begun_with.chance == 1
    assert decision.ranked[0].then == (Option.BUY_NEW,)
    # By itself it leaves 20 every other time.
    assert decision.ranked[0].alone.net == pytest.approx(110 - 25)
    assert decision.ranked[1].begun_with.net == pytest.approx(110)


def test_nothing_worth_its_cost_says_stop():
    decision = decide([replace(MEND, price=500), replace(BUY, price=300)], SHOP)
    assert decision.ranked[0].option is Option.STOP
    assert decision.ranked[0].begun_with.net == 20


def test_without_any_attempt_only_stopping_is_left():
    decision = decide([], SHOP)
    assert [each.option for each in decision.ranked] == [Option.STOP]
    assert decision.ranked[0].best_chance == 1
    assert decision.turns == ()


def test_the_break_even_of_a_mend_against_a_sure_cable():
    even = by_option(decide([MEND, BUY], SHOP))[Option.MEND].break_even
    assert even.against is Option.BUY_NEW
    assert even.chance == pytest.approx(25 / 90)
    assert even.price == pytest.approx(0.5 * 90 - 20)
    assert even.hours == pytest.approx((0.5 * 90 - 5) / 10)
    assert even.worth_trying == pytest.approx(25 / 180)


def test_equal_options_are_told_as_a_tie():
    twin = replace(MEND, option=Option.BUILD)
    decision = decide([MEND, twin], SHOP)
    assert decision.ranked[0].begun_with.net == decision.ranked[1].begun_with.net
    assert decision.close == (Option.BUILD,)
    assert decision.turns[0].distance == pytest.approx(0)


def test_few_outcomes_leave_it_open_and_many_tell_apart():
    sure = Attempt(Option.BUY_NEW, 60, 0, Chance(1.0))
    open_still = decide([replace(MEND, chance=Chance(0.55, 3)), sure], SHOP)
    told_apart = decide([replace(MEND, chance=Chance(0.55, 3000)), sure], SHOP)
    assert open_still.ranked[0].option is told_apart.ranked[0].option is Option.MEND
    assert open_still.close == (Option.BUY_NEW,)
    assert told_apart.close == ()


@given(attempts(), stakes())
def test_no_order_of_attempts_is_better(tries, at_stake):
    orders = [order for count in range(len(tries) + 1) for order in permutations(tries, count)]
    best = max(prospect(order, at_stake).net for order in orders)
    assert prospect(best_order(tries, at_stake), at_stake).net == pytest.approx(best)
    assert first(tries, at_stake).begun_with.net == pytest.approx(best)


@given(attempts(), stakes())
def test_each_option_is_followed_as_well_as_can_be(tries, at_stake):
    for assessment in decide(tries, at_stake).ranked[:-1]:
        if assessment.option is Option.STOP:
            continue
        begun = next(each for each in tries if each.option is assessment.option)
        others = [each for each in tries if each is not begun]
        orders = [(begun, *order) for count in range(len(others) + 1) for order in permutations(others, count)]
        assert assessment.begun_with.net == pytest.approx(max(prospect(order, at_stake).net for order in orders))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_what_is_expected_is_what_happens_on_average(seed):
    """Chances are drawn anew for each of many repairers, then their attempts, one after the other."""
    rng = np.random.default_rng(seed)
    tries = [
        Attempt(option, rng.uniform(5, 60), rng.uniform(0, 4), Chance(rng.uniform(0.2, 0.9), 5)) for option in ATTEMPTED
    ]
    runs = 200_000
    failed, spent = np.ones(runs, bool), np.zeros(runs)
    for attempt in tries:
        spent += failed * (attempt.price + attempt.hours * SHOP.hour_worth)
        mean, weight = attempt.chance.mean, attempt.chance.weight
        failed &= rng.random(runs) >= rng.beta(mean * weight, (1 - mean) * weight, runs)
    nets = np.where(failed, SHOP.worth_without_cable, SHOP.worth_with_cable) - spent
    found = prospect(tries, SHOP)
    assert found.net == pytest.approx(nets.mean(), abs=5 * nets.std() / runs**0.5)
    assert found.cost == pytest.approx(spent.mean(), abs=5 * spent.std() / runs**0.5)
    assert found.chance == pytest.approx(1 - failed.mean(), abs=0.005)


@QUICK
@given(attempts(), stakes(), st.integers(0, 99))
def test_the_probability_of_being_best_is_how_often_it_is(tries, at_stake, seed):
    assume(all(each.cost(at_stake) > 0 for each in tries) and at_stake.gain > 0)
    rng, runs = np.random.default_rng(seed), 20_000
    buys = [np.full(runs, 1 / at_stake.gain)]
    for each in tries:
        mean, weight = each.chance.mean, each.chance.weight
        drawn = np.full(runs, mean) if each.chance.is_exact else rng.beta(mean * weight, (1 - mean) * weight, runs)
        buys.append(drawn / each.cost(at_stake))
    prices = [at_stake.gain, *(each.price_of_success(at_stake) for each in tries)]
    assume(len({round(price, 6) for price in prices}) == len(prices))
    counts = np.bincount(np.argmax(buys, axis=0), minlength=len(buys)) / runs
    found = by_option(decide(tries, at_stake))
    assert sum(each.best_chance for each in found.values()) == pytest.approx(1)
    expected = dict(zip([Option.STOP, *(each.option for each in tries)], counts, strict=True))
    for option, share in expected.items():
        assert found[option].best_chance == pytest.approx(share, abs=0.025)


@QUICK
@given(attempts().filter(bool), stakes())
def test_an_option_is_first_exactly_from_its_break_even_chance_on(tries, at_stake):
    for place, attempt in enumerate(tries):
        even = by_option(decide(tries, at_stake))[attempt.option].break_even

        def net_with(chance, place=place, attempt=attempt):
            changed = [*tries[:place], replace(attempt, chance=Chance(chance)), *tries[place + 1 :]]
            return by_option(decide(changed, at_stake)), attempt.option

        if even.chance is None:
            found, option = net_with(1.0)
            assert found[option].begun_with.net < max(each.begun_with.net for each in found.values()) + 1e-9
        else:
            found, option = net_with(even.chance)
            best = max(each.begun_with.net for each in found.values())
            assert found[option].begun_with.net == pytest.approx(best)
            assert found[even.against].begun_with.net == pytest.approx(best)
            above, _ = net_with(min(1.0, even.chance * 1.01 + 1e-6))
            assert above[option].begun_with.net >= max(each.begun_with.net for each in above.values()) - 1e-9


@QUICK
@given(attempts().filter(bool), stakes())
def test_at_its_break_even_price_and_hours_an_option_equals_its_rival(tries, at_stake):
    found = by_option(decide(tries, at_stake))
    for place, attempt in enumerate(tries):
        even = found[attempt.option].break_even
        for lever, value in (("price", even.price), ("hours", even.hours)):
            if value is not None:
                changed = [*tries[:place], replace(attempt, **{lever: value}), *tries[place + 1 :]]
                then = by_option(decide(changed, at_stake))
                best = max(each.begun_with.net for each in then.values())
                assert then[attempt.option].begun_with.net == pytest.approx(best, abs=1e-6)
                assert then[even.against].begun_with.net == pytest.approx(best, abs=1e-6)


@QUICK
@given(attempts().filter(bool), stakes())
def test_at_each_turn_the_first_and_the_one_named_are_equal(tries, at_stake):
    decision = decide(tries, at_stake)
    for turn in decision.turns:
        if turn.lever is Lever.HOUR_WORTH:
            then = decide(tries, replace(at_stake, hour_worth=turn.at))
        elif turn.lever is Lever.WORTH_WITH_CABLE:
            then = decide(tries, replace(at_stake, worth_with_cable=turn.at))
        else:
            continue
        found, best = by_option(then), then.ranked[0].begun_with.net
        assert found[turn.first_then].begun_with.net == pytest.approx(best, abs=1e-6)
        assert found[decision.ranked[0].option].begun_with.net == pytest.approx(best, abs=1e-6)


@QUICK
@given(attempts(), stakes())
def test_turns_come_nearest_first(tries, at_stake):
    distances = [turn.distance for turn in decide(tries, at_stake).turns]
    assert distances == sorted(distances)


@QUICK
@given(attempts().filter(bool), stakes(), st.floats(0, 1), st.floats(0, 100))
def test_better_chances_and_lower_prices_never_make_a_plan_worse(tries, at_stake, better, dearer):
    before = by_option(decide(tries, at_stake))
    raised = replace(tries[0], chance=Chance(tries[0].chance.mean + (1 - tries[0].chance.mean) * better))
    costlier = replace(tries[0], price=tries[0].price + dearer)
    option = tries[0].option
    after_raise = by_option(decide([raised, *tries[1:]], at_stake))[option].begun_with.net
    after_rise = by_option(decide([costlier, *tries[1:]], at_stake))[option].begun_with.net
    assert after_raise >= before[option].begun_with.net - 1e-9
    assert after_rise == pytest.approx(before[option].begun_with.net - dearer, abs=1e-6)


@given(
    st.floats(0.05, 0.95),
    st.floats(0.2, 10),
    st.floats(1, 50),
    st.floats(10, 1000),
)
def test_no_other_time_to_stop_is_better(chance, mean_hours, hour_worth, gain):
    """Worth of stopping after t hours: p (1 - e^(-t/h)) times the gain, less the hours worked until then."""
    at_stake = Stakes(hour_worth, gain)
    attempt = Attempt(Option.MEND, 0, mean_hours, Chance(chance))

    def loss(hours):
        done = chance * (1 - np.exp(-hours / mean_hours))
        return hour_worth * (done * mean_hours + (1 - chance) * hours) - done * gain

    found = stop_after_hours(attempt, at_stake, without_it=0.0)
    referee = minimize_scalar(loss, bounds=(0, 40 * mean_hours), method="bounded", options={"xatol": 1e-6})
    assert loss(found) <= referee.fun + 1e-6 * (1 + abs(referee.fun))
    assert found >= 0


def test_a_better_fallback_makes_one_stop_earlier():
    alone = by_option(decide([MEND], SHOP))[Option.MEND].stop_after_hours
    with_fallback = by_option(decide([MEND, BUY], SHOP))[Option.MEND].stop_after_hours
    assert 0 < with_fallback < alone


@pytest.mark.parametrize(
    ("attempt", "at_stake", "expected"),
    [
        (MEND, replace(SHOP, hour_worth=0), float("inf")),
        (replace(MEND, chance=Chance(1.0)), SHOP, float("inf")),
        (replace(MEND, chance=Chance(0.0)), SHOP, 0),
        (replace(MEND, hours=30), SHOP, 0),
    ],
)
def test_when_hours_cost_nothing_or_can_gain_nothing(attempt, at_stake, expected):
    assert by_option(decide([attempt], at_stake))[Option.MEND].stop_after_hours == expected


def test_what_is_not_tried_by_the_hour_has_no_hour_to_stop():
    assert by_option(decide([BUY], SHOP))[Option.BUY_NEW].stop_after_hours is None


@pytest.mark.parametrize("price", [0, 5])
def test_an_attempt_that_cannot_succeed_is_never_first(price):
    hopeless = Attempt(Option.MEND, price, 0, Chance(0.0))
    decision = decide([hopeless, BUY], SHOP)
    assert decision.ranked[0].option is Option.BUY_NEW
    assert by_option(decision)[Option.BUY_NEW].best_chance == 1
    assert decide([hopeless], SHOP).ranked[0].option is Option.STOP


def test_an_attempt_for_nothing_is_made_first():
    free = Attempt(Option.BUY_USED, 0, 0, Chance(0.3, 5))
    decision = decide([MEND, free], SHOP)
    assert decision.ranked[0].option is Option.BUY_USED
    assert decision.ranked[0].best_chance == pytest.approx(1)
    assert decision.ranked[0].break_even.chance == 0


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: decide([MEND, MEND], SHOP),
        lambda: Stakes(10, 20, 30),
        lambda: Stakes(-1, 20),
        lambda: replace(MEND, price=-1),
        lambda: replace(MEND, option=Option.STOP),
    ],
)
def test_what_makes_no_sense_is_refused(wrong):
    with pytest.raises(ValueError, match=r"once|worth|below 0"):
        wrong()
