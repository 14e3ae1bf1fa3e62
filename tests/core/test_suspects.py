"""Which readings must be wrong; the second way is to try every set of readings there is."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.bounds import bounds, violations
from catalogue.core.conflicts import MOST_STEPS, MOST_TOLD, Conflicts
from catalogue.core.document import Meter, Mode, Reading, Result
from catalogue.core.nets import deduce
from catalogue.core.simulation import BenchMeter, every_pair, flipped, mixed_acts, random_cable, read, specimen
from catalogue.core.suspects import MOST_WRONG, Suspects, suspects, weight
from tests.core import strategies, worlds
from tests.core.test_bounds import beep, ohms, over, sweep

METER = Meter()


def blamed(*readings: Reading) -> Suspects:
    return suspects(Conflicts(readings, METER))


# --- what a person gets ---


def test_readings_that_agree_leave_nothing_to_suspect():
    assert blamed(ohms(0.6, id="r1"), ohms(0.7, id="r2")) == Suspects(0, (), ())


def test_of_two_readings_at_odds_the_open_one_is_suspected():
    found = blamed(ohms(0.6, id="r1"), over(id="r2"))
    assert found.smallest == ("r2",)  # a probe that did not touch is the likelier slip
    assert found.in_every == ("r2",)


def test_of_two_values_at_odds_either_may_be_wrong():
    found = blamed(ohms(0.6, id="r1"), ohms(5100.0, id="r2"))
    assert found.at_least == 1
    assert found.smallest is not None
    assert len(found.smallest) == 1
    assert found.in_every == ()


def test_a_value_that_was_repeated_outweighs_a_lone_beep():
    low = beep(True, "A:1", "B:1", "r1")
    high = (ohms(5100.0, "A:1", "B:1", "r2"), ohms(5110.0, "A:1", "B:1", "r3"))
    assert blamed(low, *high).in_every == ("r1",)


def test_repeats_that_agree_weigh_their_sum():
    opens = tuple(over("A:1", "B:1", f"r{number}") for number in (1, 2))
    assert blamed(*opens, ohms(0.6, "A:1", "B:1", "r3")).in_every == ("r3",)


def test_the_one_reading_that_breaks_many_chains_is_to_be_measured_again_first():
    chain = [ohms(0.6, f"A:{number}", f"A:{number + 1}", f"r{number}") for number in range(1, 6)]
    opens = [over("A:1", f"A:{number}", f"o{number}") for number in range(2, 7)]
    found = suspects(Conflicts([*chain, *opens], METER))
    assert found.smallest == found.in_every == ("r1",)


def test_both_probes_on_one_contact_cannot_read_open():
    assert blamed(over("A:1", "A:1", "r1"), ohms(0.6, id="r2")).in_every == ("r1",)


def test_a_value_that_differs_both_ways_is_no_conflict_for_it_may_be_a_diode():
    assert blamed(ohms(700.0, "A:1", "B:1", "r1"), over("B:1", "A:1", "r2")).smallest == ()


def test_a_resistor_read_alike_both_ways_cannot_be_open_as_well():
    alike = (ohms(700.0, "A:1", "B:1", "r1"), ohms(701.0, "B:1", "A:1", "r2"))
    # Either value alone may be a diode's, so that one of the two being wrong explains it as well.
    found = blamed(*alike, over("A:1", "B:1", "r3"))
    assert found.at_least == 1
    assert found.smallest == ("r3",)


def test_flexing_is_never_suspected():
    assert blamed(ohms(0.6, id="r1"), over(id="r2", flexed=True)).smallest == ()


def test_a_sweep_that_beeped_though_every_member_is_silent_is_suspected_before_two_silences():
    found = blamed(
        sweep(True, "A:1", "B:1", "B:2", id="r1"),
        beep(False, "A:1", "B:1", "r2"),
        beep(False, "A:1", "B:2", "r3"),
        over("A:1", "B:2", "r4"),
    )
    assert found.at_least == 1
    assert found.smallest is not None
    assert len(found.smallest) == 1
    assert set(found.smallest) <= {"r1", "r2"}


def test_a_sweep_is_cleared_when_readings_of_each_member_would_all_have_to_be_wrong():
    silences = [beep(False, "A:1", f"B:{number}", f"r{number}{turn}") for number in (1, 2) for turn in "ab"]
    assert suspects(Conflicts([sweep(True, "A:1", "B:1", "B:2", id="s1"), *silences], METER)).in_every == ("s1",)


def test_a_sweep_that_decides_another_is_counted_in():
    found = blamed(
        sweep(True, "A:1", "B:1", "B:2", id="r1"),
        beep(False, "A:1", "B:2", "r2"),
        sweep(True, "A:2", "B:1", "B:3", id="r3"),
        beep(False, "A:2", "B:3", "r4"),
        beep(False, "A:1", "A:2", "r5"),
    )
    assert found.at_least == 1
    assert found.smallest is not None
    assert len(found.smallest) == 1


def test_two_beeps_in_a_chain_and_silence_from_end_to_end_are_at_odds():
    found = blamed(
        beep(True, "A:1", "B:1", "r1"),
        beep(True, "B:1", "A:2", "r2"),
        beep(False, "A:1", "A:2", "r3"),
        beep(False, "A:2", "A:1", "r4"),
    )
    assert found.at_least == 1
    assert found.smallest in (("r1",), ("r2",))
    assert found.in_every == ()


def test_a_beep_and_silence_on_one_pair_are_at_odds():
    assert blamed(beep(True, id="r1"), beep(False, id="r2")).in_every == ("r2",)


def test_a_value_that_shows_a_part_which_may_beep_settles_the_same_chain():
    found = blamed(
        beep(True, "A:1", "B:1", "r1"),
        beep(True, "B:1", "A:2", "r2"),
        beep(False, "A:1", "A:2", "r3"),
        ohms(33.0, "B:1", "A:2", "r4"),
    )
    assert found.smallest == ()


def test_a_part_that_may_beep_excuses_the_sweep():
    found = blamed(sweep(True, "A:1", "B:1", "B:2", id="r1"), over("A:1", "B:2", "r2"), ohms(33.0, "A:1", "B:1", "r3"))
    assert found.smallest == ()


def test_a_sweep_at_odds_beside_a_part_that_may_be_heard_is_not_sorted_out_in_silence():
    readings = [
        beep(True, "A:1", "A:2", "r1"),
        ohms(33.0, "A:2", "B:1", "r2"),
        over("B:1", "A:1", "r3"),
        over("A:1", "A:2", "r4"),
        sweep(True, "A:1", "A:2", "B:1", id="r5"),
    ]
    conflicts = Conflicts(readings, METER)
    assert suspects(conflicts) == Suspects(1, None, None)
    assert {"r3", "r4"} <= {conflict.reading for conflict in conflicts.every()[0]}
    # Without the beep the sweep would be left no member, and both its readings over limit could be wrong instead.
    assert [conflict.reading for conflict in conflicts.near_parts({"r2", "r3", "r4", "r5"})] == ["r5"]


def test_more_slips_than_slips_can_be_are_not_sorted_out():
    pairs = [(ohms(0.6, f"A:{n}", f"B:{n}", f"a{n}"), over(f"A:{n}", f"B:{n}", f"b{n}")) for n in range(MOST_WRONG + 1)]
    assert suspects(Conflicts([reading for pair in pairs for reading in pair], METER)) == Suspects(
        MOST_WRONG + 1, None, None
    )


def test_tens_of_wrong_readings_among_thousands_are_sorted_out():
    rng = np.random.default_rng(4)
    cable = random_cable(rng, (38, 24, 4), resistors=4)
    sample = specimen(cable, rng)
    readings = read(sample, every_pair(sample.points), BenchMeter.of(cable.meter, rng))
    turned = set()
    for _ in range(30):
        readings, one = flipped(readings, rng, cable.meter)
        turned.add(one.id)
    found = suspects(Conflicts(readings, cable.meter))
    assert found.smallest is not None
    left = [reading for reading in readings if reading.id not in found.smallest]
    assert not any(each.ohmic for each in violations(bounds(left, cable.meter)))
    assert 15 < found.at_least <= len(found.smallest) <= len(turned)


# --- the second way ---


def lightest_sets(readings: list[Reading], meter: Meter) -> list[frozenset[str]]:
    """Every lightest set of readings without which the others are free of conflict, by trying them all."""
    looking = Conflicts(readings, meter)
    every = [frozenset(names) for size in range(len(readings) + 1) for names in combinations(_ids(readings), size)]
    weights = {reading.id: weight(reading) for reading in readings}
    best: list[frozenset[str]] = []
    least = float("inf")
    for wrong in sorted(every, key=lambda names: sum(weights[name] for name in names)):
        weighs = sum(weights[name] for name in wrong)
        if weighs > least:
            break
        if not looking.among(set(_ids(readings)) - wrong):
            best.append(wrong)
            least = weighs
    return best


def _ids(readings: list[Reading]) -> list[str]:
    return [reading.id for reading in readings]


def same_as_trying_all(readings: list[Reading], meter: Meter) -> None:
    found, best = suspects(Conflicts(readings, meter)), lightest_sets(readings, meter)
    if found.smallest is None:  # only ever for a sweep beside a part that may be heard
        lefts = ([reading for reading in readings if reading.id not in wrong] for wrong in best)
        assert any(deduce((), left, meter).impossible_sweeps for left in lefts)
        return
    assert frozenset(found.smallest) in best
    assert found.in_every is not None
    assert frozenset(found.in_every) == frozenset.intersection(*best)
    assert found.at_least <= min(map(len, best))


@given(st.just(["A:1", "A:2", "B:1", "B:2"]).flatmap(lambda among: strategies.readings(among, 10)), strategies.meters())
def test_the_smallest_set_and_what_is_in_every_one_are_those_of_trying_all_sets(readings: list[Reading], meter: Meter):
    same_as_trying_all(readings, meter)


@settings(max_examples=50)
@given(strategies.generators(), st.integers(1, 3))
def test_the_same_on_cables_with_readings_spoilt(rng: np.random.Generator, spoilt: int):
    cable = random_cable(rng, (3, 2), resistors=1)
    sample = specimen(cable, rng)
    readings = read(sample, mixed_acts(sample.points, rng, 0.6)[:11], BenchMeter.of(cable.meter, rng))
    try:
        for _ in range(spoilt):
            readings, _ = flipped(readings, rng, cable.meter)
    except ValueError:
        return
    same_as_trying_all(list(readings), cable.meter)


@given(st.just(["A:1", "A:2", "A:3", "B:1"]).flatmap(lambda among: strategies.readings(among, 14)), strategies.meters())
def test_whoever_takes_more_readings_finds_no_fewer_conflicts(readings: list[Reading], meter: Meter):
    looking = Conflicts(readings, meter)
    every = set(_ids(readings))
    for names in {conflict.readings for conflict in looking.among(every)}:
        assert looking.among(names)
        for left_out in every - names:
            assert looking.among(every - {left_out})


@given(strategies.cables(), strategies.generators())
def test_nothing_is_suspected_of_the_readings_of_a_true_cable(cable, rng: np.random.Generator):
    sample = specimen(cable, rng)
    readings = read(sample, mixed_acts(sample.points, rng), BenchMeter.of(cable.meter, rng))
    assert suspects(Conflicts(readings, cable.meter)) == Suspects(0, (), ())


@given(st.just(["A:1", "A:2", "B:1", "B:2"]).flatmap(lambda among: strategies.readings(among, 14)), strategies.meters())
def test_without_the_smallest_set_nothing_is_proved_impossible(readings: list[Reading], meter: Meter):
    found = suspects(Conflicts(readings, meter))
    if found.smallest is not None:
        left = [reading for reading in readings if reading.id not in found.smallest]
        assert not any(each.ohmic for each in violations(bounds(left, meter)))
        assert deduce((), left, meter).impossible_sweeps == ()


@given(worlds.readings(8))
def test_of_conductors_alone_the_set_is_the_lightest_that_leaves_a_world_possible(readings: list[Reading]):
    wrong = [[each for each in readings if not worlds.is_true(each, world)] for world in worlds.worlds()]
    weighs = [sum(map(weight, each)) for each in wrong]
    lightest = [frozenset(_ids(each)) for each, weigh in zip(wrong, weighs, strict=True) if weigh == min(weighs)]
    found = suspects(Conflicts(readings, METER))
    assert found.smallest is not None
    assert found.in_every is not None
    assert frozenset(found.smallest) in lightest
    assert frozenset(found.in_every) == frozenset.intersection(*lightest)
    assert found.at_least <= min(map(len, wrong))


# --- how much is looked through ---


def chain_of_low_readings_and_many_opens(length: int) -> list[Reading]:
    chain = [ohms(0.3, f"A:{n}", f"A:{n + 1}", f"c{n}") for n in range(length)]
    return chain + [over(f"A:{n}", f"A:{m}", f"o{n}-{m}") for n in range(length) for m in range(n + 1, length)]


def test_conflicts_of_many_steps_are_counted_and_only_the_first_are_told():
    readings = chain_of_low_readings_and_many_opens(80)
    told, known = Conflicts(readings, METER).every()
    assert known == 80 * 79 // 2
    assert 0 < len(told) <= MOST_TOLD
    assert sum(len(conflict.witness) for conflict in told) < MOST_STEPS + 80


def test_the_search_is_given_up_when_so_much_was_looked_through(monkeypatch: pytest.MonkeyPatch):
    conflicts = Conflicts(chain_of_low_readings_and_many_opens(12), METER)
    monkeypatch.setattr("catalogue.core.suspects.MOST_WORK", 100)
    found = suspects(conflicts)
    assert found.smallest is None
    assert found.at_least > 0
    assert conflicts.work < 2000


def test_the_search_is_given_up_after_so_many_programs(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("catalogue.core.suspects.MOST_PROGRAMS", 1)
    found = suspects(Conflicts([ohms(0.6, id="r1"), ohms(5100.0, id="r2")], METER))
    assert (found.at_least, found.in_every) == (1, None)
    assert found.smallest is not None


def test_what_is_far_from_all_that_beeps_is_not_looked_through_again_and_again():
    at_odds = [beep(True, "A:1", "A:2", "r1"), beep(False, "A:1", "A:2", "r2")]
    elsewhere = [sweep(False, f"B:{n}", *(f"C:{m}" for m in range(100)), id=f"s{n}") for n in range(100)]
    conflicts = Conflicts([*at_odds, *elsewhere], METER)
    assert suspects(conflicts).in_every == ("r2",)
    assert conflicts.work < 1000


def test_no_set_is_told_where_conflicts_lean_on_more_sweeps_than_can_be_accounted_for(
    monkeypatch: pytest.MonkeyPatch,
):
    readings = [
        sweep(True, "A:1", "B:1", "B:2", id="r1"),
        beep(False, "A:1", "B:2", "r2"),
        beep(False, "B:1", "A:1", "r3"),
    ]
    readings = [*readings, sweep(True, "C:1", "C:2", "C:3", id="r4"), beep(False, "C:1", "C:2", "r5")]
    assert suspects(Conflicts(readings, METER)).at_least == 1
    monkeypatch.setattr("catalogue.core.nets.MOST_WORK", 0)
    assert suspects(Conflicts(readings, METER)) == Suspects(0, None, None)


def test_the_lightest_two_outweigh_the_heaviest_one():
    modes = [
        (Mode.OHMS, Result.VALUE),
        (Mode.OHMS, Result.OVER),
        (Mode.BEEP, Result.BEEPS),
        (Mode.SWEEP, Result.SILENT),
    ]
    weights = [
        weight(Reading("r1", mode, "A:1", ("A:2",), result, 1.0 if result is Result.VALUE else None))
        for mode, result in modes
    ]
    assert 2 * min(weights) > max(weights)
