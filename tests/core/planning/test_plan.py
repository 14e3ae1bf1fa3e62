"""Plans come to an end, end right, and claim of each outcome just what brute force over all wirings finds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.document import Meter, Mode, Point, Reading, Result
from catalogue.core.nets import deduce
from catalogue.core.planning.plan import Proposal, plan, proved
from tests.core.planning.mapping import answered, mapped

ROWS = (("A:1", "A:2", "A:3"), ("A:4", "A:5"), ("B:1", "B:2", "B:3"))
POINTS = tuple(point for row in ROWS for point in row)

wirings = st.lists(st.integers(0, 4), min_size=len(POINTS), max_size=len(POINTS)).map(
    lambda labels: dict(zip(POINTS, labels, strict=True))
)


@settings(max_examples=40, deadline=None)
@given(wirings, wirings, st.booleans())
def test_a_plan_ends_with_the_true_nets_whatever_was_expected(truth, expected, sweeps):
    *_, (last, taken) = mapped(truth, ROWS, expected, sweeps)
    assert last.is_decided
    assert not last.undecidable
    deduction = deduce(POINTS, taken, Meter())
    assert deduction.pairs.undecided == 0
    for one, other in combinations(POINTS, 2):
        assert deduction.is_joined(one, other) is (truth[one] == truth[other])
    # Beyond one act for each pair, sweeps that beep only narrow down: at most once for every halving of a row.
    assert len(taken) <= 3 * len(POINTS) * (len(POINTS) - 1) // 2


@settings(max_examples=40, deadline=None)
@given(wirings, st.integers(0, 12), st.data())
def test_what_an_outcome_is_said_to_prove_holds_in_every_wiring_that_fits(truth, acts, data):
    taken: tuple[Reading, ...] = ()
    for _ in range(acts):
        red = data.draw(st.sampled_from(POINTS))
        row = data.draw(st.sampled_from(ROWS))
        start = data.draw(st.integers(0, len(row) - 1))
        run = tuple(point for point in row[start : data.draw(st.integers(start + 1, len(row)))] if point != red)
        if run:
            is_met = any(truth[point] == truth[red] for point in run)
            result = Result.BEEPS if is_met else Result.SILENT
            taken = (*taken, Reading(f"r{len(taken)}", Mode.SWEEP, red, run, result))
    before, deduced = list(_worlds(taken)), deduce(POINTS, taken, Meter())
    for act in plan(POINTS, ROWS, taken, Meter()).next:
        for is_yes, claim in ((True, act.if_yes), (False, act.if_no)):
            after = [world for world in before if _beeps(world, act) is is_yes]
            assert after, "an outcome that cannot be is not worth an act"
            joined, apart = _decided(after)
            # The deduction need not find all that holds in every wiring, but what it claims does.
            assert claim.joined <= sum(not deduced.is_joined(*pair) for pair in joined)
            assert claim.apart <= sum(not deduced.is_apart(*pair) for pair in apart)
            assert claim.joined or claim.apart or len(claim.one_of) > 1
            assert {frozenset(pair) for pair in combinations(claim.net, 2)} <= joined
            if claim.one_of:
                assert all(any(world[point] == world[act.red] for point in claim.one_of) for world in after)


def _worlds(readings: Sequence[Reading]) -> Iterator[dict[Point, int]]:
    """Every way to part the points into nets that fits the readings: 4,140 of them without any."""
    for labels in _partitions(len(POINTS)):
        world = dict(zip(POINTS, labels, strict=True))
        if all(
            any(world[point] == world[reading.red] for point in reading.black) is (reading.result is Result.BEEPS)
            for reading in readings
        ):
            yield world


def _partitions(count: int) -> Iterator[tuple[int, ...]]:
    def grown(labels: tuple[int, ...], most: int) -> Iterator[tuple[int, ...]]:
        if len(labels) == count:
            yield labels
            return
        for label in range(most + 1):
            yield from grown((*labels, label), max(most, label + 1))

    return grown((), 0)


def _decided(worlds: Sequence[dict[Point, int]]) -> tuple[set[frozenset[Point]], set[frozenset[Point]]]:
    joined, apart = set(), set()
    for one, other in combinations(POINTS, 2):
        seen = {world[one] == world[other] for world in worlds}
        if seen == {True}:
            joined.add(frozenset((one, other)))
        elif seen == {False}:
            apart.add(frozenset((one, other)))
    return joined, apart


def _beeps(world: dict[Point, int], act: Proposal) -> bool:
    return any(world[point] == world[act.red] for point in act.black)


def test_a_sweep_goes_along_one_unbroken_run_of_one_row():
    truth = dict(zip(POINTS, range(len(POINTS)), strict=True))
    for found, _ in mapped(truth, (("A:1", "", "A:2", "A:3"), *ROWS[1:])):
        for act in found.next:
            text = " ".join(act.black)
            assert any(text in " ".join(run) for run in (("A:1",), ("A:2", "A:3"), *ROWS[1:]))
            assert act.red not in act.black


def test_without_sweeps_only_pairs_are_proposed():
    truth = dict(zip(POINTS, (0, 1, 2, 0, 1, 2, 3, 3), strict=True))
    for found, _ in mapped(truth, ROWS, sweeps=False):
        assert all(len(act.black) == 1 for act in found.next)


def test_a_similar_map_that_is_right_saves_acts_and_a_wrong_one_only_costs_them():
    rows = tuple(tuple(f"{end}:{number}" for number in range(1, 13)) for end in "AB")
    truth = {point: number for row in rows for number, point in enumerate(row)}
    wrong = {point: (number * 5 + (point[0] == "A") * 3) % 12 for point, number in truth.items()}
    costs = [len(list(mapped(truth, rows, expected))) for expected in (truth, None, wrong)]
    assert costs[0] < costs[1]
    assert costs[2] <= 24 * 23 // 2


def test_what_a_buzzer_cannot_decide_is_read_in_ohms_and_then_said_to_be_undecidable():
    """33 Ω beeps and is no conductor: A:3, which only beeped with A:1, may lie at either side of the part."""
    part = Reading("r1", Mode.OHMS, "A:1", ("A:2",), Result.VALUE, 33.0, 0.1)
    heard = Reading("r2", Mode.BEEP, "A:1", ("A:3",), Result.BEEPS)
    also = Reading("r3", Mode.BEEP, "A:2", ("A:3",), Result.BEEPS)
    points = ("A:1", "A:2", "A:3")
    found = plan(points, (points,), (part, heard, also), Meter())
    taken = [part, heard, also]
    while found.next:
        act = found.next[0]
        value = {frozenset(("A:1", "A:3")): 10.0, frozenset(("A:2", "A:3")): 10.0}.get(
            frozenset((act.red, *act.black)), 10.0
        )
        assert act.mode is Mode.OHMS
        taken.append(Reading(f"r{len(taken) + 1}", Mode.OHMS, act.red, act.black, Result.VALUE, value, 0.1))
        found = plan(points, (points,), taken, Meter())
        assert len(taken) < 10
    assert found.is_decided or found.undecidable


def test_nothing_is_proposed_when_all_is_decided():
    silent = Reading("r1", Mode.BEEP, "A:1", ("A:2",), Result.SILENT)
    found = plan(("A:1", "A:2"), (("A:1", "A:2"),), (silent,), Meter())
    assert found.is_decided
    assert found.next == ()


@pytest.mark.parametrize("count", [0, 1])
def test_too_few_contacts_to_ask_about_are_decided(count):
    points = ("A:1",)[:count]
    assert plan(points, (points,), (), Meter()).is_decided


def test_proved_tells_the_net_and_what_it_sets_apart():
    points = ("A:1", "A:2", "B:1")
    apart = Reading("r1", Mode.BEEP, "A:1", ("A:2",), Result.SILENT)
    beep = Reading("r2", Mode.BEEP, "A:1", ("B:1",), Result.BEEPS)
    before, after = deduce(points, (apart,), Meter()), deduce(points, (apart, beep), Meter())
    found = proved(before, after, beep)
    assert (found.net, found.joined, found.apart, found.one_of) == (("A:1", "B:1"), 1, 1, ())


def test_the_answer_of_the_meter_goes_into_the_readings():
    act = plan(POINTS, ROWS, (), Meter()).next[0]
    reading = answered(act, 7, dict.fromkeys(POINTS, 0))
    assert (reading.id, reading.result) == ("r7", Result.BEEPS)
