"""The thinnest wire that will do: against trying every wire, and against what each limit means."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.gauge import (
    DENSEST_A_PER_MM2,
    Decider,
    Demand,
    Sizing,
    decider,
    drop_volts,
    longest_m,
    thinnest,
)
from catalogue.tables import wires

DEMANDS = st.builds(
    Demand,
    amperes=st.floats(0.01, 20),
    length_m=st.floats(0.05, 30),
    contact_ohms=st.floats(0, 0.2),
    most_drop_volts=st.floats(0.01, 3),
)
CELSIUS = st.floats(-20, 90)


def keeps(wire, demand, celsius):
    volts = (wire.ohms_per_m * (1 + 0.00393 * (celsius - 20)) * demand.length_m + demand.contact_ohms) * demand.amperes
    return volts <= demand.most_drop_volts and demand.amperes <= DENSEST_A_PER_MM2 * wire.area_mm2


@given(DEMANDS, CELSIUS, st.sampled_from(Sizing))
def test_no_thinner_wire_would_do(demand, celsius, sizing):
    good = [wire for wire in wires() if wire.sizing is sizing and keeps(wire, demand, celsius)]
    found = thinnest(wires(), sizing, demand, celsius)
    assert found == (min(good, key=lambda wire: wire.area_mm2) if good else None)


@given(DEMANDS, CELSIUS)
def test_at_the_longest_length_the_drop_is_all_used(demand, celsius):
    length_m = longest_m(0.1, demand, celsius)
    if length_m:
        used = drop_volts(0.1, replace(demand, length_m=length_m), celsius)
        assert used == pytest.approx(demand.most_drop_volts)
    else:
        assert demand.contact_ohms * demand.amperes >= demand.most_drop_volts


def test_the_next_thinner_wire_breaks_the_limit_that_is_named():
    long_way = Demand(0.5, 5, 0.06, 0.125)
    heavy = Demand(5, 0.05, 0, 2)
    for demand, expected in ((long_way, Decider.DROP), (heavy, Decider.CURRENT)):
        wire = thinnest(wires(), Sizing.AWG, demand)
        assert decider(wires(), wire, demand) is expected


def test_contacts_that_drop_too_much_leave_no_wire():
    assert thinnest(wires(), Sizing.AWG, Demand(1, 1, 0.2, 0.1)) is None


@pytest.mark.parametrize("field", ["amperes", "length_m", "most_drop_volts"])
def test_nothing_is_asked_of_no_current_no_length_or_no_drop(field):
    with pytest.raises(ValueError, match="above 0"):
        replace(Demand(1, 1, 0, 1), **{field: 0})
