"""How far a map is read, and what would take it furthest: `coverage`."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import Core, End, Opening
from catalogue.core.findings import Severity
from catalogue.core.rules.context import Context
from catalogue.core.rules.coverage import acts_left
from tests.core.rules.maps import (
    JOINS,
    REFERENCE,
    SEPARATIONS,
    beep,
    bus_cable,
    found,
    ohms,
    only,
    over,
    silent,
    sound_cable,
    sweep,
)


def test_a_map_with_open_pairs_is_told_the_share_and_the_acts():
    """Three nets of two contacts: without s3 four of the 15 pairs are open, and one probe decides them."""
    finding = only(sound_cable(readings=(*JOINS, *SEPARATIONS[:2])), "coverage")
    assert finding.severity is Severity.NOTE
    assert "11 of 15 pairs of contacts (73 %) are decided: 3 joined, 8 apart" in finding.message
    assert "1 act with the buzzer decides the rest: L:2 to L:3." in finding.message
    assert finding.contacts == ("L:2", "L:3")
    assert finding.at == (), "it is about no one place, so it points to none"


def test_a_map_whose_pairs_are_all_decided_is_fine():
    assert not found(sound_cable(), "coverage")


def test_contacts_side_by_side_in_a_row_are_one_sweep():
    finding = only(sound_cable(nets=(), cores=(), readings=JOINS), "coverage")
    assert "2 acts with the buzzer decide the rest: L:1 along L:2 … L:3 in one sweep; L:2 to L:3." in finding.message


def test_a_sweep_does_not_run_over_a_contact_of_its_own_net():
    ends = (End("L", "custom", rows=(("1", "2", "3", "4"),)),)
    document = sound_cable(ends=ends, sections=(), nets=(), cores=(), readings=(beep("r1", "L:1", "L:3"),))
    acts = acts_left(Context(document, REFERENCE))
    assert [(act.source, act.members) for act in acts] == [
        ("L:1", ("L:2",)),
        ("L:1", ("L:4",)),
        ("L:2", ("L:4",)),
    ]


def test_a_map_without_readings_is_wholly_undecided():
    finding = only(sound_cable(readings=()), "coverage")
    assert "0 of 15 pairs of contacts (0 %) are decided" in finding.message


def test_a_standard_face_has_its_rows_too():
    acts = acts_left(Context(bus_cable(ends=(End("A", "bus-a"),)), REFERENCE))
    assert len(acts) == 8
    assert acts[0].members == tuple(f"A:{number}" for number in range(2, 10))


def test_almost_everything_is_not_called_everything():
    """199 of 200 pairs and more must not read as 100 %."""
    points = [f"L:{number}" for number in range(40)]
    ends = (End("L", "custom", rows=(tuple(str(number) for number in range(40)),)),)
    readings = [sweep(f"r{place}", point, *points[place + 1 :], beeps=False) for place, point in enumerate(points[:-2])]
    document = sound_cable(ends=ends, sections=(), nets=(), cores=(), readings=tuple(readings))
    assert "779 of 780 pairs of contacts (99 %)" in only(document, "coverage").message


POINTS = ("L:1", "L:2", "L:3", "R:1", "R:2", "R:3", "k1@0.5")


@st.composite
def readings(draw):
    pairs = draw(st.lists(st.tuples(st.sampled_from(POINTS), st.sampled_from(POINTS), st.integers(0, 4)), max_size=12))
    kinds = (beep, silent, over, lambda *points: ohms(*points, 33.0), lambda *points: ohms(*points, 0.6))
    return tuple(kinds[kind](f"r{place}", a, b) for place, (a, b, kind) in enumerate(pairs) if a != b)


@given(readings())
def test_when_every_act_proposed_stays_silent_nothing_is_left_to_decide(taken):
    document = sound_cable(nets=(), readings=taken, cores=(Core("k1", "main"),), openings=(Opening("main", 0.5),))
    context = Context(document, REFERENCE)
    acts = acts_left(context)
    more = tuple(sweep(f"a{place}", act.source, *act.members, beeps=False) for place, act in enumerate(acts))
    after = Context(replace(document, readings=taken + more), REFERENCE).deduction
    assert after.pairs.undecided == 0
    assert after.pairs.joined == context.deduction.pairs.joined
    assert bool(acts) == bool(context.deduction.pairs.undecided)


@given(readings())
def test_no_act_proposed_runs_over_its_own_net_or_leaves_its_row(taken):
    document = sound_cable(nets=(), readings=taken, cores=(Core("k1", "main"),), openings=(Opening("main", 0.5),))
    context = Context(document, REFERENCE)
    rows = (("L:1", "L:2", "L:3"), ("R:1", "R:2", "R:3"), ("k1@0.5",))
    for act in acts_left(context):
        assert not any(context.deduction.is_joined(act.source, member) for member in act.members)
        assert any("".join(act.members) in "".join(row) for row in rows)
