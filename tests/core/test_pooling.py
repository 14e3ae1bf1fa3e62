"""Readings of several people on one cable: who agrees, which variants there are, and what tells them apart."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import networkx
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.bounds import bounds
from catalogue.core.document import Meter, Mode, Reading, Result
from catalogue.core.pooling import (
    EXACT_CONTRIBUTIONS,
    Contribution,
    Says,
    fewest_groups,
    pool,
    widest_meter,
)
from catalogue.core.simulation import BenchMeter, every_pair, random_cable, read, specimen
from tests.core.strategies import generators, meters, points, readings

CONTACTS = ("A:1", "A:2", "A:3", "B:1", "B:2", "B:3")


def contribution(name: str, joined: str = "", apart: str = "") -> Contribution:
    """Somebody who read pairs written as `A:1-B:1` joined by a low resistance, and others over limit."""
    found = []
    for number, pair in enumerate(joined.split(), 1):
        red, black = pair.split("-")
        found.append(Reading(f"j{number}", Mode.OHMS, red, (black,), Result.VALUE, 0.5, 0.1))
    for number, pair in enumerate(apart.split(), 1):
        red, black = pair.split("-")
        found.append(Reading(f"a{number}", Mode.OHMS, red, (black,), Result.OVER))
    return Contribution(name, tuple(found), Meter())


def test_people_who_agree_are_one_variant():
    told = pool(
        CONTACTS,
        [contribution("mira", "A:1-B:1", "A:1-A:2"), contribution("pavel", "A:2-B:2"), contribution("noor", "A:3-B:3")],
    )
    (variant,) = told.variants
    assert variant.members == ("mira", "pavel", "noor")
    assert ("A:1", "B:1") in variant.deduction.nets
    assert (told.fewest, told.differences, told.at_odds) == (True, (), ())


def test_two_hardware_variants_are_shown_side_by_side_with_the_readings_that_differ():
    straight = "A:1-B:1 A:2-B:2", "A:1-B:2 A:2-B:1"
    crossed = "A:1-B:2 A:2-B:1", "A:1-B:1 A:2-B:2"
    told = pool(
        CONTACTS,
        [contribution("mira", *straight), contribution("pavel", *crossed), contribution("noor", *straight)],
    )
    assert [variant.members for variant in told.variants] == [("mira", "noor"), ("pavel",)]
    assert told.fewest
    says = {(each.contact, *each.against): each.says for each in told.differences}
    assert says["A:1", "B:1"] == (Says.JOINED, Says.APART)
    assert says["A:1", "B:2"] == (Says.APART, Says.JOINED)
    proof = next(each.readings for each in told.differences if (each.contact, *each.against) == ("A:1", "B:1"))
    assert {"mira/j1", "pavel/a1"} <= set(proof)
    assert not any(variant.may_be_broken for variant in told.variants)


def test_a_specimen_that_only_lacks_a_joint_may_be_broken():
    told = pool(
        CONTACTS,
        [contribution("mira", "A:1-B:1 A:2-B:2"), contribution("pavel", "A:1-B:1", "A:2-B:2")],
    )
    assert [(variant.members, variant.may_be_broken) for variant in told.variants] == [
        (("mira",), False),
        (("pavel",), True),
    ]


def test_three_people_can_contradict_each_other_though_any_two_agree():
    told = pool(
        CONTACTS,
        [contribution("mira", "A:1-A:2"), contribution("pavel", "A:2-A:3"), contribution("noor", apart="A:1-A:3")],
    )
    assert len(told.variants) == 2
    (difference,) = told.differences
    assert set(difference.readings) == {"mira/j1", "pavel/j1", "noor/a1"}


def test_different_resistances_of_two_specimens_are_no_variant():
    low = Reading("r1", Mode.OHMS, "A:1", ("B:1",), Result.VALUE, 0.4, 0.1)
    high = Reading("r1", Mode.OHMS, "A:1", ("B:1",), Result.VALUE, 4.0, 0.1)
    told = pool(CONTACTS, [Contribution("mira", (low,), Meter()), Contribution("pavel", (high,), Meter())])
    assert len(told.variants) == 1


def test_somebody_who_contradicts_themselves_is_named_and_in_no_variant():
    told = pool(CONTACTS, [contribution("mira", "A:1-A:2 A:2-A:3", "A:1-A:3"), contribution("pavel", "A:1-A:2")])
    assert told.at_odds == ("mira",)
    assert [variant.members for variant in told.variants] == [("pavel",)]


def test_a_sweep_that_beeped_where_others_read_all_members_apart_tells_two_variants():
    sweep = Reading("s1", Mode.SWEEP, "A:1", ("B:1", "B:2"), Result.BEEPS)
    told = pool(
        CONTACTS,
        [Contribution("mira", (sweep,), Meter()), contribution("pavel", apart="A:1-B:1 A:1-B:2")],
    )
    (difference,) = told.differences
    assert (difference.contact, difference.against) == ("A:1", ("B:1", "B:2"))
    assert set(difference.readings) == {"mira/s1", "pavel/a1", "pavel/a2"}


def test_a_beep_against_a_silence_of_somebody_else_tells_two_variants():
    def heard(name: str, result: Result) -> Contribution:
        return Contribution(name, (Reading("r1", Mode.BEEP, "A:1", ("B:1",), result),), Meter())

    told = pool(CONTACTS, [heard("mira", Result.BEEPS), heard("pavel", Result.SILENT)])
    (difference,) = told.differences
    assert difference.says == (Says.JOINED, Says.APART)
    assert set(difference.readings) == {"mira/r1", "pavel/r1"}
    assert [variant.may_be_broken for variant in told.variants] == [False, True]


def test_a_beep_where_somebody_else_reads_what_may_beep_is_no_variant():
    beep = Reading("r1", Mode.BEEP, "A:1", ("B:1",), Result.BEEPS)
    value = Reading("r1", Mode.OHMS, "A:1", ("B:1",), Result.VALUE, 33.0, 0.1)
    told = pool(CONTACTS, [Contribution("mira", (beep,), Meter()), Contribution("pavel", (value,), Meter())])
    assert len(told.variants) == 1


def test_nobody_has_read_anything():
    told = pool(CONTACTS, [])
    assert (told.variants, told.fewest, told.differences_total) == ((), True, 0)


def partitions(numbers: list[int]) -> Iterator[list[list[int]]]:
    """All ways to part numbers into groups."""
    if not numbers:
        yield []
        return
    first, rest = numbers[0], numbers[1:]
    for parted in partitions(rest):
        yield [[first], *parted]
        for place in range(len(parted)):
            yield [*parted[:place], [first, *parted[place]], *parted[place + 1 :]]


@given(st.integers(0, 6), st.sets(st.frozensets(st.integers(0, 5), min_size=2, max_size=3)), st.randoms())
def test_the_groups_are_the_fewest_of_all_ways_to_part(count, feuds, random):
    def agree(members):
        return not any(feud <= set(members) for feud in feuds)

    order = list(range(count))
    random.shuffle(order)
    groups, exact = fewest_groups(order, agree)
    assert exact
    assert sorted(sum(groups, ())) == list(range(count))
    assert all(agree(group) for group in groups)
    allowed = [parted for parted in partitions(list(range(count))) if all(map(agree, parted))]
    assert len(groups) == min(map(len, allowed))


def test_beyond_the_exact_limit_it_says_that_fewer_may_do():
    # A crown: taken two by two, first come first served needs as many groups as pairs, and two would do.
    pairs = EXACT_CONTRIBUTIONS // 2 + 1
    crown = networkx.Graph((2 * a, 2 * b + 1) for a in range(pairs) for b in range(pairs) if a != b)

    def agree(members):
        return not any(crown.has_edge(*pair) for pair in combinations(members, 2))

    groups, exact = fewest_groups(range(2 * pairs), agree)
    assert all(agree(group) for group in groups)
    assert (len(groups), exact) == (pairs, False)


@given(st.lists(meters(), min_size=1, max_size=3), st.data())
def test_what_contradicts_under_the_widest_meter_contradicts_under_each(given_meters, data):
    taken = data.draw(readings(data.draw(points())))
    widest = bounds(taken, widest_meter(given_meters))
    for meter in given_meters:
        for wide, narrow in zip(widest, bounds(taken, meter), strict=True):
            assert wide.lower <= narrow.lower + 1e-9
            assert wide.upper >= narrow.upper - 1e-9


@settings(max_examples=25)
@given(generators(), st.integers(2, 5))
def test_true_readings_of_several_specimens_of_one_cable_are_one_variant(rng, people):
    cable = random_cable(rng, (5, 5), resistors=int(rng.integers(0, 3)))
    contacts = specimen(cable, rng).points
    contributions = []
    for person in range(people):
        meter = Meter(lead_ohms=float(rng.choice([0.0, 0.2, 0.5])), contact_ohms=float(rng.choice([0.1, 1.0])))
        own = specimen(cable, rng)
        acts = [act for act in every_pair(own.points) if rng.random() < 0.6]
        contributions.append(Contribution(f"p{person}", read(own, acts, BenchMeter.of(meter, rng)), meter))
    told = pool(contacts, contributions)
    assert [len(variant.members) for variant in told.variants] == [people]
    assert told.at_odds == ()


@settings(max_examples=25)
@given(generators(), st.integers(2, 6))
def test_specimens_of_two_cables_are_never_mixed_in_one_variant_when_all_was_read(rng, people):
    cables = [random_cable(rng, (5, 5)) for _ in range(2)]
    contributions, kinds = [], {}
    for person in range(people):
        kind = int(rng.integers(2))
        own = specimen(cables[kind], rng)
        kinds[f"p{person}"] = kind
        mode = Mode.BEEP if rng.random() < 0.5 else Mode.OHMS
        found = read(own, every_pair(own.points, mode), BenchMeter.of(Meter(), rng))
        contributions.append(Contribution(f"p{person}", found, Meter()))
    contacts = specimen(cables[0], np.random.default_rng(1)).points
    told = pool(contacts, contributions)
    alike = {net.contacts for net in cables[0].nets} == {net.contacts for net in cables[1].nets}
    expected = 1 if alike else len(set(kinds.values()))
    assert len(told.variants) == expected
    for variant in told.variants:
        assert alike or len({kinds[name] for name in variant.members}) == 1
    for difference in told.differences:
        assert set(difference.says) == {Says.JOINED, Says.APART}
        for kind, says in zip((kinds[variant.members[0]] for variant in told.variants), difference.says, strict=True):
            nets = [{difference.contact, *difference.against} <= set(net.contacts) for net in cables[kind].nets]
            assert any(nets) is (says is Says.JOINED)
