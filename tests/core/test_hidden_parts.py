"""Resistors recovered from values between nets; the truth is a network that networkx reads as well."""

from __future__ import annotations

import math
from itertools import combinations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.document import Meter, Mode, Reading, Result
from catalogue.core.hidden_parts import MOST_EFFORT, MOST_NETS, HiddenParts, hidden_parts
from catalogue.core.nets import deduce
from catalogue.core.network import Link, Unsolved, resistance_distances
from catalogue.core.simulation import Act, BenchMeter, Specimen, every_pair, read
from tests.core import strategies
from tests.core.test_bounds import beep, ohms, over

METER = Meter()
EXACT = Meter(lead_ohms=0.0, contact_ohms=0.0, accuracy_pct=0.0, accuracy_digits=0.0)

CUBE: list[Link] = [(n, n ^ bit, 1000.0) for n in range(8) for bit in (1, 2, 4) if n < n ^ bit]
BRIDGE: list[Link] = [(0, 1, 1000.0), (1, 3, 500.0), (0, 2, 2000.0), (2, 3, 1500.0), (1, 2, 400.0)]


def recovered(*readings: Reading, meter: Meter = METER) -> HiddenParts:
    return hidden_parts(readings, meter, deduce((), readings, meter))


def exact_readings(nodes: int, links: list[Link], unread: tuple[tuple[int, int], ...] = ()) -> list[Reading]:
    """Every pair but those unread, by networkx and to nine figures."""
    graph = nx.Graph()
    graph.add_weighted_edges_from(links, weight="ohms")
    between = nx.resistance_distance(graph, weight="ohms", invert_weight=True)
    return [
        Reading(f"r{a}-{b}", Mode.OHMS, f"A:{a}", (f"A:{b}",), Result.VALUE, float(f"{between[a][b]:.9g}"), 1e-6)
        for a, b in combinations(range(nodes), 2)
        if (a, b) not in unread
    ]


def links_of(found: HiddenParts) -> dict[tuple[int, int], float]:
    return {
        tuple(sorted(int(point.partition(":")[2]) for point in part.between)): part.span.ohms for part in found.parts
    }


# --- what a person gets ---


def test_one_value_between_two_nets_is_one_resistor_within_the_bounds_of_the_reading():
    (part,) = recovered(ohms(5100.0, "A:5", "A:12", "r1", digit_ohms=1.0)).parts
    assert part.between == ("A:5", "A:12")
    # 0.8 % and two digits make 42.8 either way; the leads are 0.2 and the touch 0 to 0.5
    assert (part.span.least_ohms, part.span.most_ohms) == (
        pytest.approx(5056.5, abs=0.01),
        pytest.approx(5142.6, abs=0.01),
    )
    assert part.span.ohms == pytest.approx((5056.5 + 5142.6) / 2, rel=1e-6)
    assert part.readings == ("r1",)
    assert not part.is_ohmic


def test_a_value_alike_both_ways_is_a_resistor_and_no_junction():
    (part,) = recovered(ohms(5100.0, "A:1", "A:2", "r1"), ohms(5110.0, "A:2", "A:1", "r2")).parts
    assert part.is_ohmic
    assert part.readings == ("r1", "r2")


def test_three_values_along_a_chain_are_two_resistors():
    found = recovered(*exact_readings(3, [(0, 1, 5100.0), (1, 2, 10000.0)]), meter=METER)
    assert set(links_of(found)) == {(0, 1), (1, 2)}
    assert found.complete == (True, True)


def test_nets_of_several_contacts_are_one_node_wherever_they_are_probed():
    found = recovered(
        ohms(0.6, "A:1", "B:1", "j1", digit_ohms=0.1),
        ohms(0.6, "B:1", "B:2", "j2", digit_ohms=0.1),
        ohms(5100.0, "B:2", "C:1", "r1", digit_ohms=1.0),
        ohms(5098.0, "A:1", "C:1", "r2", digit_ohms=1.0),
    )
    (part,) = found.parts
    assert part.readings == ("r1", "r2")
    assert part.span.least_ohms < 5100 < part.span.most_ohms


def test_what_only_beeps_join_widens_the_interval_by_all_that_may_beep():
    (near,) = recovered(ohms(5100.0, "A:1", "C:1", "r1", digit_ohms=1.0)).parts
    found = recovered(
        beep(True, "A:1", "B:1", "j1"),
        ohms(5100.0, "A:1", "C:1", "r1", digit_ohms=1.0),
        ohms(5100.0, "A:1", "C:1", "r2", digit_ohms=1.0),
        ohms(5200.0, "B:1", "C:1", "r3", digit_ohms=1.0),
    )
    (part,) = found.parts
    assert part.between == ("A:1", "C:1")
    assert near.span.least_ohms <= part.span.least_ohms < part.span.most_ohms <= near.span.most_ohms


def test_values_that_no_network_of_resistors_has_are_left_unsolved():
    """Distances round a square keep every triangle, but only conductances without limit would have them."""
    around = {(0, 1): 1, (0, 2): 2, (0, 3): 1, (1, 2): 1, (1, 3): 2, (2, 3): 1}
    found = recovered(*(ohms(1000.0 * far, f"A:{a}", f"A:{b}", f"r{a}{b}") for (a, b), far in around.items()))
    assert found.parts == ()
    assert [why for _, why in found.unsolved] == [Unsolved.NONE_FITS]
    assert set(found.unsolved[0][0]) == {f"A:{number}" for number in range(4)}


def test_repeats_that_differ_leave_nothing_to_recover():
    found = recovered(ohms(5100.0, "A:1", "A:2", "r1"), ohms(9100.0, "A:1", "A:2", "r2"))
    assert [why for _, why in found.unsolved] == [Unsolved.NONE_FITS]


def test_over_limit_on_a_low_range_counts_as_a_lower_bound():
    chain = (ohms(1000.0, "A:1", "A:2", "r1"), ohms(1000.0, "A:2", "A:3", "r2"))
    assert len(recovered(*chain, over("A:1", "A:3", "r3", range_ohms=1500.0)).parts) == 2
    found = recovered(*chain, over("A:1", "A:3", "r3", range_ohms=20_000.0))
    assert [why for _, why in found.unsolved] == [Unsolved.NONE_FITS]


def test_a_part_across_a_pair_that_was_not_read_is_found_where_the_others_need_it():
    """Three in a row with the middle one unread: no resistors over the other pairs would read like that."""
    row = [(0, 1, 1000.0), (1, 2, 1000.0), (2, 3, 1000.0)]
    found = recovered(*exact_readings(4, row, unread=((1, 2),)), meter=METER)
    assert found.unsolved == ()
    assert set(links_of(found)) == {(0, 1), (1, 2), (2, 3)}
    (unread,) = (part for part in found.parts if not part.readings)
    assert unread.span.least_ohms <= 1000.0 <= unread.span.most_ohms
    assert not any(found.complete)


def test_too_many_nets_are_told_and_not_tried():
    star = [ohms(1000.0 + number, "A:0", f"A:{number}", f"r{number}") for number in range(1, MOST_NETS + 1)]
    assert [why for _, why in recovered(*star).unsolved] == [Unsolved.TOO_MANY_NETS]


def test_more_networks_than_there_is_time_for_are_told_the_small_ones_first():
    pairs = [ohms(1000.0, f"A:{number}", f"B:{number}", f"r{number}") for number in range(40)]
    many = (MOST_EFFORT - 40 * 2**4) // MOST_NETS**4 + 1
    stars = [
        ohms(1000.0 + leaf, f"C{star}:0", f"C{star}:{leaf}", f"s{star}-{leaf}")
        for star in range(many)
        for leaf in range(1, MOST_NETS)
    ]
    found = recovered(*stars, *pairs)
    assert len(found.unsolved) == 1
    assert {f"A:{number}" for number in range(40)} <= {point for part in found.parts for point in part.between}


def test_nothing_read_between_nets_leaves_no_parts():
    assert recovered(ohms(0.6), over("A:1", "A:2", "r2")) == HiddenParts((), (), ())


def test_flexed_readings_are_left_out():
    assert recovered(ohms(5100.0, flexed=True)).parts == ()


# --- exact recovery, with networkx as referee ---


@pytest.mark.parametrize(
    ("nodes", "links"),
    [(8, CUBE), (4, BRIDGE), (5, [(a, b, 1000.0) for a, b in combinations(range(5), 2)])],
    ids=["cube", "bridge", "every two of five"],
)
def test_networks_read_without_error_are_recovered(nodes: int, links: list[Link]):
    found = recovered(*exact_readings(nodes, links), meter=EXACT)
    assert links_of(found) == pytest.approx({link[:2]: link[2] for link in links}, rel=1e-4)
    # R. M. Foster, "The average impedance of an electrical network" (1949)
    between = resistance_distances(nodes, [(a, b, value) for (a, b), value in links_of(found).items()])
    assert sum(between[pair] / value for pair, value in links_of(found).items()) == pytest.approx(nodes - 1)


@st.composite
def sound_networks(draw: st.DrawFn) -> tuple[int, list[Link]]:
    """Connected networks of 2 to 6 nodes, their resistors within a decade so that none hides behind others."""
    nodes = draw(st.integers(2, 6))
    tree = [(draw(st.integers(0, node - 1)), node) for node in range(1, nodes)]
    more = draw(st.lists(st.sampled_from(list(combinations(range(nodes), 2))), max_size=nodes))
    return nodes, [(a, b, draw(st.floats(300, 3000))) for a, b in dict.fromkeys((*tree, *more))]


@settings(max_examples=25)
@given(sound_networks())
def test_any_network_read_without_error_is_recovered(network: tuple[int, list[Link]]):
    nodes, links = network
    found = recovered(*exact_readings(nodes, links), meter=EXACT)
    assert links_of(found) == pytest.approx({link[:2]: link[2] for link in links}, rel=1e-3)


@settings(max_examples=25)
@given(sound_networks(), st.integers(0, 2**32 - 1))
def test_the_intervals_hold_the_true_resistors_whatever_the_meter_s_error(network: tuple[int, list[Link]], seed: int):
    nodes, links = network
    rng = np.random.default_rng(seed)
    sample = Specimen(tuple(f"A:{number}" for number in range(nodes)), resistance_distances(nodes, links))
    found = recovered(*read(sample, every_pair(sample.points), BenchMeter.of(METER, rng)))
    spans = dict(zip(links_of(found), (part.span for part in found.parts), strict=True))
    for a, b, truth in links:
        if (a, b) in spans:
            # Intervals are right to first order: what is left over is the square of an error of some percent.
            span = spans[a, b]
            assert span.least_ohms * 0.999 <= truth <= span.most_ohms * 1.001
    for part in found.parts:
        assert part.span.least_ohms <= part.span.ohms <= part.span.most_ohms


@settings(max_examples=25)
@given(sound_networks(), st.integers(0, 2**32 - 1))
def test_what_is_recovered_reads_as_was_read(network: tuple[int, list[Link]], seed: int):
    nodes, links = network
    rng = np.random.default_rng(seed)
    points = tuple(f"A:{number}" for number in range(nodes))
    sample = Specimen(points, resistance_distances(nodes, links))
    acts = [act for act in every_pair(points) if rng.random() < 0.8]
    readings = read(sample, acts, BenchMeter.of(METER, rng))
    found = recovered(*readings)
    graph = nx.Graph()
    for (a, b), value in links_of(found).items():
        graph.add_edge(f"A:{a}", f"A:{b}", ohms=value)
    for act, reading in zip(acts, readings, strict=True):
        if reading.value is not None and act.red in graph and act.black[0] in graph:
            shown = nx.resistance_distance(graph, act.red, act.black[0], weight="ohms", invert_weight=True)
            half = 0.008 * reading.value + 2 * (reading.digit_ohms or 0.0)
            assert reading.value - half - 0.7 <= shown * (1 + 1e-5)
            assert shown * (1 - 1e-5) <= reading.value + half - 0.2


@settings(max_examples=40)
@given(
    st.just([f"A:{n}" for n in range(1, 6)]).flatmap(lambda among: strategies.readings(among, 14)), strategies.meters()
)
def test_readings_that_nobody_promised_to_agree_get_an_answer(readings: list[Reading], meter: Meter):
    found = recovered(*readings, meter=meter)
    solved = {point for part in found.parts for point in part.between}
    assert solved.isdisjoint(point for contacts, _ in found.unsolved for point in contacts)
    for part in found.parts:
        assert 0 < part.span.least_ohms <= part.span.ohms <= part.span.most_ohms


def test_an_act_list_of_one_mode_is_enough():
    """Beeps and sweeps show no resistor, whatever they say."""
    sample = Specimen(("A:1", "A:2"), np.array([[0.0, 5100.0], [5100.0, 0.0]]))
    bench = BenchMeter(METER, 30.0, np.random.default_rng(1))
    assert recovered(*read(sample, [Act(Mode.BEEP, "A:1", ("A:2",))], bench)).parts == ()
    assert math.isclose(
        recovered(*read(sample, every_pair(sample.points), bench)).parts[0].span.ohms, 5100, rel_tol=0.02
    )
