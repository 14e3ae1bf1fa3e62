"""Resistances as findings tell them: bounds stay bounds, and are told with no more figures than tell something."""

import pytest

from catalogue.core.findings import Limit
from catalogue.core.rules.phrases import bound, bounds_apart
from tests.told_bounds import BOUNDS


@pytest.mark.parametrize(("limit", "ohms"), BOUNDS)
def test_a_bound_has_two_figures_and_is_rounded_outwards(limit, ohms):
    assert bound(Limit(limit), ohms) == BOUNDS[limit, ohms]


def test_bounds_that_contradict_each_other_still_do_as_they_are_told():
    assert bounds_apart(39.6e6, 1.31) == ("at least 39 MΩ", "at most 1.4 Ω")
    assert bounds_apart(1.9537, 1.9514) == ("at least 1.953 Ω", "at most 1.952 Ω")
