"""Fibre and kinked copper are told apart as soon as readings can, and not before; and whether a bench can mend it."""

from dataclasses import replace

import pytest
from numpy.random import default_rng

from catalogue.core.diagnosis.evidence import LOOKS, Evidence, Explanation, Mendable
from catalogue.core.diagnosis.groups import GroupKind
from catalogue.core.diagnosis.next_tests import Harm
from catalogue.core.diagnosis.verdicts import Certainty
from catalogue.core.document import Basis, Net, Path, Role, Via
from catalogue.core.failures import Ending, Failure, FailureKind
from tests.core.diagnosis.specimens import LANES, Truth, diagnosed, further_readings, hidden_lanes, lanes_open
from tests.core.rules.maps import JOINS, beep, ohms, over, sound_cable

MENDABLE = {Truth.FIBRE: Mendable.NO, Truth.KINK: Mendable.YES}


def test_all_lanes_open_alone_cannot_be_told_and_names_the_harmless_test_that_would():
    """Both cables read alike so far, so that they get the same answer, and it is honest."""
    for kinked in (False, True):
        diagnosis = diagnosed(hidden_lanes(*lanes_open(), kinked=kinked))
        assert diagnosis.verdict.certainty is Certainty.CANNOT_BE_TOLD_YET
        assert diagnosis.verdict.mendable is None
        first = diagnosis.next_tests[0]
        assert (first.harm, first.evidence) == (Harm.NONE, diagnosis.verdict.would_tell)
        chance = {one.explanation: one.chance for one in diagnosis.explained[0].ranking}
        assert min(chance[Explanation.FIBRE], chance[Explanation.CORES_BROKEN]) > 0.1


@pytest.mark.parametrize("kinked", [True, False])
@pytest.mark.parametrize("truth", Truth)
@pytest.mark.parametrize("seed", range(20))
def test_following_the_harmless_tests_tells_fibre_from_kinked_copper(truth, seed, kinked):
    """Each test done is the one named first; nobody sees light or glass. No opening is named on the way."""
    rng = default_rng(seed)
    further, looks = (), {}
    for _ in range(12):
        diagnosis = diagnosed(hidden_lanes(*lanes_open(), *further, kinked=kinked), looks)
        if diagnosis.verdict.mendable is not None:
            break
        test = diagnosis.next_tests[0]
        assert test.harm is Harm.NONE
        if test.evidence in LOOKS:
            looks[test.evidence] = test.evidence is Evidence.OTHER_CABLE_WORKS
        else:
            further += further_readings(truth, test.evidence, rng)
    assert diagnosis.verdict.mendable is MENDABLE[truth]
    assert len(further) + len(looks) <= 6


@pytest.mark.parametrize("seed", range(5))
def test_once_it_is_glass_or_a_chip_an_opening_is_never_named(seed):
    rng = default_rng(seed)
    done = (Evidence.JUNCTION_TO_GROUND, Evidence.CAPACITANCE_OF_LENGTH, Evidence.CAPACITOR_BETWEEN_ENDS)
    further = [reading for evidence in done for reading in further_readings(Truth.FIBRE, evidence, rng)]
    looks = dict.fromkeys(set(LOOKS) - {Evidence.BREAK_SEEN}, False)
    diagnosis = diagnosed(hidden_lanes(*lanes_open(), *further), looks | {Evidence.OTHER_CABLE_WORKS: True})
    assert diagnosis.verdict.mendable is Mendable.NO
    assert all(test.harm is not Harm.OPENING for test in diagnosis.next_tests)


def test_light_that_comes_through_the_lanes_tells_fibre_at_once():
    diagnosis = diagnosed(hidden_lanes(*lanes_open(), kinked=True), {Evidence.LAMP_LIGHT: True})
    assert diagnosis.verdict.certainty is Certainty.TOLD
    assert (diagnosis.verdict.explanation, diagnosis.verdict.mendable) == (Explanation.FIBRE, Mendable.NO)


def test_one_core_that_comes_and_goes_is_broken_and_can_be_mended():
    readings = (*JOINS[:2], over("o", "L:3", "R:3"), beep("f", "L:3", "R:3", flexed=True))
    looks = {Evidence.CONTACT_WORN: False}
    verdict = diagnosed(sound_cable(readings=readings), looks).verdict
    assert (verdict.certainty, verdict.explanation) == (Certainty.TOLD, Explanation.CORE_BROKEN)
    assert verdict.mendable is Mendable.YES


def test_an_opening_is_named_when_every_harmless_test_is_done():
    readings = (
        *JOINS[:2], over("o", "L:3", "R:3"), beep("f", "L:3", "R:3", flexed=True),
    )  # fmt: skip
    looks = {Evidence.CONTACT_WORN: False, Evidence.OTHER_CABLE_WORKS: True}
    (opening,) = diagnosed(sound_cable(readings=readings), looks).next_tests
    assert opening.harm is Harm.OPENING
    assert opening.cautions


def test_a_worn_contact_on_a_high_net_is_a_bad_contact():
    readings = (*JOINS[:2], ohms("h", "L:3", "R:3", 60.0), beep("f", "L:3", "R:3", flexed=True))
    diagnosis = diagnosed(sound_cable(readings=readings), {Evidence.CONTACT_WORN: True})
    assert diagnosis.explained[0].ranking[0].explanation is Explanation.BAD_CONTACT
    assert diagnosis.verdict.mendable is Mendable.YES


def test_a_cable_that_reads_sound_points_to_the_device():
    diagnosis = diagnosed(sound_cable(), {Evidence.OTHER_CABLE_WORKS: False})
    assert [explained.group.kind for explained in diagnosis.explained] == [GroupKind.CABLE]
    assert diagnosis.verdict.explanation is Explanation.DEVICE
    assert diagnosis.verdict.mendable is Mendable.NOTHING_TO_MEND


def test_lanes_that_the_map_knows_as_glass_cannot_be_mended_once_contacts_and_device_are_sound():
    looks = {Evidence.OTHER_CABLE_WORKS: True, Evidence.CONTACT_WORN: False}
    paths = tuple(replace(path, via=Via.FIBRE, basis=Basis.DOCUMENTED) for path in hidden_lanes().paths)
    diagnosis = diagnosed(replace(hidden_lanes(*lanes_open()), paths=paths), looks)
    assert [explained.group.kind for explained in diagnosis.explained] == [GroupKind.PATHS]
    assert diagnosis.explained[0].ranking[0].explanation is Explanation.FIBRE
    assert diagnosis.verdict.mendable is Mendable.NO


def test_a_guess_of_the_map_is_no_evidence():
    guessed = replace(hidden_lanes(*lanes_open()), paths=(Path("T1", Via.FIBRE, "L:3", "R:3", Basis.GUESSED),))
    sources = {each.source for each in diagnosed(guessed).explained[0].ranking[0].contributions}
    assert Evidence.MAP_SAYS_FIBRE not in sources


def test_a_broken_supply_is_asked_about_apart_from_the_lanes():
    readings = (over("v", "L:1", "R:1"), *lanes_open()[1:])
    explained = diagnosed(hidden_lanes(*readings)).explained
    assert [each.group.kind for each in explained] == [GroupKind.SUPPLIES, GroupKind.SIGNALS]
    assert [each.group.names for each in explained] == [("V",), LANES]
    chance = {one.explanation: one.chance for one in explained[0].ranking}
    assert chance[Explanation.FIBRE] < 0.001


def test_wrong_joints_come_before_everything_else():
    readings = (*JOINS[:2], beep("b", "L:1", "L:2"), over("o", "L:3", "R:3"))
    verdict = diagnosed(sound_cable(readings=readings)).verdict
    assert verdict.certainty is Certainty.WIRED_OTHERWISE
    assert "Do not power it" in verdict.text


def test_nothing_dead_and_much_unread_says_read_first():
    verdict = diagnosed(sound_cable(readings=JOINS[:1])).verdict
    assert verdict.certainty is Certainty.READ_FIRST


def test_reports_on_the_cable_count_when_they_are_about_what_is_dead():
    document = hidden_lanes(*lanes_open())
    fibre = Failure(FailureKind.FIBRE_BROKEN, Ending.GIVEN_UP, nets=("T2",))
    elsewhere = replace(fibre, nets=("V",))

    def chance(*failures: Failure) -> float:
        ranking = diagnosed(document, failures=failures).explained[0].ranking
        return next(one.chance for one in ranking if one.explanation is Explanation.FIBRE)

    assert chance(fibre, fibre, fibre) > chance() + 0.1
    assert chance(elsewhere) == chance()


def test_a_look_that_is_none_is_refused():
    with pytest.raises(ValueError, match="reads-open"):
        diagnosed(hidden_lanes(*lanes_open()), {Evidence.READS_OPEN: True})


def test_a_net_between_two_dead_lanes_in_one_bundle_is_told_as_one_place():
    from catalogue.core.document import Core

    nets = (Net("V", ("L:1", "R:1"), Role.POWER, 5.0), Net("G", ("L:2", "R:2"), Role.GROUND))
    lanes = tuple(Net(name, (f"L:{number}", f"R:{number}"), Role.SINGLE) for number, name in enumerate(LANES, 3))
    cores = tuple(Core(f"k{name}", "main", bundle="a" if name in LANES[:2] else "b", carries=name) for name in LANES)
    readings = (*lanes_open()[:5], ohms("t3", "L:5", "R:5", 0.7), ohms("t4", "L:6", "R:6", 0.7))
    document = replace(hidden_lanes(*readings, kinked=True), nets=nets + lanes, paths=(), cores=cores)
    (explained,) = diagnosed(document).explained
    told = {each.source: each for each in explained.ranking[0].contributions}
    assert explained.ranking[0].explanation is Explanation.CORES_BROKEN
    assert told[Evidence.ONE_BUNDLE].holds
    assert not told[Evidence.ALL_SIGNALS_OPEN].holds
    assert told[Evidence.MAP_SAYS_COPPER].holds
