"""Nets, separations and proofs; the second way is networkx over all pairs, and each proof does by itself."""

from __future__ import annotations

from itertools import combinations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.bounds import bounds
from catalogue.core.chains import Chains
from catalogue.core.document import Meter, Mode, Reading, Result
from catalogue.core.findings import Limit, Step
from catalogue.core.nets import Deduction, Pairs, deduce
from catalogue.core.simulation import BenchMeter, mixed_acts, random_cable, read, specimen
from tests.core import strategies, worlds
from tests.core.test_bounds import beep, ohms, over, sweep

METER = Meter()


def deduced(*readings: Reading, points: tuple[str, ...] = (), meter: Meter = METER) -> Deduction:
    return deduce(points, readings, meter)


def told(proof: tuple[Step, ...]) -> list[str]:
    return [f"{step.reading}: {step.start} {step.finish} {step.limit}" for step in proof]


# --- joined, apart, undecided ---


def test_points_nobody_read_are_single_nets_and_undecided():
    found = deduced(points=("A:1", "A:2", "B:1"))
    assert found.nets == (("A:1",), ("A:2",), ("B:1",))
    assert found.pairs == Pairs(joined=0, apart=0, undecided=3, total=3)
    assert not found.is_joined("A:1", "A:2")
    assert not found.is_apart("A:1", "A:2")
    assert found.is_joined("A:1", "A:1")


def test_a_low_reading_joins_and_a_chain_of_them_joins_its_ends():
    found = deduced(ohms(0.6, "A:1", "B:1", "r1"), ohms(0.6, "B:2", "B:1", "r2"), points=("B:2", "A:1", "A:2"))
    assert found.nets == (("B:2", "A:1", "B:1"), ("A:2",))
    assert found.net_index == {"B:2": 0, "A:1": 0, "B:1": 0, "A:2": 1}
    assert told(found.joined_proof("A:1", "B:2")) == ["r1: A:1 B:1 at most", "r2: B:1 B:2 at most"]
    assert found.joined_proof("A:1", "A:1") == ()
    assert found.joined_proof("A:1", "A:2") == ()


def test_points_that_are_read_but_not_declared_are_added():
    assert deduced(over("A:1", "C:9"), points=("A:1",)).points == ("A:1", "C:9")


def test_a_reading_above_the_limit_sets_whole_nets_apart():
    found = deduced(ohms(0.6, "A:1", "B:1", "r1"), ohms(0.6, "A:2", "B:2", "r2"), over("B:1", "B:2", "r3"))
    assert found.is_apart("A:2", "A:1")
    assert found.pairs == Pairs(joined=2, apart=4, undecided=0, total=6)
    assert told(found.apart_proof("A:1", "A:2")) == [
        "r1: A:1 B:1 at most",
        "r3: B:1 B:2 at least",
        "r2: B:2 A:2 at most",
    ]
    assert found.apart_proof("A:1", "B:1") == ()


def test_a_value_above_the_limit_sets_apart_like_an_open_one():
    assert deduced(ohms(33.0, "A:1", "A:2", digit_ohms=0.1)).is_apart("A:1", "A:2")


def test_a_value_around_the_limit_decides_nothing():
    assert deduced(ohms(10.3, "A:1", "A:2", digit_ohms=0.1)).pairs.undecided == 1


def test_over_limit_on_a_range_below_the_limit_proves_nothing():
    assert deduced(over("A:1", "A:2", range_ohms=5.0, digit_ohms=0.01)).pairs.undecided == 1
    assert deduced(over("A:1", "A:2", range_ohms=200.0)).pairs.apart == 1


def test_a_beep_joins_unless_a_reading_of_the_same_pair_shows_more():
    assert deduced(beep(True, "A:1", "A:2")).is_joined("A:1", "A:2")
    part = deduced(beep(True, "A:1", "A:2", "r1"), ohms(33.0, "A:2", "A:1", "r2"))
    assert part.is_apart("A:1", "A:2")


def test_a_beep_does_not_join_what_low_readings_and_a_part_set_apart():
    found = deduced(ohms(0.6, "A:1", "B:1", "r1"), ohms(33.0, "B:1", "A:2", "r2"), beep(True, "A:1", "A:2", "r3"))
    assert found.is_apart("A:1", "A:2")
    assert told(found.apart_proof("A:1", "A:2")) == ["r1: A:1 B:1 at most", "r2: B:1 A:2 at least"]
    assert found.pairs == Pairs(joined=1, apart=2, undecided=0, total=3)


def test_a_part_that_may_beep_does_not_set_apart_what_only_a_beep_joins_to_it():
    part = ohms(33.0, "A:1", "A:2", "r1")
    found = deduced(part, beep(True, "A:2", "A:3", "r2"), over("A:3", "A:4", "r3"))
    assert not found.is_apart("A:1", "A:3")  # the beep may be the part, and A:1 to A:3 the conductor
    assert found.is_apart("A:2", "A:4")
    assert found.pairs == Pairs(joined=1, apart=3, undecided=2, total=6)
    assert deduced(part, ohms(0.6, "A:2", "A:3", "r2")).is_apart("A:1", "A:3")


def test_flexing_neither_joins_nor_sets_apart():
    found = deduced(beep(True, "A:1", "A:2", flexed=True), over("A:1", "A:3", flexed=True))
    assert found.pairs == Pairs(joined=0, apart=0, undecided=3, total=3)


def test_readings_apart_within_a_net_are_told():
    found = deduced(ohms(0.6, "A:1", "B:1", "r1"), ohms(0.6, "B:1", "A:2", "r2"), over("A:1", "A:2", "r3"))
    assert found.is_joined("A:1", "A:2")
    assert not found.is_apart("A:1", "A:2")
    assert [step.reading for step in found.apart_within] == ["r3"]


def test_the_shortest_chain_is_told_where_there_are_several():
    found = deduced(
        ohms(0.6, "A:1", "A:2", "r1"),
        ohms(0.6, "A:2", "A:3", "r2"),
        ohms(0.6, "A:3", "A:4", "r3"),
        ohms(3.0, "A:4", "A:1", "r4"),
    )
    assert told(found.joined_proof("A:1", "A:4")) == ["r4: A:1 A:4 at most"]


def test_apart_is_told_by_the_reading_with_the_shortest_chains():
    found = deduced(
        ohms(0.6, "A:1", "B:1", "r1"),
        ohms(0.6, "A:2", "B:2", "r2"),
        over("B:2", "B:1", "r3"),
        over("B:2", "A:1", "r4"),
    )
    assert told(found.apart_proof("A:1", "A:2")) == ["r4: A:1 B:2 at least", "r2: B:2 A:2 at most"]


def test_a_net_is_proved_by_one_reading_fewer_than_its_points_and_what_sweeps_lean_on():
    found = deduced(
        ohms(0.6, "A:1", "B:1", "r1"),
        ohms(0.6, "B:1", "A:1", "r2"),
        sweep(True, "A:1", "B:2", "B:3", id="r3"),
        over("A:1", "B:3", "r4"),
    )
    assert told(found.net_joins("B:2")) == ["r3: B:2 A:1 at most", "r1: A:1 B:1 at most"]
    assert [step.reading for step in found.net_proof(0)] == ["r1", "r3", "r4"]
    assert found.is_swept(0)
    assert not found.is_swept(1)
    assert found.net_proof(1) == ()


# --- sweeps ---


def test_a_sweep_that_beeped_joins_the_one_member_that_is_left():
    found = deduced(
        sweep(True, "A:1", "B:1", "B:2", "B:3", id="r1"),
        sweep(False, "A:1", "B:1", "B:3", id="r2"),
    )
    assert found.is_joined("A:1", "B:2")
    assert told(found.joined_proof("A:1", "B:2")) == [
        "r1: A:1 B:2 at most",
        "r2: A:1 B:1 at least",
        "r2: A:1 B:3 at least",
    ]


def test_a_sweep_that_beeped_decides_nothing_while_two_members_are_left():
    found = deduced(sweep(True, "A:1", "B:1", "B:2", "B:3"), over("A:1", "B:1", "r2"))
    assert found.pairs.joined == 0
    assert found.impossible_sweeps == ()


def test_members_left_that_are_one_net_are_joined_together():
    found = deduced(
        sweep(True, "A:1", "B:1", "B:2", "B:3", id="r1"),
        ohms(0.6, "B:2", "B:1", "r2"),
        over("A:1", "B:3", "r3"),
    )
    assert found.nets[0] == ("A:1", "B:1", "B:2")
    assert {step.reading for step in found.joined_proof("A:1", "B:2")} == {"r1", "r2", "r3"}


def test_one_sweep_decides_the_next():
    found = deduced(
        sweep(True, "A:2", "B:1", "B:2", id="r1"),
        sweep(True, "A:1", "B:1", "B:3", id="r2"),
        over("A:1", "B:3", "r3"),
        over("A:1", "A:2", "r4"),
    )
    assert found.is_joined("A:1", "B:1")
    assert found.is_joined("A:2", "B:2")
    assert {step.reading for step in found.joined_proof("A:2", "B:2")} == {"r1", "r2", "r3", "r4"}


def test_a_sweep_that_beeped_though_all_members_are_apart_is_impossible():
    found = deduced(sweep(True, "A:1", "B:1", "B:2", id="r1"), sweep(False, "A:1", "B:1", "B:2", id="r2"))
    assert found.impossible_sweeps == ("r1",)


def test_a_part_that_can_beep_does_not_make_a_sweep_impossible():
    readings = (sweep(True, "A:1", "B:1", "B:2", id="r1"), over("A:1", "B:2", "r3"))
    part = deduced(*readings, ohms(33.0, "A:1", "B:1", "r2"))
    assert part.impossible_sweeps == ()
    assert part.is_apart("A:1", "B:1")
    assert deduced(*readings, ohms(330.0, "A:1", "B:1", "r2")).impossible_sweeps == ("r1",)


def test_a_part_that_can_beep_does_not_rule_its_contact_out_for_the_rest_of_a_sweep():
    found = deduced(sweep(True, "A:1", "B:1", "B:2", id="r1"), ohms(33.0, "A:1", "B:1", "r2"))
    assert not found.is_joined("A:1", "B:2")


def test_a_sweep_across_its_own_source_says_nothing():
    found = deduced(sweep(True, "A:1", "A:1", "A:2"), over("A:1", "A:2", "r2"))
    assert found.impossible_sweeps == ()
    assert found.joins == ()


def test_a_sweep_that_beeped_on_a_contact_known_to_be_joined_adds_nothing():
    known = (ohms(0.6, "A:1", "B:1", "r1"), over("A:1", "B:2", "r2"))
    found = deduced(*known, sweep(True, "A:1", "B:1", "B:2", id="r3"))
    assert [step.reading for step in found.joins] == ["r1"]


# --- the second way ---


def low_readings_by_hand(readings: list[Reading], meter: Meter) -> nx.Graph:
    """Every pair that a single low reading joins."""
    graph = nx.Graph()
    graph.add_nodes_from(point for reading in readings for point in (reading.red, *reading.black))
    graph.add_edges_from((bound.a, bound.b) for bound in bounds(readings, meter) if bound.upper <= meter.join_ohms)
    return graph


def joined_by_hand(readings: list[Reading], meter: Meter) -> nx.Graph:
    """Those pairs, and every pair that beeps unless what low readings join to it was read apart."""
    low = low_readings_by_hand(readings, meter)
    graph = low.copy()
    beeping = {reading.id for reading in readings if reading.result is Result.BEEPS}
    for bound in bounds(readings, meter):
        one, two = nx.node_connected_component(low, bound.a), nx.node_connected_component(low, bound.b)
        refused = one != two and any(
            other.lower > meter.join_ohms
            and ((other.a in one and other.b in two) or (other.b in one and other.a in two))
            for other in bounds(readings, meter)
        )
        if bound.reading in beeping and not refused:
            graph.add_edge(bound.a, bound.b)
    return graph


def apart_by_hand(readings: list[Reading], meter: Meter) -> set[frozenset[str]]:
    """Whole nets where no buzzer can sound, else only what low readings join to the two points."""
    low, joined = low_readings_by_hand(readings, meter), joined_by_hand(readings, meter)
    silent = {reading.id for reading in readings if reading.result is Result.SILENT}
    apart = set()
    for bound in bounds(readings, meter):
        if bound.lower > meter.join_ohms and not nx.has_path(joined, bound.a, bound.b):
            sounds = bound.reading not in silent and bound.lower <= meter.beep_ohms[1]
            graph = low if sounds else joined
            apart |= {
                frozenset((one, other))
                for one in nx.node_connected_component(graph, bound.a)
                for other in nx.node_connected_component(graph, bound.b)
            }
    return apart


def without_sweeps_that_beeped(readings: list[Reading]) -> list[Reading]:
    return [
        reading
        for reading in readings
        if not (reading.mode is Mode.SWEEP and reading.result is Result.BEEPS and len(set(reading.black)) > 1)
    ]


@given(strategies.points(8).flatmap(lambda among: strategies.readings(among, 20)), strategies.meters())
def test_nets_and_counts_are_those_found_by_looking_at_all_pairs(readings: list[Reading], meter: Meter):
    readings = without_sweeps_that_beeped(readings)
    found = deduce((), readings, meter)
    graph = joined_by_hand(readings, meter)
    assert {frozenset(net) for net in found.nets} == set(map(frozenset, nx.connected_components(graph)))
    apart = apart_by_hand(readings, meter)
    for one, other in combinations(found.points, 2):
        assert found.is_joined(one, other) == nx.has_path(graph, one, other)
        assert found.is_apart(one, other) == (frozenset((one, other)) in apart)
        assert len(found.joined_proof(one, other)) == (
            nx.shortest_path_length(graph, one, other) if found.is_joined(one, other) else 0
        )
    joined = sum(found.is_joined(one, other) for one, other in combinations(found.points, 2))
    total = len(found.points) * (len(found.points) - 1) // 2
    assert found.pairs == Pairs(joined, len(apart), total - joined - len(apart), total)


@given(strategies.points(8).flatmap(lambda among: strategies.readings(among, 20)), strategies.meters())
def test_every_point_is_in_exactly_one_net_in_the_order_given(readings: list[Reading], meter: Meter):
    found = deduce(("B:9", "A:1"), readings, meter)
    assert found.points[:2] == ("B:9", "A:1")
    assert sorted(point for net in found.nets for point in net) == sorted(found.points)
    place = {point: number for number, point in enumerate(found.points)}
    assert all(list(net) == sorted(net, key=place.__getitem__) for net in found.nets)
    assert [net[0] for net in found.nets] == sorted((net[0] for net in found.nets), key=place.__getitem__)
    assert all(point in found.nets[index] for point, index in found.net_index.items())


@given(strategies.points(8).flatmap(lambda among: strategies.readings(among, 20)), strategies.meters())
def test_a_proof_leads_from_point_to_point_and_each_step_is_what_its_reading_says(
    readings: list[Reading], meter: Meter
):
    found = deduce((), readings, meter)
    said = {(b.reading, frozenset((b.a, b.b))): b for b in bounds(readings, meter)}
    sweeps = {reading.id: reading for reading in readings if reading.mode is Mode.SWEEP}
    for one, other in combinations(found.points, 2):
        joined, apart = found.joined_proof(one, other), found.apart_proof(one, other)
        assert bool(joined) == found.is_joined(one, other)
        assert bool(apart) == found.is_apart(one, other)
        for step in joined + apart:
            bound = said.get((step.reading, frozenset((step.start, step.finish))))
            if bound is None:
                assert step.limit is Limit.AT_MOST
                assert {step.start, step.finish} <= {sweeps[step.reading].red, *sweeps[step.reading].black}
            else:
                assert step.ohms == (bound.upper if step.limit is Limit.AT_MOST else bound.lower)
        for proof in filter(None, (joined, apart)):
            assert proof[0].start == one
            assert other in [step.finish for step in proof]


def alone(proof: tuple[Step, ...], readings: tuple[Reading, ...], meter: Meter) -> Deduction:
    """What follows from the readings that the proof names, and from no others."""
    named = {step.reading for step in proof}
    return deduce((), [reading for reading in readings if reading.id in named], meter)


@given(strategies.generators(), strategies.meters(), st.floats(0.1, 0.9), st.integers(0, 2))
def test_of_a_true_cable_what_is_deduced_is_true_and_each_proof_does_by_itself(
    rng: np.random.Generator, meter: Meter, share: float, resistors: int
):
    cable = random_cable(rng, (5, 5), resistors, meter)
    sample = specimen(cable, rng)
    readings = read(sample, mixed_acts(sample.points, rng, share), BenchMeter.of(meter, rng))
    found = deduce(sample.points, readings, meter)
    owner = cable.net_of_contact
    assert found.impossible_sweeps == ()
    assert found.apart_within == ()
    for one, other in combinations(found.points, 2):
        truly_joined = owner.get(one, one) == owner.get(other, other)
        if found.is_joined(one, other):
            assert truly_joined
            assert alone(found.joined_proof(one, other), readings, meter).is_joined(one, other)
        if found.is_apart(one, other):
            assert not truly_joined
            assert alone(found.apart_proof(one, other), readings, meter).is_apart(one, other)


def sweeps_settled_by_hand(points: tuple[str, ...], readings: tuple[Reading, ...], meter: Meter) -> nx.Graph:
    """Joins by single readings, then all sweeps again and again over all pairs until nothing more follows."""
    plain = without_sweeps_that_beeped(list(readings))
    graph = joined_by_hand(plain, meter)
    graph.add_nodes_from(points)
    silent = {reading.id for reading in readings if reading.result is Result.SILENT}
    mute = [
        bound
        for bound in bounds(plain, meter)
        if bound.lower > meter.join_ohms and (bound.reading in silent or bound.lower > meter.beep_ohms[1])
    ]
    while True:
        nets = {point: net for net in map(frozenset, nx.connected_components(graph)) for point in net}
        ruled_out = {frozenset((nets[bound.a], nets[bound.b])) for bound in mute}
        for reading in readings:
            if reading in plain:
                continue
            left = {
                nets[point] for point in reading.black if frozenset((nets[reading.red], nets[point])) not in ruled_out
            }
            if len(left) == 1 and nets[reading.red] not in left:
                graph.add_edge(reading.red, min(left.pop()))
                break
        else:
            return graph


@given(strategies.generators(), strategies.meters(), st.floats(0.0, 0.5))
def test_of_a_true_cable_sweeps_are_settled_as_by_trying_all_of_them_again_and_again(
    rng: np.random.Generator, meter: Meter, share: float
):
    cable = random_cable(rng, (6, 6), 1, meter)
    sample = specimen(cable, rng)
    acts = mixed_acts(sample.points, rng, share) + mixed_acts(sample.points, rng, 0.0)
    readings = read(sample, acts, BenchMeter.of(meter, rng))
    graph = sweeps_settled_by_hand(sample.points, readings, meter)
    found = deduce(sample.points, readings, meter)
    assert {frozenset(net) for net in found.nets} == set(map(frozenset, nx.connected_components(graph)))


def test_a_long_row_of_sweeps_that_hang_on_each_other_is_settled_from_either_side():
    length = 400
    apart = [over(f"A:{n}", f"C:{n}", f"o{n}") for n in range(length)]
    links = [over(f"A:{n}", f"A:{n + 1}", f"l{n}") for n in range(length)]
    sweeps = [sweep(True, "A:0", "B:0", "C:0", id="s0")]
    sweeps += [sweep(True, f"A:{n}", f"B:{n - 1}", f"B:{n}", id=f"s{n}") for n in range(1, length)]
    for order in (sweeps, sweeps[::-1]):
        found = deduced(*apart, *links, *order)
        assert all(found.is_joined(f"A:{n}", f"B:{n}") for n in range(length))
        proof = found.joined_proof(f"A:{length - 1}", f"B:{length - 1}")
        assert len({step.reading for step in proof}) == 2 * length
        assert alone(proof, (*apart, *links, *order), METER).is_joined(f"A:{length - 1}", f"B:{length - 1}")


@pytest.mark.parametrize("beeps", [True, False])
def test_a_threshold_below_the_limit_for_joined_decides_by_ohms(beeps: bool):
    meter = Meter(beep_ohms=(1.0, 5.0))
    found = deduced(beep(beeps, "A:1", "A:2"), meter=meter)
    assert found.is_joined("A:1", "A:2") == beeps
    assert found.pairs.apart == 0


def test_many_proofs_from_the_same_points_search_the_joins_once_for_each(monkeypatch: pytest.MonkeyPatch):
    """Else a map full of contradictions takes minutes to refuse."""
    searched = []
    search = Chains._apart
    monkeypatch.setattr(Chains, "_apart", lambda self, *asked: searched.append(asked) or search(self, *asked))
    chains = [ohms(0.5, f"{end}:{n}", f"{end}:{n + 1}", id=f"{end}{n}") for end in "AB" for n in range(200)]
    opens = [over(f"A:{n}", f"B:{m}", f"o{n}-{m}") for n in range(0, 200, 5) for m in range(0, 200, 5)]
    found = deduced(*chains, *opens)
    proofs = [found.apart_proof("A:200", f"B:{n}") for n in range(40)] * 2
    assert all(proofs)
    assert len(searched) == 1


def test_many_proofs_that_lean_on_the_same_sweeps_account_for_each_once(monkeypatch: pytest.MonkeyPatch):
    searched = []
    search = Chains._apart
    monkeypatch.setattr(Chains, "_apart", lambda self, *asked: searched.append(asked) or search(self, *asked))
    sweeps = [sweep(True, f"A:{n}", f"A:{n + 1}", "B:1", id=f"s{n}") for n in range(1, 30)]
    opens = [beep(False, f"A:{n}", "B:1", id=f"o{n}") for n in range(1, 30)]
    found = deduced(*sweeps, *opens)
    assert all(found.joined_proof("A:1", f"A:{n}") for n in range(2, 31))
    assert all(found.apart_proof("A:1", "B:1") for _ in range(5))
    assert len(searched) == 29 + 1


def test_beyond_what_can_be_accounted_for_proofs_leave_out_what_rules_out_other_members(
    monkeypatch: pytest.MonkeyPatch,
):
    readings = (sweep(True, "A:1", "B:2", "B:3", id="r3"), over("A:1", "B:3", "r4"))
    assert deduced(*readings).accounts_for_sweeps
    monkeypatch.setattr("catalogue.core.nets.MOST_WORK", 1)
    found = deduced(*readings)
    assert not found.accounts_for_sweeps
    assert told(found.joined_proof("A:1", "B:2")) == ["r3: A:1 B:2 at most"]


# --- a part that may be heard ---


def test_a_sweep_is_not_ruled_out_on_a_net_where_a_part_may_be_heard_though_the_buzzer_is_silent_at_its_far_end():
    """33 Ω from A:2 to B:1 beeps or not as the touch of the probes has it; from A:3, some ohms farther, it need not."""
    readings = (
        ohms(33.0, "A:1", "B:1", "r1"),
        beep(True, "B:1", "B:2", "r2"),
        beep(False, "A:1", "B:2", "r3"),
        sweep(True, "A:1", "B:1", "B:2", id="r4"),
    )
    assert deduced(*readings).impossible_sweeps == ()
    assert deduced(*readings[1:]).impossible_sweeps == ("r4",)


def test_nor_is_it_joined_to_what_is_left_then():
    found = deduced(
        ohms(33.0, "A:1", "B:1", "r1"),
        beep(True, "B:1", "B:2", "r2"),
        beep(False, "A:1", "B:2", "r3"),
        sweep(True, "A:1", "B:1", "C:1", id="r4"),
    )
    assert not found.is_joined("A:1", "C:1")


# --- every world there is ---


@given(st.data())
def test_what_is_joined_or_apart_is_so_in_every_world_and_what_proves_it_is_enough(data: st.DataObject):
    every = worlds.worlds()
    readings = data.draw(worlds.readings(10, data.draw(st.sampled_from(every))))
    found = deduce(worlds.POINTS, readings, METER)
    for a, b in combinations(worlds.POINTS, 2):
        proof = found.joined_proof(a, b) or found.apart_proof(a, b)
        assert bool(proof) == (found.is_joined(a, b) or found.is_apart(a, b))
        if proof:
            names = {step.reading for step in proof}
            told = [reading for reading in readings if reading.id in names]
            left = [world for world in every if all(worlds.is_true(reading, world) for reading in told)]
            assert {world[a] == world[b] for world in left} == {found.is_joined(a, b)}
