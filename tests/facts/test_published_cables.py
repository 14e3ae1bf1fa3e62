"""Cables built by the published tables are taken without a word; a plausible mistake trips the named rule.

Every cable is read through completely on a simulated bench. A mistake is made either on paper and in copper
alike (a cable that somebody wired wrong and mapped truly), or in copper alone (the map is right, the readings
are not its own).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest

from catalogue.core.check import check
from catalogue.core.document import MapDocument, Net, Role
from catalogue.core.findings import Finding, Severity, accepted
from catalogue.exchange.documents import document_from
from catalogue.tables import reference
from tests.published import bare_map, published_document, published_map, read_through

CABLES = [cable.key for cable in reference().cables]
Mistake = Callable[[MapDocument], MapDocument]


def findings(document: MapDocument) -> tuple[Finding, ...]:
    return check(document, reference())


def moved(**to: str) -> Mistake:
    """Contacts of end B put in place of others: `moved(B2="3")` has contact 3 where contact 2 is right."""
    places = {f"B:{there.removeprefix('B')}": f"B:{here}" for there, here in to.items()}
    return lambda document: _renamed(document, places)


def crossed(one: str, other: str) -> Mistake:
    """Two contacts of end B exchanged."""
    return lambda document: _renamed(document, {f"B:{one}": f"B:{other}", f"B:{other}": f"B:{one}"})


def straight(*contacts: str) -> Mistake:
    """Contacts of end A led to the same numbers at end B, whatever the standard says."""

    def mistake(document: MapDocument) -> MapDocument:
        nets = [
            replace(net, contacts=(net.contacts[0], net.contacts[0].replace("A:", "B:", 1)))
            if net.contacts[0].partition(":")[2] in contacts
            else net
            for net in document.nets
        ]
        return replace(document, nets=tuple(nets))

    return mistake


def bridged(one: str, other: str) -> Mistake:
    """Two nets made one, under the name and role of the first."""

    def mistake(document: MapDocument) -> MapDocument:
        by_name = {net.name: net for net in document.nets}
        both = replace(by_name[one], contacts=by_name[one].contacts + by_name[other].contacts)
        nets = [both if net.name == one else net for net in document.nets if net.name != other]
        cores = tuple(replace(core, carries=one) if core.carries == other else core for core in document.cores)
        return replace(document, nets=tuple(nets), cores=cores)

    return mistake


def wired_too(name: str, role: Role, volts: float | None, *contacts: str) -> Mistake:
    """One net more than the standard has."""
    return lambda document: replace(document, nets=(*document.nets, Net(name, contacts, role, volts)))


def _renamed(document: MapDocument, places: dict[str, str]) -> MapDocument:
    nets = [
        replace(net, contacts=tuple(places.get(contact, contact) for contact in net.contacts)) for net in document.nets
    ]
    return replace(document, nets=tuple(nets))


@dataclass(frozen=True)
class Case:
    what: str
    cable: str
    mistake: Mistake
    code: str
    severity: Severity


WARN, REJECT = Severity.WARN, Severity.REJECT
BY_NUMBER_TO_12 = tuple(str(number) for number in range(1, 13))

WIRED_WRONG = (
    Case("D+ and D- crossed", "usb2-a-b", crossed("2", "3"), "standard-broken", WARN),
    Case("ground in the supply net", "usb2-a-b", crossed("1", "4"), "rail-short", REJECT),
    Case("ground in the supply net, by role", "usb2-a-b", crossed("1", "4"), "standard-broken", REJECT),
    Case("D+ and D- soldered together", "usb2-a-b", bridged("D-", "D+"), "pair-short", WARN),
    Case("ground on 4 as on the big plugs", "usb2-a-mini-b", crossed("4", "5"), "standard-broken", WARN),
    Case("counted from the wrong side", "usb2-a-micro-b", crossed("1", "5"), "rail-short", REJECT),
    Case(
        "crossed by name, which is twice",
        "usb3-a-b",
        moved(B5="8", B6="9", B8="5", B9="6"),
        "standard-broken",
        WARN,
    ),
    Case("wired by number", "usb3-a-micro-b", straight(*"456789"), "standard-broken", WARN),
    Case("TX1 led to TX1", "usb-c-full", straight("A2", "A3", "B11", "B10"), "standard-broken", WARN),
    Case("legs of one pair turned over", "usb-c-full", crossed("B11", "B10"), "standard-broken", WARN),
    Case("one VBUS contact on its neighbour GND", "usb-c-full", crossed("A4", "A1"), "rail-short", REJECT),
    Case("straight through", "displayport", straight(*BY_NUMBER_TO_12), "standard-broken", WARN),
    Case(
        "the supply wired through",
        "displayport",
        wired_too("DP_PWR", Role.POWER, 3.3, "A:20", "B:20"),
        "standard-broken",
        WARN,
    ),
    Case("DDC clock and data crossed", "hdmi-a", crossed("15", "16"), "standard-broken", WARN),
    Case("+5 V and its ground crossed", "hdmi-a", crossed("17", "18"), "rail-short", REJECT),
    Case("red and green crossed", "vga", crossed("1", "2"), "standard-broken", WARN),
    Case("the key contact on ground", "vga", crossed("9", "10"), "rail-short", REJECT),
    Case("one plug turned round", "sata", moved(B2="6", B3="5", B5="3", B6="2"), "standard-broken", WARN),
    Case("legs of one pair turned over", "sata", crossed("2", "3"), "standard-broken", WARN),
    Case("legs of a pair turned over", "network-t568a", crossed("3", "6"), "standard-broken", WARN),
    Case("two cores of one row crossed", "network-t568b", crossed("2", "3"), "standard-broken", WARN),
    Case("one leg crossed, the other not", "network-crossover", crossed("3", "1"), "standard-broken", WARN),
    Case("brown pair turned over", "network-crossover-gigabit", crossed("4", "5"), "standard-broken", WARN),
    Case("two outputs joined", "null-modem-three-wire", straight("2", "3"), "standard-broken", WARN),
    Case("data on signal ground", "null-modem-rts-cts", crossed("3", "5"), "standard-broken", WARN),
    Case("handshake straight through", "null-modem-dtr-dsr", straight("7", "8"), "standard-broken", WARN),
    Case("data straight through", "null-modem-local", straight("2", "3"), "standard-broken", WARN),
    Case("hot and cold crossed", "xlr", crossed("2", "3"), "standard-broken", WARN),
    Case("current loop turned over", "midi", crossed("4", "5"), "standard-broken", WARN),
    Case("loop supply on the screen", "midi", crossed("4", "2"), "rail-short", REJECT),
    Case("tip and ring crossed", "trs-balanced", crossed("Tip", "Ring"), "standard-broken", WARN),
    Case("left on common", "trs-stereo", crossed("Tip", "Sleeve"), "standard-broken", WARN),
)


@pytest.mark.parametrize("key", CABLES)
def test_a_cable_by_the_published_table_is_taken_without_a_word(key: str) -> None:
    assert findings(published_map(key)) == ()


def test_the_json_of_a_published_cable_is_the_same_map() -> None:
    assert document_from(published_document("usb-c-full")) == published_map("usb-c-full")


@pytest.mark.parametrize("case", WIRED_WRONG, ids=lambda case: f"{case.cable}: {case.what}")
def test_a_cable_wired_wrong_is_caught_by_the_named_rule(case: Case) -> None:
    found = findings(read_through(case.mistake(bare_map(case.cable))))
    assert (case.code, case.severity) in {(finding.code, finding.severity) for finding in found}
    assert accepted(found) is (REJECT not in {finding.severity for finding in found})


def test_every_published_cable_has_a_plausible_mistake_that_is_caught() -> None:
    assert {case.cable for case in WIRED_WRONG} == set(CABLES)


@pytest.mark.parametrize("key", CABLES)
def test_two_cores_crossed_in_copper_refuse_the_right_map(key: str) -> None:
    right = bare_map(key)
    first, second = [net.contacts[-1] for net in right.nets if net.contacts[-1].startswith("B:")][:2]
    built = crossed(first.removeprefix("B:"), second.removeprefix("B:"))(right)
    found = findings(replace(right, readings=read_through(built).readings))
    refused = {finding.code for finding in found if finding.severity is REJECT}
    assert {"net-split", "nets-joined"} <= refused


@pytest.mark.parametrize("key", ["usb2-a-b", "usb3-a-b", "usb-c-full", "hdmi-a", "vga"])
def test_a_blob_of_solder_between_supply_and_ground_refuses_the_right_map(key: str) -> None:
    right = bare_map(key)
    supply = next(net.name for net in right.nets if net.role is Role.POWER)
    ground = next(net.name for net in right.nets if net.role is Role.GROUND)
    built = bridged(supply, ground)(right)
    found = findings(replace(right, readings=read_through(built).readings))
    assert "nets-joined" in {finding.code for finding in found if finding.severity is REJECT}
