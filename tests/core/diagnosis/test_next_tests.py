"""The next tests: what they are expected to tell, and never an opening while a harmless one has real information."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.diagnosis.evidence import LOOKS, Evidence
from catalogue.core.diagnosis.explanations import Observed, ranked
from catalogue.core.diagnosis.groups import GroupKind
from catalogue.core.diagnosis.next_tests import HARMS, REAL_BITS, Harm, entropy_bits, is_worth_opening, tells_bits
from catalogue.core.diagnosis.states import State
from catalogue.core.diagnosis.verdicts import Certainty
from catalogue.core.document import MapDocument, Module, Net, Role
from catalogue.tables import weights
from tests.core.diagnosis.specimens import Truth, diagnosed, further_readings, hidden_lanes, lanes_open
from tests.core.rules.maps import JOINS, ohms, over, sound_cable
from tests.core.strategies import generators

METER_TESTS = (
    Evidence.JUNCTION_TO_GROUND,
    Evidence.CAPACITANCE_OF_LENGTH,
    Evidence.COMES_AND_GOES,
    Evidence.CAPACITOR_BETWEEN_ENDS,
)
SEEN = dict.fromkeys(set(LOOKS) - {Evidence.BREAK_SEEN}, False) | {Evidence.OTHER_CABLE_WORKS: True}

looks = st.one_of(st.just(SEEN), st.dictionaries(st.sampled_from(LOOKS), st.booleans()))
read_tests = st.one_of(st.just(list(METER_TESTS)), st.lists(st.sampled_from(METER_TESTS), unique=True))


@given(st.dictionaries(st.sampled_from(Evidence), st.booleans(), max_size=8), st.sampled_from(Evidence))
def test_what_a_test_tells_is_the_mutual_information_with_the_explanation(known, evidence):
    """A second way: the entropy of the answer less that of the answer when the explanation is known."""
    known.pop(evidence, None)
    ranking = ranked(weights(), [Observed(each, holds, "") for each, holds in known.items()])
    yes = [(one.chance, weights().chance(evidence, one.explanation)) for one in ranking]
    overall = math.fsum(chance * answer for chance, answer in yes)
    noise = math.fsum(chance * entropy_bits([answer, 1 - answer]) for chance, answer in yes)
    expected = entropy_bits([overall, 1 - overall]) - noise
    assert tells_bits(weights(), ranking, evidence) == pytest.approx(max(expected, 0), abs=1e-9)


@st.composite
def dead_cables(draw):
    """Hidden lanes, some tests done on them, with or without a kink and blocks, maybe dead supplies or unread nets."""
    truth, rng = draw(st.sampled_from(Truth)), draw(generators())
    further = [reading for evidence in draw(read_tests) for reading in further_readings(truth, evidence, rng)]
    first = list(lanes_open())
    if draw(st.booleans()):
        first[0] = draw(st.sampled_from([over("v", "L:1", "R:1"), ohms("v", "L:1", "R:1", 150.0)]))
    first = first[: draw(st.integers(1, len(first)))]
    document = hidden_lanes(*first, *further, kinked=draw(st.booleans()))
    if draw(st.booleans()):
        lanes = [Net(path.name, (path.start, path.finish), Role.SINGLE) for path in document.paths]
        document = replace(document, nets=(*document.nets, *lanes), paths=())
    return replace(document, modules=draw(st.sampled_from([(), (Module("L-BLOCK"),)])))


@given(dead_cables(), looks)
def test_an_opening_is_never_named_while_a_harmless_test_tells_something(document, answers):
    diagnosis = diagnosed(document, answers)
    harms = [test.harm for test in diagnosis.next_tests]
    assert harms == sorted(harms, key=HARMS.index)
    if Harm.OPENING in harms:
        assert harms == [Harm.OPENING]
        assert all(rail.state is not State.UNREAD for rail in diagnosis.rails)
        for explained in diagnosis.explained:
            decided = {each.source for each in explained.ranking[0].contributions}
            for evidence in possible_on(document, explained.group.kind) - decided:
                assert tells_bits(weights(), explained.ranking, evidence) < REAL_BITS, evidence


def possible_on(document: MapDocument, kind: GroupKind) -> set[Evidence]:
    """The harmless tests that a person could do, told by hand: ground, both ends and the length are known here."""
    possible = {
        Evidence.CONTACT_WORN,
        Evidence.OTHER_CABLE_WORKS,
        Evidence.COMES_AND_GOES,
        Evidence.CAPACITANCE_OF_LENGTH,
    }
    if kind is GroupKind.SIGNALS:
        possible |= {Evidence.JUNCTION_TO_GROUND, Evidence.CAPACITOR_BETWEEN_ENDS}
        possible |= {Evidence.LAMP_LIGHT, Evidence.GLASS_SEEN}
        possible |= {Evidence.BLOCK_WARM} if document.modules else set()
    return possible


@given(dead_cables(), looks)
def test_a_person_who_does_every_harmless_test_comes_to_an_end(document, answers):
    """Each test named is one not done yet, so that the list grows shorter with every answer."""
    done = dict(answers)
    for _ in range(len(LOOKS) + 1):
        asked = [test.evidence for test in diagnosed(document, done).next_tests if test.evidence in LOOKS]
        assert not set(asked) & set(done)
        if not asked:
            return
        done[asked[0]] = False
    pytest.fail("a look was asked for again and again")


def test_reading_on_is_named_while_nets_are_unread():
    diagnosis = diagnosed(hidden_lanes(*lanes_open()[:1], *lanes_open()[3:]))
    assert diagnosis.verdict.certainty is Certainty.CANNOT_BE_TOLD_YET
    one_open = sound_cable(
        nets=(*sound_cable().nets[:2], Net("D", ("L:3", "R:3"), Role.SINGLE), Net("E", ("L:4", "R:4"), Role.SINGLE)),
        ends=tuple(replace(end, rows=(("1", "2", "3", "4"),)) for end in sound_cable().ends),
        readings=(*JOINS[:2], over("o", "L:3", "R:3")),
    )
    assert Evidence.ALL_SIGNALS_OPEN in [test.evidence for test in diagnosed(one_open).next_tests]


def test_a_recipe_names_the_contacts_to_probe():
    tests = {test.evidence: test for test in diagnosed(hidden_lanes(*lanes_open())).next_tests}
    assert "red on L:2, black on L:3" in tests[Evidence.JUNCTION_TO_GROUND].how
    assert "L:3 and R:3" in tests[Evidence.COMES_AND_GOES].how


@given(dead_cables(), looks)
def test_a_cable_may_be_opened_only_when_no_test_that_spares_the_jacket_is_left_and_all_is_read(document, seen):
    diagnosis = diagnosed(document, seen)
    if diagnosis.may_open:
        assert all(test.harm is Harm.OPENING for test in diagnosis.next_tests)
        assert not any(rail.state is State.UNREAD for rail in diagnosis.rails)
        assert any(is_worth_opening(each.ranking) for each in diagnosis.explained)
    assert diagnosis.may_open or not any(test.harm is Harm.OPENING for test in diagnosis.next_tests)


def test_tests_that_a_person_has_no_means_for_are_not_waited_for():
    document = hidden_lanes(*lanes_open(), kinked=True)
    asked = diagnosed(document, SEEN)
    assert not asked.may_open
    cannot = {test.evidence for test in asked.next_tests}
    assert set(METER_TESTS) & cannot
    left = diagnosed(document, SEEN, cannot=cannot)
    assert not cannot & {test.evidence for test in left.next_tests}
    assert [each.ranking for each in left.explained] == [each.ranking for each in asked.explained]
