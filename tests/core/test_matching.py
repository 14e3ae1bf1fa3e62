"""Which map is this: readings on an unknown plug against a few maps, with a referee that tries all by hand."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.document import CUSTOM_CONNECTOR, CableName, End, MapDocument, Meter, Mode, Net, Reading, Result
from catalogue.core.matching import ranking
from catalogue.core.matching.index import Index, group_of
from catalogue.core.matching.plugs import Numbering, PlugShape, fits, plugs, wired_plugs
from catalogue.core.matching.ranking import ERROR_RATE, Ranking, rank
from catalogue.core.matching.signs import signs
from catalogue.core.problems import BadRequest
from catalogue.core.reference import Reference
from catalogue.core.simulation import BenchMeter, every_pair, flipped, random_cable, read, specimen
from tests.core.strategies import generators

NO_STANDARDS = Reference({}, (), {}, {}, {})


def index_of(documents: Sequence[MapDocument]) -> Index:
    """The maps under the ids 1, 2 and so on."""
    index = Index({})
    for number, document in enumerate(documents, 1):
        wired = wired_plugs(document, NO_STANDARDS)
        shape = tuple(each.plug.shape for each in wired)
        nets = b"".join(each.nets.astype("<u2").tobytes() for each in wired)
        index = index.changed((), [group_of(shape, [number], nets)])
    return index


def ranked(documents: Sequence[MapDocument], ends: Sequence[End], readings: Sequence[Reading], most=10) -> Ranking:
    asked = plugs(MapDocument(CableName("", ""), tuple(ends)), NO_STANDARDS)
    return rank(index_of(documents), asked, signs(readings, Meter()), most)


def beep(name: str, red: str, *black: str, sounds: bool = True) -> Reading:
    mode = Mode.BEEP if len(black) == 1 else Mode.SWEEP
    return Reading(name, mode, red, black, Result.BEEPS if sounds else Result.SILENT)


def end(name: str, *rows: str) -> End:
    return End(name, CUSTOM_CONNECTOR, rows=tuple(tuple(row.split()) for row in rows))


def cable(ends: Sequence[End], *nets: str) -> MapDocument:
    return MapDocument(
        CableName("Invented", "M"),
        tuple(ends),
        nets=tuple(Net(f"N{number}", tuple(contacts.split())) for number, contacts in enumerate(nets, 1)),
    )


def fully_read(document: MapDocument, seed: int = 1) -> tuple[Reading, ...]:
    rng = np.random.default_rng(seed)
    sample = specimen(document, rng)
    return read(sample, every_pair(sample.points), BenchMeter.of(document.meter, rng))


# The referee: rows are turned as a person would turn them, and every reading is looked up in the map's nets.


def turned_rows(rows: tuple[tuple[str, ...], ...]) -> Iterator[tuple[tuple[str, ...], ...]]:
    for rows_turned, each_turned in product((False, True), repeat=2):
        ordered = rows[::-1] if rows_turned else rows
        yield tuple(row[::-1] for row in ordered) if each_turned else ordered


def fewest_wrong(document: MapDocument, ends: Sequence[End], readings: Sequence[Reading]) -> float:
    """The fewest readings that disagree with a map, over all ways to take its ends for those asked."""
    fewest = math.inf
    for chosen in permutations(document.ends, len(ends)):
        for rows_of_ends in product(*(list(turned_rows(asked.rows)) for asked in ends)):
            if all(
                list(map(len, rows)) == list(map(len, held.rows))
                for rows, held in zip(rows_of_ends, chosen, strict=True)
            ):
                stands_for = {
                    f"{asked.name}:{one}": f"{held.name}:{other}"
                    for asked, rows, held in zip(ends, rows_of_ends, chosen, strict=True)
                    for row, held_row in zip(rows, held.rows, strict=True)
                    for one, other in zip(row, held_row, strict=True)
                }
                fewest = min(fewest, sum(contradicts(document, each, stands_for) for each in readings))
    return fewest


def contradicts(document: MapDocument, reading: Reading, stands_for: dict[str, str]) -> bool:
    net_of = document.net_of_contact
    source = stands_for[reading.red]
    joined = any(source in net_of and net_of[source] == net_of.get(stands_for[black]) for black in reading.black)
    return joined is not (reading.result is Result.BEEPS)


@st.composite
def small_catalogues(draw: st.DrawFn) -> tuple[list[MapDocument], list[End], list[Reading]]:
    """Up to six invented maps of few shapes, and readings that need not be of any of them.

    No last row has one contact alone, for that may be a shell, and the referee knows of no shells.
    """
    rows = st.sampled_from([("1 2", "3 4"), ("1 2 3", "4 5"), ("1 2", "3 4 5"), ("1 2 3 4",), ("1", "2", "3 4")])
    documents = []
    for _ in range(draw(st.integers(1, 6))):
        ends = [end(name, *draw(rows)) for name in "AB"[: draw(st.integers(1, 2))]]
        contacts = [f"{each.name}:{seat}" for each in ends for row in each.rows for seat in row]
        labels = [draw(st.integers(0, 3)) for _ in contacts]
        groups = [
            " ".join(one for one, label in zip(contacts, labels, strict=True) if label == wanted)
            for wanted in (1, 2, 3)
        ]
        documents.append(cable(ends, *filter(None, groups)))
    asked = [end(name, *draw(rows)) for name in "XY"[: draw(st.integers(1, 2))]]
    points = [f"{each.name}:{seat}" for each in asked for row in each.rows for seat in row]
    readings = []
    for number in range(draw(st.integers(1, 8))):
        red, *black = draw(st.lists(st.sampled_from(points), min_size=2, max_size=4, unique=True))
        readings.append(beep(f"r{number}", red, *black, sounds=draw(st.booleans())))
    return documents, asked, readings


@given(small_catalogues())
def test_every_map_is_ranked_by_the_fewest_disagreeing_readings_over_all_numberings(drawn):
    documents, asked, readings = drawn
    found = ranked(documents, asked, readings, most=len(documents))
    by_hand = {number: fewest_wrong(document, asked, readings) for number, document in enumerate(documents, 1)}
    fitting = {number: wrong for number, wrong in by_hand.items() if wrong < math.inf}
    # A plug of which nothing was read only has to have room, in any numbering.
    assert {match.map_id: len(match.disagreeing) for match in found.matches} == fitting
    assert [match.map_id for match in found.matches] == sorted(fitting, key=lambda number: (fitting[number], -number))
    assert found.compared == len(fitting)


@given(small_catalogues(), st.data())
def test_numbering_the_plug_another_way_changes_nothing_in_the_ranking(drawn, data):
    documents, asked, readings = drawn
    turned = [replace(each, rows=data.draw(st.sampled_from(list(turned_rows(each.rows))))) for each in asked]
    told = [
        [(match.map_id, match.agreeing, round(match.share, 9)) for match in ranked(documents, ends, readings).matches]
        for ends in (asked, turned)
    ]
    assert told[0] == told[1]


@given(small_catalogues())
def test_the_score_and_the_share_follow_from_the_disagreeing_readings(drawn):
    documents, asked, readings = drawn
    matches = ranked(documents, asked, readings, most=len(documents)).matches
    chances = [(1 - ERROR_RATE) ** match.agreeing * ERROR_RATE ** len(match.disagreeing) for match in matches]
    for match, chance in zip(matches, chances, strict=True):
        assert match.agreeing + len(match.disagreeing) == len(readings)
        assert match.log_likelihood == pytest.approx(math.log(chance))
        assert match.share == pytest.approx(chance / sum(chances))


@settings(max_examples=30)
@given(generators(), st.data())
def test_a_cable_read_upside_down_is_found_and_its_contacts_told(rng, data):
    documents = [random_cable(rng, (6, 4)) for _ in range(5)]
    wanted = data.draw(st.integers(1, 5))
    true = documents[wanted - 1]
    rows = {each.name: data.draw(st.sampled_from(list(turned_rows(each.rows)))) for each in true.ends}
    # The finder numbers the seats anew, in the order met.
    own = {
        f"{each.name}:{seat}": f"{each.name}:{number}"
        for each in true.ends
        for number, seat in enumerate((seat for row in rows[each.name] for seat in row), 100)
    }
    asked = [
        replace(
            each,
            rows=tuple(tuple(own[f"{each.name}:{seat}"].partition(":")[2] for seat in row) for row in rows[each.name]),
        )
        for each in true.ends
    ]
    readings = [
        replace(each, red=own[each.red], black=tuple(own[point] for point in each.black)) for each in fully_read(true)
    ]
    found = ranked(documents, asked, readings)
    first = found.matches[0]
    assert first.disagreeing == ()
    best = {match.map_id for match in found.matches if not match.disagreeing}
    assert wanted in best
    if first.map_id == wanted:
        net_of = true.net_of_contact
        held = plugs(true, NO_STANDARDS)
        stands_for = {
            contact: held[placed.held].contacts[seat]
            for placed in first.placing
            for contact, seat in zip(placed.asked.contacts, placed.fit.seats, strict=True)
        }
        joined = [(each.red, each.black[0]) for each in readings if each.result is Result.VALUE and each.value < 10]
        assert all(net_of[stands_for[red]] == net_of[stands_for[black]] for red, black in joined)


def test_a_wrong_reading_is_named_and_the_right_map_still_comes_first():
    rng = np.random.default_rng(5)
    documents = [random_cable(rng, (8, 8)) for _ in range(20)]
    readings, turned = flipped(fully_read(documents[6]), rng, Meter())
    first = ranked(documents, documents[6].ends, readings).matches[0]
    assert (first.map_id, first.disagreeing) == (7, (turned.id,))


def test_one_plug_alone_is_enough_when_its_contacts_tell():
    tool = end("TOOL", "1 2 3", "4 5 6")
    grounds = cable([tool, end("USB", "1 2 3 4")], "TOOL:1 TOOL:2 USB:4", "TOOL:3 USB:1")
    other = cable([tool, end("USB", "1 2 3 4")], "TOOL:1 TOOL:5 USB:4", "TOOL:3 USB:1")
    found = ranked([grounds, other], [end("P", "a b c", "d e f")], [beep("r1", "P:f", "P:e")])
    first = found.matches[0]
    assert (first.map_id, first.disagreeing) == (1, ())
    (placed,) = first.placing
    assert placed.fit.numbering == Numbering(from_right=True, bottom_first=True)
    assert [match.disagreeing for match in found.matches] == [(), ("r1",)]


def test_a_sweep_that_beeped_agrees_when_any_member_is_joined_and_a_silent_one_when_none_is():
    tool = end("A", "1 2 3 4")
    document = cable([tool], "A:1 A:2")
    for sounds, members, wrong in [
        (True, ("A:2", "A:3"), ()),
        (False, ("A:2", "A:3"), ("r1",)),
        (True, ("A:3", "A:4"), ("r1",)),
        (False, ("A:3", "A:4"), ()),
    ]:
        # Anchored by more readings, so that the plug is not simply turned round.
        anchors = [beep("r2", "A:1", "A:2"), beep("r3", "A:1", "A:2"), beep("r4", "A:4", "A:3", sounds=False)]
        found = ranked([document], [tool], [beep("r1", "A:1", *members, sounds=sounds), *anchors])
        assert found.matches[0].disagreeing == wrong


def test_maps_whose_plugs_have_other_rows_are_not_compared():
    document = cable([end("A", "1 2 3", "4 5")], "A:1 A:2")
    for rows in (("1 2 3 4 5",), ("1 2 3", "4 5 6"), ("1 2", "3 4", "5 6")):
        found = ranked([document], [end("P", *rows)], [beep("r1", "P:1", "P:2")])
        assert found == Ranking((), 0)


def test_a_second_plug_has_to_fit_too_even_when_nothing_on_it_was_read():
    ends = [end("A", "1 2 3"), end("B", "1 2")]
    readings = [beep("r1", "P:1", "P:2")]
    document = cable(ends, "A:1 A:2")
    assert ranked([document], [end("P", "1 2 3"), end("Q", "1 2")], readings).compared == 1
    assert ranked([document], [end("P", "1 2 3"), end("Q", "1 2 3")], readings).compared == 0


def test_a_shell_may_be_left_out_and_stays_last_when_the_rows_are_counted_from_below():
    held = PlugShape(CUSTOM_CONNECTOR, (3, 2, 1))
    without = fits(PlugShape(CUSTOM_CONNECTOR, (2, 3)), held)
    assert [(fit.numbering, fit.seats) for fit in without] == [
        (Numbering(True, True), (4, 3, 2, 1, 0)),
        (Numbering(False, True), (3, 4, 0, 1, 2)),
    ]
    with_it = fits(PlugShape(CUSTOM_CONNECTOR, (2, 3, 1)), held)
    assert [fit.seats for fit in with_it] == [(4, 3, 2, 1, 0, 5), (3, 4, 0, 1, 2, 5)]


def test_a_free_seat_does_not_count_as_a_contact():
    document = cable([end("A", "1 2 3", "4 5")], "A:4 A:5")
    with_gap = End("P", CUSTOM_CONNECTOR, rows=(("1", "2", "3"), ("4", "", "5")))
    assert ranked([document], [with_gap], [beep("r1", "P:4", "P:5")]).matches[0].disagreeing == ()


def test_readings_that_tell_nothing_are_left_out():
    told = [
        beep("r1", "A:1", "A:2"),
        Reading("r2", Mode.OHMS, "A:1", ("A:2",), Result.VALUE, 10.0, 0.1),
        Reading("r3", Mode.DIODE, "A:1", ("A:2",), Result.VALUE, 0.5),
        replace(beep("r4", "A:1", "A:2"), flexed=True),
        Reading("r5", Mode.OHMS, "A:1", ("A:2",), Result.VALUE, 5100.0, 1.0),
        Reading("r6", Mode.OHMS, "A:1", ("A:2",), Result.OVER, range_ohms=5.0),
        beep("r7", "A:1", "A:1"),
    ]
    assert [(sign.reading, sign.joined) for sign in signs(told, Meter())] == [("r1", True), ("r5", False)]


def test_of_very_many_readings_all_still_count_for_the_best_maps():
    rng = np.random.default_rng(8)
    documents = [random_cable(rng, (20, 20)) for _ in range(12)]
    readings = fully_read(documents[3])
    assert len(signs(readings, Meter())) > ranking.SCREENED
    first = ranked(documents, documents[3].ends, readings, most=1).matches[0]
    assert (first.map_id, first.disagreeing) == (4, ())
    assert first.agreeing == len(signs(readings, Meter()))


def test_more_ends_than_can_be_told_apart_are_refused():
    ends = [end(name, "1 2") for name in "ABCDE"]
    readings = [beep(f"r{number}", f"{name}:1", f"{name}:2") for number, name in enumerate("ABCDE")]
    with pytest.raises(BadRequest, match="more than 4 ends"):
        ranked([cable(ends, "A:1 A:2")], ends, readings)


def test_ends_that_can_be_taken_for_each_other_in_too_many_ways_are_refused():
    ends = [end(name, "1 2", "3 4") for name in "ABCDEF"]
    readings = [beep(f"r{number}", f"{name}:1", f"{name}:2") for number, name in enumerate("ABCD")]
    with pytest.raises(BadRequest, match="10,000 ways"):
        ranked([cable(ends, "A:1 A:2")], ends, readings)


def test_more_work_than_a_request_may_cost_is_refused(monkeypatch):
    monkeypatch.setattr(ranking, "MOST_COMPARISONS", 7)
    tool = end("A", "1 2", "3 4")
    one = [beep("r1", "A:1", "A:2")]
    assert ranked([cable([tool], "A:1 A:2")], [tool], one).compared == 1
    with pytest.raises(BadRequest, match="too long"):
        ranked([cable([tool], "A:1 A:2")], [tool], [*one, beep("r2", "A:1", "A:3")])


def test_a_map_that_takes_anothers_place_is_compared_in_its_stead():
    tool = end("A", "1 2 3 4")
    index = index_of([cable([tool], "A:1 A:2"), cable([tool], "A:1 A:3")])
    later = index_of([cable([tool], "A:1 A:4")]).groups.values()
    renamed = [replace(group, map_ids=group.map_ids + 2) for group in later]
    changed = index.changed({1}, renamed)
    assert len(changed) == 2
    asked = plugs(cable([tool]), NO_STANDARDS)
    found = rank(changed, asked, signs([beep("r1", "A:1", "A:4")], Meter()))
    assert [match.map_id for match in found.matches] == [3, 2]
