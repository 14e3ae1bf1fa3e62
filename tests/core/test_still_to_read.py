"""The readings of a bench sheet: taken as they should be, they decide everything."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.document import End, Fault, FaultKind, MapDocument, Mode, Opening, Reading, Result
from catalogue.core.nets import deduce
from catalogue.core.simulation import random_cable
from catalogue.core.still_to_read import Purpose, StillToRead, ToRead, still_to_read
from catalogue.core.wiring import all_contacts
from tests.core.rules.maps import REFERENCE, beep, ohms, over, sound_cable


def taken(sheet: StillToRead) -> tuple[Reading, ...]:
    """The readings of the sheet, each as it should turn out."""
    return tuple(
        Reading(
            f"t{number}",
            Mode.SWEEP if each.is_sweep else Mode.BEEP,
            each.red,
            each.black,
            Result.BEEPS if each.net else Result.SILENT,
        )
        for number, each in enumerate(sheet.to_read)
    )


@given(st.integers(0, 10_000), st.integers(0, 12))
def test_whoever_takes_them_all_has_decided_every_pair_and_every_net(seed: int, read_before: int) -> None:
    rng = np.random.default_rng(seed)
    cable = random_cable(rng, contacts=(7, 5, 2))
    before = [
        Reading(f"r{number}", Mode.BEEP, net.contacts[0], net.contacts[-1:], Result.BEEPS)
        for number, net in enumerate(cable.nets[:read_before])
        if len(net.contacts) > 1
    ]
    document = replace(cable, readings=tuple(before), faults=())
    sheet = still_to_read(document, REFERENCE)
    contacts = all_contacts(document, REFERENCE)
    deduction = deduce(contacts, (*document.readings, *taken(sheet)), document.meter)
    assert deduction.pairs.undecided == 0
    assert {frozenset(net) for net in deduction.nets if len(net) > 1} == {
        frozenset(net.contacts) for net in document.nets if len(set(net.contacts)) > 1
    }
    assert sheet.purpose is Purpose.PROVE


def test_what_is_left_of_a_net_is_asked_for_before_what_should_be_silent() -> None:
    cable = sound_cable()
    net = next(net for net in cable.nets if len(net.contacts) > 1)
    bare = replace(cable, readings=())
    first, *rest = still_to_read(bare, REFERENCE).to_read
    assert first == ToRead(net.contacts[0], net.contacts[1:2], net.name)
    named = [bool(each.net) for each in (first, *rest)]
    assert named == sorted(named, reverse=True)


def test_where_nothing_is_left_the_nets_are_read_to_confirm_them() -> None:
    sheet = still_to_read(sound_cable(), REFERENCE)
    assert sheet.purpose is Purpose.CONFIRM
    assert {each.net for each in sheet.to_read} == {
        net.name for net in sound_cable().nets if len(set(net.contacts)) > 1
    }


def test_a_core_that_was_read_broken_is_not_asked_for_again() -> None:
    cable = sound_cable()
    net = next(net for net in cable.nets if len(net.contacts) > 1)
    a, b = net.contacts[:2]
    broken = replace(
        cable,
        readings=(over("x1", a, b),),
        faults=(Fault(FaultKind.OPEN, (net.name,)),),
    )
    asked = [(each.red, each.black) for each in still_to_read(broken, REFERENCE).to_read if each.net]
    assert (a, (b,)) not in asked


def test_nobody_is_sent_into_an_opening_of_somebody_elses_cable() -> None:
    cable = sound_cable()
    core = cable.cores[0]
    opened = replace(
        cable,
        openings=(Opening(core.section, 0.5),),
        readings=(beep("x1", f"{core.name}@0.5", cable.nets[0].contacts[0]),),
    )
    sheet = still_to_read(opened, REFERENCE)
    assert sheet.to_read
    assert not any("@" in point for each in sheet.to_read for point in (each.red, *each.black))


def test_a_document_without_contacts_leaves_nothing_to_read() -> None:
    empty = MapDocument(sound_cable().cable, (End("A", "nobody-knows-it"),))
    assert still_to_read(empty, REFERENCE).to_read == ()


@pytest.mark.parametrize("value", [0.4, 5.0])
def test_a_net_that_reads_joined_is_not_asked_for_again(value: float) -> None:
    cable = sound_cable()
    net = next(net for net in cable.nets if len(net.contacts) == 2)
    a, b = net.contacts
    read = replace(cable, readings=(ohms("x1", a, b, value),))
    assert net.name not in {each.net for each in still_to_read(read, REFERENCE).to_read}
