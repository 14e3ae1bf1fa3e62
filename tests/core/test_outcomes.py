"""Which reports count as trials of mending and building, and what chance they make."""

import pytest

from catalogue.core.chances import EVEN
from catalogue.core.failures import Ending, FailureKind, Remedy
from catalogue.core.outcomes import (
    ELSEWHERE_AT_MOST,
    Option,
    Outcomes,
    Told,
    chance_of_success,
    outcomes_of,
    prior_of,
)

MENDED = Told(Ending.MENDED, [Remedy.CUT_AND_SPLICED])


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        (MENDED, Outcomes(1, 1)),
        (Told(Ending.MENDED, [], 3), Outcomes(3, 3)),
        (Told(Ending.GIVEN_UP, [Remedy.RESOLDERED], 2), Outcomes(0, 2)),
        (Told(Ending.BOUGHT, [Remedy.RESOLDERED, Remedy.CABLE_BOUGHT]), Outcomes(0, 1)),
        (Told(Ending.BOUGHT, [Remedy.CABLE_BOUGHT]), Outcomes(0, 0)),
        (Told(Ending.GIVEN_UP, [Remedy.NOTHING]), Outcomes(0, 0)),
        (Told(Ending.NOT_ENDED, [Remedy.RESOLDERED]), Outcomes(0, 0)),
        (Told(Ending.BUILT, [Remedy.CABLE_BUILT]), Outcomes(0, 0)),
    ],
)
def test_mending_counts_when_it_was_tried_and_done_with(told, expected):
    assert outcomes_of(Option.MEND, [told]) == expected


def test_building_counts_when_a_cable_was_built_or_the_building_failed():
    told = [Told(Ending.BUILT, []), Told(Ending.GIVEN_UP, [Remedy.CABLE_BUILT]), MENDED]
    assert outcomes_of(Option.BUILD, told) == Outcomes(1, 2)


def test_reports_tell_nothing_of_whether_a_bought_cable_worked():
    assert outcomes_of(Option.BUY_USED, [Told(Ending.BOUGHT, [Remedy.CABLE_BOUGHT])]) == Outcomes()


def test_own_outcomes_count_in_full():
    assert chance_of_success(prior_of(Option.MEND), Outcomes(3, 4)) == EVEN.after(3, 4)


def test_other_cables_count_for_a_few_trials_however_many_they_are():
    few = chance_of_success(prior_of(Option.MEND), Outcomes(), Outcomes(3, 3))
    many = chance_of_success(prior_of(Option.MEND), Outcomes(), Outcomes(3000, 3000))
    assert few == EVEN.after(3, 3)
    assert many == EVEN.after(ELSEWHERE_AT_MOST, ELSEWHERE_AT_MOST)


def test_glass_and_dead_chips_are_believed_mended_less_often_than_copper():
    copper, fibre, chip = (
        prior_of(Option.MEND, kind).chance.mean
        for kind in (FailureKind.CORE_OPEN, FailureKind.FIBRE_BROKEN, FailureKind.ELECTRONICS_DEAD)
    )
    assert fibre < chip < copper
    assert prior_of(Option.BUILD, FailureKind.FIBRE_BROKEN) == prior_of(Option.BUILD)


def test_stopping_has_no_chance():
    with pytest.raises(ValueError, match="stopping"):
        prior_of(Option.STOP)


def test_more_successes_than_trials_are_refused():
    with pytest.raises(ValueError, match="among the trials"):
        Outcomes(2, 1)
