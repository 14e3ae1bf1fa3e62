"""Whether somebody's readings confirm a map: they agree, agree in part, or differ."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.confirming import Added, Outcome, confirm
from catalogue.core.document import Fault, FaultKind, Meter, Mode, Net, Reading, Result, Role
from catalogue.core.reference import Reference
from catalogue.core.simulation import BenchMeter, every_pair, random_cable, read, specimen
from catalogue.tables import reference
from tests.core.strategies import generators
from tests.published import published_map

NO_STANDARDS = Reference({}, (), {}, {}, {})
USB = published_map("usb2-a-b")


def beeps(*pairs: str, sounds: bool = True) -> tuple[Reading, ...]:
    return tuple(
        Reading(f"r{number}", Mode.BEEP, red, (black,), Result.BEEPS if sounds else Result.SILENT)
        for number, (red, black) in enumerate((pair.split("-") for pair in pairs), 1)
    )


def test_readings_through_half_of_the_nets_confirm_a_map():
    verdict = confirm(USB, beeps("A:1-B:1", "A:2-B:2", "A:3-B:3"), Meter(), reference())
    assert (verdict.outcome, verdict.nets_tested, verdict.nets_total) == (Outcome.AGREES, 3, 5)


def test_few_readings_agree_in_part():
    verdict = confirm(USB, beeps("A:1-B:1"), Meter(), reference())
    assert (verdict.outcome, verdict.nets_tested) == (Outcome.AGREES_IN_PART, 1)


def test_readings_that_only_say_apart_test_no_net():
    verdict = confirm(USB, beeps("A:1-A:2", "A:1-A:3", sounds=False), Meter(), reference())
    assert (verdict.outcome, verdict.nets_tested) == (Outcome.AGREES_IN_PART, 0)


@pytest.mark.parametrize(
    ("readings", "code"),
    [
        (beeps("A:2-B:2", sounds=False), "net-split"),
        (beeps("A:2-B:3"), "nets-joined"),
    ],
)
def test_a_reading_that_the_map_cannot_explain_differs_and_is_named(readings, code):
    verdict = confirm(USB, readings, Meter(), reference())
    assert verdict.outcome is Outcome.DIFFERS
    assert {finding.code for finding in verdict.findings} == {code}
    assert all(finding.readings == ("r1",) for finding in verdict.findings)
    assert all("if it stays so, your cable" in finding.message for finding in verdict.findings)
    assert not any("declare" in finding.message for finding in verdict.findings), "that is for the author of the map"


def test_the_authors_broken_specimen_excuses_nothing():
    broken = replace(USB, faults=(Fault(FaultKind.OPEN, (USB.nets[0].name,)),))
    one, other = USB.nets[0].contacts[:2]
    verdict = confirm(broken, beeps(f"{one}-{other}", sounds=False), Meter(), reference())
    assert verdict.outcome is Outcome.DIFFERS


def test_a_contact_that_the_map_leaves_out_is_told_as_an_addition():
    ground = next(net for net in USB.nets if net.role is Role.GROUND)
    short = replace(ground, contacts=ground.contacts[:1])
    unlisted = ground.contacts[1]
    document = replace(USB, nets=tuple(short if net is ground else net for net in USB.nets), readings=())
    verdict = confirm(document, beeps(f"{ground.contacts[0]}-{unlisted}"), Meter(), reference())
    assert verdict.adds == (Added(ground.name, (unlisted,)),)
    assert verdict.outcome is Outcome.AGREES_IN_PART


@settings(max_examples=30)
@given(generators(), st.booleans())
def test_true_readings_of_another_specimen_always_agree_and_those_of_another_wiring_differ(rng, crossed):
    cable = random_cable(rng, (6, 6))
    built = _with_two_nets_crossed(cable) if crossed else cable
    other = specimen(built, rng)
    readings = read(other, every_pair(other.points), BenchMeter.of(Meter(), rng))
    verdict = confirm(replace(cable, readings=()), readings, Meter(), NO_STANDARDS)
    assert verdict.outcome is (Outcome.DIFFERS if crossed else Outcome.AGREES)
    if not crossed:
        assert verdict.nets_tested == verdict.nets_total


def _with_two_nets_crossed(cable):
    """The supply and the ground change places at the second end."""
    ground, supply = cable.nets[:2]

    def at(net: Net, name: str) -> tuple[str, ...]:
        return tuple(contact for contact in net.contacts if contact.startswith(name))

    swapped = (
        replace(ground, contacts=at(ground, "E1") + at(supply, "E2")),
        replace(supply, contacts=at(supply, "E1") + at(ground, "E2")),
    )
    return replace(cable, nets=(*swapped, *cable.nets[2:]))
