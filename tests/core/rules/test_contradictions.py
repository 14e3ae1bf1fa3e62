"""Readings that cannot all be true: `readings-contradict`, `sweep-impossible`, `not-linear`."""

from catalogue.core.document import Net, Part, PartKind
from catalogue.core.findings import Limit, Severity
from tests.core.rules.maps import (
    JOINS,
    beep,
    diode,
    found,
    ohms,
    only,
    over,
    silent,
    sound_cable,
    sweep,
    with_readings,
)


def test_a_joined_pair_that_reads_open_by_another_way_is_refused_with_the_path():
    readings = (ohms("r1", "L:1", "R:1", 0.6), ohms("r2", "R:1", "R:2", 0.7), over("r3", "L:1", "R:2"))
    finding = only(sound_cable(readings=readings), "readings-contradict")
    assert finding.severity is Severity.REJECT
    assert "r3 shows at least 39 MΩ between L:1 and R:2" in finding.message
    assert "r1 and r2 together leave at most 1.4 Ω (L:1 – R:1 – R:2)" in finding.message
    assert finding.contacts == ("L:1", "R:2", "R:1")
    assert finding.readings == ("r3", "r1", "r2")
    assert finding.at == ("/readings/2", "/readings/0", "/readings/1")
    assert [(step.reading, step.limit) for step in finding.witness] == [
        ("r1", Limit.AT_MOST),
        ("r2", Limit.AT_MOST),
        ("r3", Limit.AT_LEAST),
    ]


def test_a_repeat_that_disagrees_is_refused():
    finding = only(with_readings(over("r7", "L:1", "R:1")), "readings-contradict")
    assert "r7 shows at least 39 MΩ between L:1 and R:1, but j1 leaves at most 0.61 Ω." in finding.message


def test_a_repeat_within_the_meter_s_error_is_fine():
    """0.6 Ω is at most 0.605 Ω; 1.5 Ω is at least 0.588 Ω."""
    assert not found(with_readings(ohms("r7", "L:1", "R:1", 1.5)), "readings-contradict")
    assert found(with_readings(ohms("r7", "L:1", "R:1", 1.6)), "readings-contradict")


def test_a_reading_taken_while_flexing_contradicts_nothing():
    assert not found(with_readings(over("r7", "L:1", "R:1", flexed=True)), "readings-contradict")


def test_a_point_that_reads_open_against_itself_is_refused():
    finding = only(with_readings(over("r7", "L:1", "L:1")), "readings-contradict")
    assert "with both probes on L:1" in finding.message
    assert finding.contacts == ("L:1",)


def test_a_sweep_that_beeped_though_all_its_contacts_are_apart_is_refused():
    finding = only(with_readings(sweep("r7", "L:1", "L:2", "L:3", beeps=True)), "sweep-impossible")
    assert finding.severity is Severity.REJECT
    assert "Sweep r7 beeped from L:1" in finding.message
    assert finding.readings == ("r7", "s1", "s2")
    assert finding.contacts == ("L:1", "L:2", "L:3")


def test_proof_leans_on_low_readings_where_it_can_and_rejections_come_first():
    low = ohms("r1", "R:1", "R:2", 0.5)
    readings = (
        beep("r2", "L:3", "R:1"),
        silent("r3", "L:2", "L:3"),
        sweep("r4", "L:2", "L:3", "R:1", beeps=True),
        low,
        beep("r5", "R:1", "R:2"),
        silent("r6", "L:1", "R:2"),
        sweep("r7", "L:1", "R:1", "R:2", beeps=True),
    )
    findings = found(sound_cable(nets=(), cores=(), readings=readings), "sweep-impossible")
    assert [(each.readings[0], each.severity) for each in findings] == [
        ("r7", Severity.REJECT),
        ("r4", Severity.WARN),
    ]
    assert "r1" in findings[0].readings


def test_a_sweep_that_has_one_contact_left_to_beep_on_is_fine():
    assert not found(with_readings(sweep("r7", "L:1", "L:2", "R:1", beeps=True)), "sweep-impossible")


def test_a_sweep_beside_a_part_that_may_be_heard_is_fine_though_the_buzzer_is_silent_at_the_part_s_far_end():
    """A true cable: 30.7 Ω from L:2 to L:3 is heard, and the 36.7 Ω to R:3, a few ohms farther, is not."""
    readings = (
        beep("r1", "L:3", "R:3"),
        silent("r2", "L:2", "R:3"),
        ohms("r3", "L:2", "L:3", 30.7),
        sweep("r4", "L:2", "L:3", "R:3", beeps=True),
    )
    assert not found(sound_cable(nets=(), cores=(), readings=readings), "sweep-impossible")
    without_the_value = (*readings[:2], readings[3])
    finding = only(sound_cable(nets=(), cores=(), readings=without_the_value), "sweep-impossible")
    assert finding.severity is Severity.WARN
    assert "read them in ohms" in finding.message


SMALL = (Net("A", ("L:1",)), Net("B", ("L:2",)), Net("C", ("L:3",)))
BROKEN_TRIANGLE = (
    ohms("r1", "L:1", "L:2", 1500.0),
    ohms("r2", "L:2", "L:3", 1500.0),
    over("r3", "L:1", "L:3"),
)


def test_a_triangle_broken_by_values_that_a_junction_can_show_warns_and_asks_for_the_reverse():
    finding = only(sound_cable(nets=SMALL, cores=(), readings=BROKEN_TRIANGLE), "not-linear")
    assert finding.severity is Severity.WARN
    assert "read L:1 to L:2 once more with the probes changed over" in finding.message
    assert finding.readings == ("r3", "r1", "r2")


def test_the_same_triangle_with_both_polarities_alike_is_a_contradiction_instead():
    reversed_alike = (ohms("r4", "L:2", "L:1", 1500.0), ohms("r5", "L:3", "L:2", 1500.0))
    document = sound_cable(nets=SMALL, cores=(), readings=(*BROKEN_TRIANGLE, *reversed_alike))
    assert not found(document, "not-linear")
    assert found(document, "readings-contradict")


def test_polarities_that_differ_warn_of_a_part_that_is_not_linear():
    readings = (ohms("r1", "L:1", "L:2", 1500.0), over("r2", "L:2", "L:1"))
    finding = only(sound_cable(nets=SMALL, cores=(), readings=readings), "not-linear")
    assert "List the part" in finding.message


def test_polarities_that_are_alike_are_fine():
    readings = (ohms("r1", "L:1", "L:2", 1500.0), ohms("r2", "L:2", "L:1", 1510.0))
    assert not found(sound_cable(nets=SMALL, cores=(), readings=readings), "not-linear")


def test_a_declared_diode_explains_polarities_that_differ():
    readings = (ohms("r1", "L:1", "L:2", 1500.0), over("r2", "L:2", "L:1"))
    parts = (Part(PartKind.DIODE, ("A", "B")),)
    assert not found(sound_cable(nets=SMALL, cores=(), readings=readings, parts=parts), "not-linear")
    elsewhere = (Part(PartKind.DIODE, ("A", "C")),)
    assert found(sound_cable(nets=SMALL, cores=(), readings=readings, parts=elsewhere), "not-linear")


def test_diode_readings_that_conduct_one_way_only_warn_of_a_junction():
    readings = (diode("r1", "L:1", "L:2", 0.55), diode("r2", "L:2", "L:1", None))
    finding = only(sound_cable(nets=SMALL, cores=(), readings=readings), "not-linear")
    assert "r1 shows 0.55 V from L:1 to L:2" in finding.message
    assert finding.at == ("/readings/0", "/readings/1")


def test_a_diode_reading_one_way_says_nothing_yet():
    readings = (diode("r1", "L:1", "L:2", 0.55), diode("r2", "L:1", "L:3", None))
    assert not found(sound_cable(nets=SMALL, cores=(), readings=readings), "not-linear")


def test_a_silent_buzzer_contradicts_a_low_reading():
    readings = (*JOINS[1:], ohms("r7", "L:1", "R:1", 0.6), silent("r8", "L:1", "R:1"))
    assert found(sound_cable(readings=readings), "readings-contradict")
    assert not found(sound_cable(readings=(*JOINS[1:], beep("r8", "L:1", "R:1"))), "readings-contradict")
