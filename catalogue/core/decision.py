"""Mend, build, buy or stop: which to begin with, what to go on to if it fails, and what would turn that round.

Each attempt costs its price and its hours whether it succeeds or not, and a success is worth the same whichever
way it comes: the device's worth with a working cable less its worth without. So the best plan takes the attempts
in the order of their **price of a success** (cost over chance), the least first, and stops before the first whose
price of a success is not below that gain. This is the index rule of M. L. Weitzman, Econometrica 47 (1979) 641-654,
for boxes that hold one prize or nothing. Attempts are taken to succeed or fail independently of each other.

Everything else here follows from that order: an option is the one to begin with exactly when its price of a
success is the least, so every break-even has a closed form. Money is in one unit of the reader's choice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from catalogue.core.chances import Chance, Floats
from catalogue.core.outcomes import Option

CLOSE = 0.1
"""An option that is the best beginning with at least this probability cannot be told from the first: judgement."""

QUANTILES = 2000
"""Into so many equally likely values a chance is divided to compare it; good to about a tenth of a percent."""


class Lever(StrEnum):
    """A number that, far enough from what was said, changes what to begin with."""

    CHANCE = "chance"
    PRICE = "price"
    HOURS = "hours"
    HOUR_WORTH = "hour-worth"
    WORTH_WITH_CABLE = "worth-with-cable"


@dataclass(frozen=True, slots=True)
class Stakes:
    """What an hour of the repairer is worth, and the device with a working cable and without, in one money unit."""

    hour_worth: float
    worth_with_cable: float
    worth_without_cable: float = 0.0

    def __post_init__(self) -> None:
        if self.hour_worth < 0 or self.worth_without_cable < 0 or self.gain < 0:
            raise ValueError("worths are not below 0, and a cable does not make the device worth less")

    @property
    def gain(self) -> float:
        """What a working cable adds to the device's worth."""
        return self.worth_with_cable - self.worth_without_cable


@dataclass(frozen=True, slots=True)
class Attempt:
    """One way to a working cable: `price` for parts or the cable, `hours` of work, both spent either way."""

    option: Option
    price: float
    hours: float
    chance: Chance

    def __post_init__(self) -> None:
        if self.price < 0 or self.hours < 0 or self.option is Option.STOP:
            raise ValueError("an attempt is not stopping, and its price and hours are not below 0")

    def cost(self, stakes: Stakes) -> float:
        return self.price + self.hours * stakes.hour_worth

    def price_of_success(self, stakes: Stakes) -> float:
        """Cost over chance: what one success costs on average; infinite when it cannot succeed."""
        return self.cost(stakes) / self.chance.mean if self.chance.mean else math.inf


@dataclass(frozen=True, slots=True)
class Prospect:
    """What is to be expected of a course: chance of a working cable, cost, and worth of the device less that cost."""

    chance: float
    cost: float
    net: float


@dataclass(frozen=True, slots=True)
class BreakEven:
    """The values at which beginning with an option is as good as beginning with the best other, all else unchanged.

    None where no value does it: a chance would have to be above 1, a price or hours below 0, or hours are worth
    nothing. `worth_trying` is the least chance at which the option beats stopping, if it were the only one.
    """

    against: Option
    chance: float | None
    price: float | None
    hours: float | None
    worth_trying: float | None


@dataclass(frozen=True, slots=True)
class Assessment:
    """One option: by itself, and as the beginning of a plan that goes on with `then` as each attempt fails.

    `best_chance` is the probability, over what is not known of the chances, that it is the best beginning; over
    all options it adds up to 1. `stop_after_hours` is the hours without success after which to stop trying:
    infinite for no limit, None for what is not tried by the hour. Stopping has no break-even of its own.
    """

    option: Option
    alone: Prospect
    begun_with: Prospect
    then: tuple[Option, ...]
    best_chance: float
    break_even: BreakEven | None = None
    stop_after_hours: float | None = None


@dataclass(frozen=True, slots=True)
class Turn:
    """At which value `at` of a lever, now `now`, another option becomes the one to begin with.

    `option` is whose chance, price or hours the lever is, None for the stakes.
    """

    lever: Lever
    option: Option | None
    now: float
    at: float
    first_then: Option

    @property
    def distance(self) -> float:
        """How far off it is, from 0 (here already) to 1, relative to the larger of the two values."""
        larger = max(abs(self.now), abs(self.at))
        return abs(self.at - self.now) / larger if larger else 0.0


@dataclass(frozen=True, slots=True)
class Decision:
    """All options, the best to begin with first, by `begun_with.net`; of equal ones the lesser price of a success.

    `close` are the options that what is known cannot tell from the first. `turns` come nearest first.
    """

    ranked: tuple[Assessment, ...]
    close: tuple[Option, ...]
    turns: tuple[Turn, ...]


def decide(attempts: Sequence[Attempt], stakes: Stakes) -> Decision:
    """Rank the attempts and stopping. Raises ValueError when an option comes twice."""
    options = [attempt.option for attempt in attempts]
    if len(set(options)) < len(options):
        raise ValueError("each option is attempted once")
    attempts = sorted(attempts, key=lambda attempt: list(Option).index(attempt.option))
    likely = _best_chances(attempts, stakes)
    found = [_assessed(attempt, attempts, stakes, likely[attempt.option]) for attempt in attempts]
    nothing = Prospect(0.0, 0.0, stakes.worth_without_cable)
    found.append(Assessment(Option.STOP, nothing, nothing, (), likely[Option.STOP]))
    limits = {attempt.option: attempt.price_of_success(stakes) for attempt in attempts} | {Option.STOP: stakes.gain}
    ranked = tuple(sorted(found, key=lambda each: (-each.begun_with.net, limits[each.option])))
    first = ranked[0]
    close = tuple(
        each.option
        for each in ranked[1:]
        if each.best_chance >= CLOSE or math.isclose(each.begun_with.net, first.begun_with.net, rel_tol=1e-9)
    )
    reachable = [turn for turn in _turns(attempts, stakes, first.option) if math.isfinite(turn.at)]
    turns = sorted(reachable, key=lambda turn: turn.distance)
    return Decision(ranked, close, tuple(turns))


def best_order(attempts: Iterable[Attempt], stakes: Stakes) -> tuple[Attempt, ...]:
    """The attempts worth making, in the order to make them until one succeeds (see the head of this file)."""
    worthwhile = [attempt for attempt in attempts if attempt.price_of_success(stakes) < stakes.gain]
    return tuple(sorted(worthwhile, key=lambda attempt: attempt.price_of_success(stakes)))


def prospect(order: Sequence[Attempt], stakes: Stakes) -> Prospect:
    """What is to be expected of making these attempts one after the other until one succeeds."""
    failed, cost = 1.0, 0.0
    for attempt in order:
        cost += failed * attempt.cost(stakes)
        failed *= 1 - attempt.chance.mean
    return Prospect(1 - failed, cost, stakes.worth_without_cable + (1 - failed) * stakes.gain - cost)


def stop_after_hours(attempt: Attempt, stakes: Stakes, without_it: float) -> float:
    """Hours without success after which to stop trying; 0 when not to begin, infinite for no limit.

    Taken: if it can be done at all, of which the chance is p, each hour is as likely as any to be the one, and
    `attempt.hours` is the mean h (judgement). Then after t fruitless hours p has fallen to
    p e^(-t/h) / (p e^(-t/h) + 1 - p), and to go on pays while that, over h, times the reward exceeds the worth of an
    hour. Success is rewarded with the device's worth with a cable less `without_it`, the net worth of the best plan
    without this attempt. What was paid for parts is spent and does not count.
    """
    reward = stakes.worth_with_cable - without_it
    chance, needed = attempt.chance.mean, stakes.hour_worth * attempt.hours
    if needed == 0 or (chance == 1 and reward > needed):
        return math.inf
    if reward * chance <= needed:
        return 0.0
    # Logarithms one by one: the quotients can be smaller than any number.
    log_odds_now = math.log(chance) - math.log1p(-chance)
    log_odds_at_end = math.log(needed) - math.log(reward - needed)
    return attempt.hours * max(0.0, log_odds_now - log_odds_at_end)


def _assessed(attempt: Attempt, attempts: Sequence[Attempt], stakes: Stakes, best_chance: float) -> Assessment:
    others = [other for other in attempts if other is not attempt]
    rest = best_order(others, stakes)
    tried_by_the_hour = attempt.option in (Option.MEND, Option.BUILD) and attempt.hours > 0
    return Assessment(
        option=attempt.option,
        alone=prospect([attempt], stakes),
        begun_with=prospect([attempt, *rest], stakes),
        then=tuple(other.option for other in rest),
        best_chance=best_chance,
        break_even=_break_even(attempt, others, stakes),
        stop_after_hours=stop_after_hours(attempt, stakes, prospect(rest, stakes).net) if tried_by_the_hour else None,
    )


def _break_even(attempt: Attempt, others: Sequence[Attempt], stakes: Stakes) -> BreakEven:
    against, limit = _rival(others, stakes)
    cost, affordable = attempt.cost(stakes), attempt.chance.mean * limit
    left_for_parts = affordable - attempt.hours * stakes.hour_worth
    hours = (affordable - attempt.price) / stakes.hour_worth if stakes.hour_worth else math.inf
    can_succeed = attempt.chance.mean > 0
    return BreakEven(
        against=against,
        chance=_chance_at(cost, limit),
        price=left_for_parts if can_succeed and left_for_parts >= 0 else None,
        hours=hours if can_succeed and 0 <= hours < math.inf else None,
        worth_trying=_chance_at(cost, stakes.gain),
    )


def _rival(others: Iterable[Attempt], stakes: Stakes) -> tuple[Option, float]:
    """The best to begin with among others and stopping, and the price of a success that it sets as a limit."""
    best = min(others, key=lambda other: other.price_of_success(stakes), default=None)
    if best is None or best.price_of_success(stakes) >= stakes.gain:
        return Option.STOP, stakes.gain
    return best.option, best.price_of_success(stakes)


def _chance_at(cost: float, price_of_success: float) -> float | None:
    if cost == 0:
        return 0.0
    return cost / price_of_success if cost <= price_of_success else None


def _best_chances(attempts: Sequence[Attempt], stakes: Stakes) -> dict[Option, float]:
    """The probability that each option has the least price of a success, by its whole distribution.

    Of exact ties the earlier option wins. Stopping is best where every price of a success is above the gain.
    """
    found: dict[Option, float] = {}
    for place, attempt in enumerate(attempts):
        prices = _prices_of_success(attempt, stakes)
        wins = ((prices <= stakes.gain) & np.isfinite(prices)).astype(float)
        for other in attempts[:place]:
            wins *= _dearer(other, prices, stakes, or_equal=False)
        for other in attempts[place + 1 :]:
            wins *= _dearer(other, prices, stakes, or_equal=True)
        found[attempt.option] = float(wins.mean())
    gain = np.array([float(stakes.gain)])
    found[Option.STOP] = math.prod(float(_dearer(attempt, gain, stakes, or_equal=False)[0]) for attempt in attempts)
    # What dividing into quantiles leaves of an error is shared out.
    total = math.fsum(found.values())
    return {option: share / total for option, share in found.items()}


def _prices_of_success(attempt: Attempt, stakes: Stakes) -> Floats:
    """Equally likely prices of a success; the only one of an exact chance."""
    if attempt.chance.is_exact:
        return np.array([float(attempt.price_of_success(stakes))])
    chances = attempt.chance.quantiles((np.arange(QUANTILES) + 0.5) / QUANTILES)
    prices = np.full_like(chances, np.inf)
    with np.errstate(over="ignore"):
        return np.divide(attempt.cost(stakes), chances, out=prices, where=chances > 0)


def _dearer(attempt: Attempt, prices: Floats, stakes: Stakes, or_equal: bool) -> Floats:
    """The probability that a success of this attempt costs more than each of the prices (or as much)."""
    if attempt.chance.is_exact or attempt.cost(stakes) == 0:
        own = attempt.price_of_success(stakes)
        return (own >= prices if or_equal else own > prices).astype(float)
    # A price of nothing is below every other: the chance that would match it has no bound.
    with np.errstate(over="ignore"):
        matching = np.divide(attempt.cost(stakes), prices, out=np.full_like(prices, np.inf), where=prices > 0)
    return attempt.chance.at_most(matching)


def _turns(attempts: Sequence[Attempt], stakes: Stakes, first: Option) -> Iterator[Turn]:
    for attempt in attempts:
        others = [other for other in attempts if other is not attempt]
        even = _break_even(attempt, others, stakes)
        then = even.against if attempt.option is first else attempt.option
        levers = (
            (Lever.CHANCE, attempt.chance.mean, even.chance),
            (Lever.PRICE, attempt.price, even.price),
            (Lever.HOURS, attempt.hours, even.hours),
        )
        for lever, now, at in levers:
            if at is not None:
                yield Turn(lever, attempt.option, now, at, then)
    yield from _turns_of_the_devices_worth(attempts, stakes, first)
    yield from _turns_of_an_hours_worth(attempts, stakes, first)


def _turns_of_the_devices_worth(attempts: Sequence[Attempt], stakes: Stakes, first: Option) -> Iterator[Turn]:
    cheapest = min(attempts, key=lambda attempt: attempt.price_of_success(stakes), default=None)
    if cheapest is not None and cheapest.chance.mean:
        at = stakes.worth_without_cable + cheapest.price_of_success(stakes)
        then = cheapest.option if first is Option.STOP else Option.STOP
        yield Turn(Lever.WORTH_WITH_CABLE, None, stakes.worth_with_cable, at, then)


def _turns_of_an_hours_worth(attempts: Sequence[Attempt], stakes: Stakes, first: Option) -> Iterator[Turn]:
    """The nearest worths of an hour, below and above, at which another price of a success becomes the least.

    Each price of a success is a straight line over the worth of an hour, and stopping a level one at the gain. The
    first is the lowest now: steeper lines pass under it at some lesser worth, flatter ones at some greater worth.
    """
    lines = {
        attempt.option: (attempt.price / attempt.chance.mean, attempt.hours / attempt.chance.mean)
        for attempt in attempts
        if math.isfinite(attempt.price_of_success(stakes))
    }
    lines[Option.STOP] = (stakes.gain, 0.0)
    base, slope = lines[first]
    below: list[tuple[float, Option]] = []
    above: list[tuple[float, Option]] = []
    for option, (other_base, other_slope) in lines.items():
        if other_slope != slope:
            crossing = (other_base - base) / (slope - other_slope), option
            (below if other_slope > slope else above).append(crossing)
    nearest = [max((crossing for crossing in below if crossing[0] >= 0), default=None), min(above, default=None)]
    for found in nearest:
        if found is not None:
            yield Turn(Lever.HOUR_WORTH, None, stakes.hour_worth, *found)
