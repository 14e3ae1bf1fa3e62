"""The contacts a map declares, and the nets that its readings add."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given

from catalogue.core.document import (
    CUSTOM_CONNECTOR,
    CableName,
    End,
    MapDocument,
    Net,
    Path,
    Reading,
    Role,
    Via,
)
from catalogue.core.reference import Face, Outline, Reference, StandardConnector, StandardContact
from catalogue.core.simulation import BenchMeter, every_pair, read, specimen
from catalogue.core.wiring import all_contacts, with_deduced_nets
from tests.core import strategies
from tests.core.test_bounds import ohms, over, sweep


def contact(
    name: str, signal: str, role: Role, pair: str = "", volts: float | None = None, present: bool = True
) -> StandardContact:
    return StandardContact(name, signal, role, pair, volts, present, "invented", "common practice", "")


FOUR = StandardConnector(
    "four",
    "Invented four-contact plug",
    (
        contact("1", "VBUS", Role.POWER, volts=5.0),
        contact("2", "D-", Role.PAIR_NEGATIVE, "D"),
        contact("3", "D+", Role.PAIR_POSITIVE, "D"),
        contact("ID", "not connected", Role.UNKNOWN, present=False),
        contact("4", "GND", Role.GROUND),
    ),
    Face(Outline.RECTANGLE, 10.0, 5.0, (), "invented", "common practice"),
)
CROSSED = replace(
    FOUR,
    key="crossed",
    contacts=(
        contact("2", "R-", Role.PAIR_NEGATIVE, "R"),
        contact("3", "R+", Role.PAIR_POSITIVE, "R"),
    ),
)
REFERENCE = Reference({"four": FOUR, "crossed": CROSSED}, (), {}, {}, {})


def cable(*readings: Reading, **more: object) -> MapDocument:
    """Two standard plugs and one of rows of its own."""
    ends = (
        End("P", "four"),
        End("Q", "four"),
        End("T", CUSTOM_CONNECTOR, rows=(("1", "2", ""), ("", "3", "4"))),
    )
    return replace(MapDocument(CableName("Invented Works", "Sample"), ends, readings=readings), **more)


def extra(document: MapDocument) -> list[tuple[str, tuple[str, ...]]]:
    nets = with_deduced_nets(document, REFERENCE).nets
    assert nets[: len(document.nets)] == document.nets
    return [(net.name, net.contacts) for net in nets[len(document.nets) :]]


def test_contacts_are_the_filled_seats_of_standard_plugs_and_the_rows_of_others_in_order():
    assert all_contacts(cable(), REFERENCE) == (
        *("P:1", "P:2", "P:3", "P:4"),
        *("Q:1", "Q:2", "Q:3", "Q:4"),
        *("T:1", "T:2", "T:3", "T:4"),
    )


def test_a_connector_nobody_knows_has_no_contacts():
    document = cable(ends=(End("P", "unheard-of"), End("Q", "crossed")))
    assert all_contacts(document, REFERENCE) == ("Q:2", "Q:3")


def test_contacts_that_readings_join_become_a_net_named_after_the_standard_contact():
    document = cable(ohms(0.5, "T:1", "P:1", "r1"), over("T:2", "P:4", "r2"))
    (net,) = with_deduced_nets(document, REFERENCE).nets
    assert net == Net("VBUS", ("P:1", "T:1"), Role.POWER, 5.0)


def test_without_a_standard_contact_nets_are_numbered_past_names_in_use():
    document = cable(
        ohms(0.5, "T:1", "T:2", "r1"),
        ohms(0.5, "T:3", "T:4", "r2"),
        paths=(Path("N1", Via.FIBRE, "P:1", "Q:1"),),
    )
    assert extra(document) == [("N2", ("T:1", "T:2")), ("N3", ("T:3", "T:4"))]


def test_a_name_in_use_is_made_unique():
    document = cable(ohms(0.5, "P:4", "T:1", "r1"), ohms(0.5, "Q:4", "T:2", "r2"), nets=(Net("GND", ("T:3", "T:4")),))
    assert extra(document) == [("GND-2", ("P:4", "T:1")), ("GND-3", ("Q:4", "T:2"))]


def test_roles_that_do_not_agree_are_unknown():
    document = cable(ohms(0.5, "P:1", "Q:4", "r1"))
    assert with_deduced_nets(document, REFERENCE).nets == (Net("VBUS", ("P:1", "Q:4"), Role.UNKNOWN),)


def test_both_legs_of_a_pair_share_its_name_and_another_pair_does_not():
    document = cable(
        *(ohms(0.5, f"P:{leg}", f"T:{leg}", f"p{leg}") for leg in (2, 3)),
        *(ohms(0.5, f"Q:{leg}", f"T:{other}", f"q{leg}") for leg, other in ((2, 1), (3, 4))),
    )
    nets = with_deduced_nets(document, REFERENCE).nets
    assert {net.contacts[0]: (net.name, net.role, net.pair) for net in nets} == {
        "P:2": ("D-", Role.PAIR_NEGATIVE, "D"),
        "P:3": ("D+", Role.PAIR_POSITIVE, "D"),
        "Q:2": ("D--2", Role.PAIR_NEGATIVE, "D-2"),
        "Q:3": ("D+-2", Role.PAIR_POSITIVE, "D-2"),
    }


def test_a_pair_that_has_another_name_at_its_far_end_keeps_the_first():
    document = cable(
        ohms(0.5, "P:2", "X:2", "r1"),
        ohms(0.5, "P:3", "X:3", "r2"),
        ends=(End("P", "four"), End("X", "crossed")),
    )
    assert [(net.name, net.pair) for net in with_deduced_nets(document, REFERENCE).nets] == [
        ("D-", "D"),
        ("D+", "D"),
    ]


def test_a_leg_left_out_joins_the_pair_that_the_author_named():
    declared = Net("plus", ("P:3", "T:3"), Role.PAIR_POSITIVE, pair="data")
    document = cable(ohms(0.5, "P:2", "T:2", "r1"), nets=(declared,))
    assert with_deduced_nets(document, REFERENCE).nets[1] == Net("D-", ("P:2", "T:2"), Role.PAIR_NEGATIVE, pair="data")


def test_declared_nets_stay_as_they_are_and_contacts_joined_to_them_form_none():
    document = cable(
        ohms(0.5, "P:1", "T:1", "r1"),
        ohms(0.5, "T:1", "T:2", "r2"),
        ohms(0.5, "T:2", "T:3", "r3"),
        nets=(Net("SUPPLY", ("P:1",), Role.POWER, 5.0),),
    )
    assert with_deduced_nets(document, REFERENCE) == document


def test_contacts_alone_in_openings_or_not_declared_form_no_net():
    document = cable(
        ohms(0.5, "P:1", "k1@0.5", "r1"), ohms(0.5, "P:2", "P:99", "r2"), sweep(True, "P:3", "T:1", id="r3")
    )
    assert extra(document) == [("D+", ("P:3", "T:1"))]


@given(strategies.cables(), strategies.generators())
def test_a_cable_read_through_and_through_gets_the_nets_it_truly_has(truth: MapDocument, rng: np.random.Generator):
    sample = specimen(truth, rng)
    readings = read(sample, every_pair(sample.points), BenchMeter.of(truth.meter, rng))
    read_only = replace(truth, nets=(), parts=(), cores=(), readings=readings)
    found = with_deduced_nets(read_only, REFERENCE).nets
    assert {frozenset(net.contacts) for net in found} == {
        frozenset(net.contacts) for net in truth.nets if len(net.contacts) > 1
    }
    assert len({net.name for net in found}) == len(found)
    assert with_deduced_nets(replace(read_only, nets=found), REFERENCE).nets == found
