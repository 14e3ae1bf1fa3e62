"""Glass carries no current: `fibre-conducts`."""

from dataclasses import replace

import pytest

from catalogue.core.document import Core, CoreKind, Path, Via
from catalogue.core.findings import Severity
from tests.core.rules.maps import beep, found, ohms, only, opened_cable, over, silent, sound_cable, sweep

CORES = sound_cable().cores
GLASS = (*CORES, Core("f1", "main", CoreKind.FIBRE))


@pytest.mark.parametrize(
    "reading",
    [
        ohms("r7", "f1@0.5", "L:1", 150e3),
        beep("r7", "L:1", "f1@0.5"),
        sweep("r7", "f1@0.5", "L:1", "L:2", beeps=True),
    ],
)
def test_current_through_a_fibre_core_is_refused(reading):
    finding = only(opened_cable(reading, cores=GLASS), "fibre-conducts")
    assert finding.severity is Severity.REJECT
    assert "core f1 is declared fibre" in finding.message
    assert finding.at == ("/readings/6", "/cores/3")


@pytest.mark.parametrize(
    "reading",
    [
        over("r7", "f1@0.5", "L:1"),
        silent("r7", "L:1", "f1@0.5"),
        sweep("r7", "L:1", "L:2", "f1@0.5", beeps=True),
        beep("r7", "k1@0.5", "L:1"),
        beep("r7", "f1@0.5", "L:1", flexed=True),
    ],
)
def test_what_does_not_prove_current_through_glass_is_fine(reading):
    """A sweep may have beeped on the copper beside the glass; a probe slips while flexing."""
    assert not found(opened_cable(reading, cores=GLASS), "fibre-conducts")


def fibre_only(name):
    """The sound cable's cores with the one that carries `name` made of glass."""
    return tuple(replace(core, kind=CoreKind.FIBRE) if core.carries == name else core for core in CORES)


def test_a_net_that_reads_joined_across_a_section_where_only_fibre_carries_it_is_refused():
    finding = only(sound_cable(cores=fibre_only("D")), "fibre-conducts")
    assert "j3 joins L:3 and R:3 of D across section main" in finding.message
    assert finding.readings == ("j3",)
    assert finding.at == ("/cores/2", "/readings/2")


def test_one_copper_core_beside_the_fibre_explains_it():
    cores = (*fibre_only("D"), Core("k4", "main", carries="D"))
    assert not found(sound_cable(cores=cores), "fibre-conducts")


def test_a_net_that_does_not_read_joined_is_fine():
    document = sound_cable(cores=fibre_only("D"))
    unread = sound_cable(cores=document.cores, readings=document.readings[:2])
    assert not found(unread, "fibre-conducts")


def test_contacts_joined_on_one_side_of_the_glass_are_fine():
    document = sound_cable(cores=fibre_only("D"), readings=(beep("r1", "L:3", "L:1"),))
    assert not found(document, "fibre-conducts")


def test_a_path_of_fibre_whose_contacts_read_joined_is_refused_too():
    cores = (*CORES[:2], Core("f1", "main", CoreKind.FIBRE, carries="F"))
    nets = sound_cable().nets[:2]
    paths = (Path("F", Via.FIBRE, "L:3", "R:3"),)
    assert found(sound_cable(cores=cores, nets=nets, paths=paths), "fibre-conducts")
