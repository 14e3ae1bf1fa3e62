"""Nets as they stand: what the map declares, and the contacts that readings prove joined to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from catalogue.core.document import Point, Role
from catalogue.core.findings import Step
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import listed


@dataclass(frozen=True, slots=True)
class WiredNet:
    """A declared net with the contacts that readings add to it, or contacts that only readings join.

    In the second case nothing is declared: `name` and `at` are empty. `at` points to the declared net.
    """

    name: str
    declared: tuple[Point, ...]
    found: tuple[Point, ...]
    role: Role
    volts: float | None
    at: str

    @property
    def contacts(self) -> tuple[Point, ...]:
        return self.declared + self.found

    @property
    def title(self) -> str:
        """How a sentence about it starts."""
        found = f"The net of {listed(self.found, 3)}, which readings prove,"
        return f"Net {self.name}" if self.name else found


def wired_nets(context: Context) -> tuple[WiredNet, ...]:
    """The declared nets in their order, then those that only readings prove.

    Readings add a contact only where they join it to one declared net alone, and to none that is declared
    shorted: what is wrong with one specimen says nothing about the model.
    """
    added: dict[str, list[Point]] = {}
    undeclared: list[WiredNet] = []
    for points in context.deduction.nets:
        names = {context.net_of[point] for point in points if point in context.net_of}
        found = [point for point in points if point in context.contacts and point not in context.net_of]
        if not names and len(found) > 1:
            undeclared.append(WiredNet("", (), tuple(found), Role.UNKNOWN, None, ""))
        elif len(names) == 1 and not names & context.declared_shorts.keys():
            added.setdefault(names.pop(), []).extend(found)
    declared = (
        WiredNet(
            net.name,
            context.known_contacts(net),
            tuple(added.get(net.name, ())),
            net.role,
            net.volts,
            f"/nets/{index}",
        )
        for index, net in enumerate(context.document.nets)
    )
    return (*declared, *undeclared)


def how_found(context: Context, net: WiredNet, contacts: Iterable[Point]) -> tuple[Step, ...]:
    """The readings that join to the net those of the contacts that it does not declare."""
    proof: list[Step] = []
    for contact in contacts:
        if contact in net.found:
            anchor = next(point for point in net.contacts if context.deduction.is_joined(point, contact))
            proof += context.deduction.joined_proof(anchor, contact)
    return tuple(dict.fromkeys(proof))
