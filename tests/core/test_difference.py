"""What changed between two maps: worked examples, and laws that hold of any two documents."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from catalogue.core.difference import (
    Change,
    Difference,
    FieldChange,
    Moved,
    Sign,
    Thing,
    difference,
    renamed_nets,
    with_nets_renamed,
)
from catalogue.core.document import Fault, FaultKind, MapDocument, Mode, Net, Part, PartKind, Reading, Result
from tests.drawing.documents import documents, split_cable, usb


def changed(document: MapDocument, **changes: object) -> Difference:
    return difference(document, replace(document, **changes))


def with_net(document: MapDocument, name: str, **changes: object) -> MapDocument:
    nets = (replace(net, **changes) if net.name == name else net for net in document.nets)
    return replace(document, nets=tuple(nets))


def test_a_net_whose_volts_changed_is_told_with_both() -> None:
    vbus = next(net for net in usb().nets if net.name == "VBUS")
    told = difference(usb(), with_net(usb(), "VBUS", volts=12.0))
    assert told.changes == (Change(Thing.NET, Sign.CHANGED, "VBUS", (FieldChange("volts", vbus.volts, 12.0),)),)
    assert not told.moved


def test_a_contact_that_moved_is_told_once_with_both_nets() -> None:
    one, other = usb().nets[:2]
    contact = one.contacts[-1]
    after = with_net(usb(), one.name, contacts=one.contacts[:-1])
    after = with_net(after, other.name, contacts=(*other.contacts, contact))
    told = difference(usb(), after)
    assert told.moved == (Moved(contact, one.name, other.name),)
    assert not told.changes


def test_a_net_that_was_only_renamed_is_told_as_renamed_and_nothing_else_changes() -> None:
    before = split_cable()
    name = before.nets[0].name
    assert any(core.carries == name for core in before.cores)
    after = with_nets_renamed(before, {name: "renamed"})
    told = difference(before, after)
    assert told == Difference(((name, "renamed"),), (), (), 0, 0)


def test_a_new_net_has_its_contacts_and_they_have_moved_out_of_no_net() -> None:
    net = usb().nets[0]
    before = replace(usb(), nets=usb().nets[1:])
    told = difference(before, usb())
    (change,) = told.changes
    assert (change.thing, change.sign, change.name) == (Thing.NET, Sign.ADDED, net.name)
    assert FieldChange("contacts", None, tuple(sorted(net.contacts))) in change.fields
    assert {(moved.before, moved.after) for moved in told.moved} == {("", net.name)}
    assert {moved.contact for moved in told.moved} == set(net.contacts)


def test_colour_gauge_section_and_length_are_told() -> None:
    core, section = split_cable().cores[0], split_cable().sections[0]
    recoloured = replace(core, colours=("VT",), awg=30.0)
    longer = replace(section, length_m=9.5)
    told = changed(
        split_cable(),
        cores=(recoloured, *split_cable().cores[1:]),
        sections=(longer, *split_cable().sections[1:]),
    )
    assert told.changes == (
        Change(
            Thing.SECTION, Sign.CHANGED, section.name, (FieldChange("length_m", section.length_m, longer.length_m),)
        ),
        Change(
            Thing.CORE,
            Sign.CHANGED,
            core.name,
            (FieldChange("colours", core.colours, ("VT",)), FieldChange("awg", core.awg, 30.0)),
        ),
    )


def test_what_has_no_name_was_there_or_was_not() -> None:
    names = (usb().nets[0].name, usb().nets[1].name)
    part = Part(PartKind.RESISTOR, names, 5100.0)
    told = changed(usb(), parts=(*usb().parts, part), faults=(Fault(FaultKind.OPEN, names[:1]),))
    assert [(change.thing, change.sign) for change in told.changes] == [
        (Thing.PART, Sign.ADDED),
        (Thing.FAULT, Sign.ADDED),
    ]
    turned = replace(part, between=names[::-1])
    assert difference(replace(usb(), parts=(part,)), replace(usb(), parts=(turned,))).is_empty
    twice = difference(replace(usb(), parts=(part,)), replace(usb(), parts=(part, part)))
    assert [change.sign for change in twice.changes] == [Sign.ADDED]


def test_readings_are_counted_whatever_their_ids() -> None:
    first = Reading("r1", Mode.BEEP, "A:1", ("B:1",), Result.BEEPS)
    second = replace(first, id="r2", result=Result.SILENT)
    before, after = (
        replace(usb(), readings=(first,)),
        replace(usb(), readings=(replace(first, id="r9"), second, second)),
    )
    told = difference(before, after)
    assert (told.readings_added, told.readings_removed) == (2, 0)
    assert (difference(after, before).readings_added, difference(after, before).readings_removed) == (0, 2)


def test_the_order_of_things_says_nothing() -> None:
    document = split_cable()
    turned = replace(
        document,
        nets=tuple(replace(net, contacts=net.contacts[::-1]) for net in document.nets[::-1]),
        cores=document.cores[::-1],
        paths=document.paths[::-1],
        marks=document.marks[::-1],
    )
    assert difference(document, turned).is_empty


@given(documents())
def test_a_map_does_not_differ_from_itself(document: MapDocument) -> None:
    assert difference(document, document).is_empty


@st.composite
def two_maps(draw: st.DrawFn) -> tuple[MapDocument, MapDocument]:
    """Any two maps, or one and what came of taking things away, renaming nets and moving contacts."""
    before = draw(documents())
    if draw(st.booleans()):
        return before, draw(documents())
    nets = [net for net in before.nets if draw(st.integers(0, 5))]
    if len(nets) > 1 and draw(st.booleans()) and nets[0].contacts:
        nets[1] = replace(nets[1], contacts=(*nets[1].contacts, nets[0].contacts[0]))
        nets[0] = replace(nets[0], contacts=nets[0].contacts[1:])
    after = replace(
        before,
        nets=tuple(nets),
        cores=tuple(replace(core, awg=30.0) for core in before.cores if draw(st.integers(0, 5))),
        sections=tuple(replace(section, length_m=1.25) for section in before.sections),
    )
    renames = {net.name: f"new {net.name}" for net in nets if draw(st.booleans())}
    return before, with_nets_renamed(after, renames)


def is_plain(document: MapDocument) -> bool:
    """Whether every name and every contact in a net stands once, as in any map that is accepted."""
    names = [*(net.name for net in document.nets), *(path.name for path in document.paths)]
    contacts = [contact for net in document.nets for contact in net.contacts]
    cores, sections = ([each.name for each in group] for group in (document.cores, document.sections))
    return all(len(set(group)) == len(group) for group in (names, contacts, cores, sections))


@given(two_maps())
def test_the_other_way_round_what_was_added_is_removed(pair: tuple[MapDocument, MapDocument]) -> None:
    before, after = pair
    assume(is_plain(before) and is_plain(after))
    there, back = difference(before, after), difference(after, before)
    assert {(new, old) for old, new in there.renamed} == set(back.renamed)
    assert (there.readings_added, there.readings_removed) == (back.readings_removed, back.readings_added)
    # Both are told by the names of the newer map only when nothing was renamed.
    assume(not there.renamed)
    turned = {Sign.ADDED: Sign.REMOVED, Sign.REMOVED: Sign.ADDED, Sign.CHANGED: Sign.CHANGED}
    assert sorted(
        repr(
            Change(
                change.thing,
                turned[change.sign],
                change.name,
                tuple(FieldChange(each.field, each.after, each.before) for each in change.fields),
            )
        )
        for change in there.changes
    ) == sorted(map(repr, back.changes))
    assert {Moved(move.contact, move.after, move.before) for move in there.moved} == set(back.moved)


@given(two_maps())
def test_who_does_what_the_difference_says_gets_the_other_map(pair: tuple[MapDocument, MapDocument]) -> None:
    before, after = pair
    assume(is_plain(before) and is_plain(after))
    told = difference(before, after)
    was = with_nets_renamed(before, dict(told.renamed))
    nets = dict(was.net_of_contact)
    for move in told.moved:
        assert nets.pop(move.contact, "") == move.before
        if move.after:
            nets[move.contact] = move.after
    assert nets == after.net_of_contact
    for thing, held, wanted in (
        (Thing.CORE, was.cores, after.cores),
        (Thing.SECTION, was.sections, after.sections),
        (Thing.NET, was.nets, after.nets),
    ):
        values = {each.name: facts(each) for each in held}
        for change in (change for change in told.changes if change.thing is thing):
            if change.sign is Sign.REMOVED:
                del values[change.name]
            else:
                values.setdefault(change.name, {}).update({each.field: each.after for each in change.fields})
        assert without_contacts(values) == without_contacts({each.name: facts(each) for each in wanted})


def facts(value: Any) -> dict[str, Any]:
    return {field.name: getattr(value, field.name) for field in fields(value) if field.name != "name"}


def without_contacts(values: dict[str, dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Contacts of nets are told as moved, and checked so."""
    return {
        name: {field: told for field, told in facts.items() if field != "contacts"} for name, facts in values.items()
    }


@pytest.mark.parametrize("taken", ["before", "after"])
def test_a_name_that_the_other_map_has_too_is_not_taken_for_a_renaming(taken: str) -> None:
    shared = Net("SHARED", ("HOST:1",))
    before = replace(usb(), nets=(Net("A", ("HOST:2",)), *((shared,) if taken == "before" else ())))
    after = replace(usb(), nets=(Net("SHARED" if taken == "before" else "B", ("HOST:2",)),))
    if taken == "after":
        after = replace(after, nets=(*after.nets, Net("A", ("HOST:3",))))
    assert renamed_nets(before, after) == {}
