"""Explanations are ranked by Bayes' rule, and every ranking shows what moved it and how far."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.diagnosis.evidence import Evidence, Explanation
from catalogue.core.diagnosis.explanations import REPORTS, REPORTS_OF_JUDGEMENT, Observed, ranked
from catalogue.core.failures import Ending, Failure, FailureKind
from catalogue.tables import weights

found_evidence = st.dictionaries(st.sampled_from(Evidence), st.booleans(), max_size=len(Evidence)).map(
    lambda found: [Observed(evidence, holds, "") for evidence, holds in found.items()]
)
reports = st.lists(st.builds(Failure, st.sampled_from(FailureKind), st.just(Ending.MENDED)), max_size=12)


def chances(observations, failures=()):
    return {one.explanation: one.chance for one in ranked(weights(), observations, failures)}


@given(found_evidence, reports)
def test_contributions_add_up_to_the_decibans_of_each_explanation(observations, failures):
    for one in ranked(weights(), observations, failures):
        assert one.decibans == math.fsum(each.decibans for each in one.contributions)


@given(found_evidence)
def test_chances_are_those_of_bayes_rule(observations):
    """A second way: the product of prior and likelihoods, divided by its sum, without a logarithm."""
    table = weights()
    joint = {
        explanation: table.before[explanation].chance
        * math.prod(table.chance(each.evidence, explanation, each.holds) for each in observations)
        for explanation in Explanation
    }
    whole = sum(joint.values())
    for explanation, chance in chances(observations).items():
        assert chance == pytest.approx(joint[explanation] / whole, rel=1e-9)


@given(found_evidence, reports)
def test_the_likeliest_comes_first_and_chances_add_up_to_one(observations, failures):
    listed = [one.chance for one in ranked(weights(), observations, failures)]
    assert listed == sorted(listed, reverse=True)
    assert math.fsum(listed) == pytest.approx(1)


def test_a_weight_of_ten_decibans_is_a_chance_of_ten_to_one():
    """The deciban, ten times the logarithm of the odds: I. J. Good, Probability and the Weighing of Evidence, 1950."""
    odds = weights().chance(Evidence.ONE_DEAD, Explanation.CORE_BROKEN)
    assert odds / (1 - odds) == pytest.approx(
        10 ** (weights().found[Evidence.ONE_DEAD][Explanation.CORE_BROKEN].decibans / 10)
    )


def test_reports_shift_the_chances_as_a_dirichlet_prior_does():
    """Mean after n reports of one kind, the prior being worth ten of them: (10 p + n) / (10 + n)."""
    before, broken = chances([]), [Failure(FailureKind.FIBRE_BROKEN, Ending.GIVEN_UP)] * 6
    after = chances([], broken)
    expected = (REPORTS_OF_JUDGEMENT * before[Explanation.FIBRE] + 6) / (REPORTS_OF_JUDGEMENT + 6)
    assert after[Explanation.FIBRE] == pytest.approx(expected)
    assert all(any(each.source == REPORTS for each in one.contributions) for one in ranked(weights(), [], broken))


def test_reports_of_kinds_that_explain_nothing_move_nothing():
    shorts = [Failure(FailureKind.CORE_SHORT, Ending.MENDED), Failure(FailureKind.NOT_FOUND, Ending.NOT_ENDED)]
    assert chances([], shorts) == chances([])


def test_light_that_comes_through_makes_it_fibre():
    assert ranked(weights(), [Observed(Evidence.LAMP_LIGHT, True, "")])[0].explanation is Explanation.FIBRE
