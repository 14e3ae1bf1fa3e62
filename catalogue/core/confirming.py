"""Whether another person's readings confirm a map: held against its nets, they must prove none of them wrong.

Only what is joined and apart is compared, since two specimens of one cable differ in their resistances. What
was broken on the author's specimen is left out: the map says how the model is built.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from catalogue.core.check import check
from catalogue.core.document import MapDocument, Meter, Net, Point, Reading
from catalogue.core.findings import Finding, Severity
from catalogue.core.nets import Deduction, deduce
from catalogue.core.reference import Reference
from catalogue.core.wiring import all_contacts

ENOUGH_SHARE = 0.5
"""Share of the nets of two contacts or more that readings must have tested to confirm a map. Judgement."""


class Outcome(StrEnum):
    """`agrees in part`: nothing differs, but too little was read to call the map confirmed."""

    AGREES = "agrees"
    AGREES_IN_PART = "agrees-in-part"
    DIFFERS = "differs"


SAID = {
    Outcome.AGREES: "agrees with the map",
    Outcome.AGREES_IN_PART: "agrees as far as it was read",
    Outcome.DIFFERS: "differs from the map",
}


_TAKE_AGAIN = "Take that reading again; if it stays so, your cable"
HINTS = {
    "net-split": f"{_TAKE_AGAIN} is broken there, or wired in another way.",
    "nets-joined": f"{_TAKE_AGAIN} has a short there, or is wired in another way.",
}
"""What the one who confirms may do, who cannot change the map."""


@dataclass(frozen=True, slots=True)
class Added:
    """Contacts that the readings join to a net of the map which does not list them."""

    net: str
    contacts: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What readings say of a map. A net is tested when they join two of its contacts.

    `findings` are the rejections, with their proof: how it differs.
    """

    outcome: Outcome
    nets_tested: int
    nets_total: int
    adds: tuple[Added, ...]
    findings: tuple[Finding, ...]

    @property
    def text(self) -> str:
        """What the readings come to, as a part of a sentence."""
        return f"{SAID[self.outcome]}; {self.nets_tested} of {self.nets_total} nets tested"


def confirm(wiring: MapDocument, readings: Sequence[Reading], meter: Meter, reference: Reference) -> Verdict:
    """Hold the readings of another specimen against a map whose nets are complete.

    Every probe point must be a contact that the map declares.
    """
    contacts = all_contacts(wiring, reference)
    pooled = replace(wiring, faults=(), marks=(), readings=tuple(readings), meter=meter)
    findings = tuple(one for one in check(pooled, reference, HINTS) if one.severity is Severity.REJECT)
    deduction = deduce(contacts, readings, meter)
    nets = [net for net in wiring.nets if len(net.contacts) > 1]
    tested = sum(_is_tested(net, deduction) for net in nets)
    if findings:
        outcome = Outcome.DIFFERS
    elif nets and tested >= ENOUGH_SHARE * len(nets):
        outcome = Outcome.AGREES
    else:
        outcome = Outcome.AGREES_IN_PART
    return Verdict(outcome, tested, len(nets), _added(wiring, deduction), findings)


def _is_tested(net: Net, deduction: Deduction) -> bool:
    known = [deduction.net_index[contact] for contact in dict.fromkeys(net.contacts)]
    return len(set(known)) < len(known)


def _added(wiring: MapDocument, deduction: Deduction) -> tuple[Added, ...]:
    """Contacts in no net that the readings join to one net alone."""
    found = []
    for points in deduction.nets:
        names = {wiring.net_of_contact[point] for point in points if point in wiring.net_of_contact}
        unlisted = tuple(point for point in points if point not in wiring.net_of_contact)
        if len(names) == 1 and unlisted:
            found.append(Added(names.pop(), unlisted))
    return tuple(found)
