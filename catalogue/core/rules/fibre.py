"""The rule about glass: it carries light, and no current."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations

from catalogue.core.document import Core, CoreKind, Mode, Point, Result, end_of
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import listed, readings_of, shown_value
from catalogue.core.rules.remark import Remark


def fibre_conducts(context: Context) -> Iterator[Remark]:
    yield from _current_read_in_glass(context)
    yield from _joined_across_glass(context)


def _current_read_in_glass(context: Context) -> Iterator[Remark]:
    for reading in context.sound_readings:
        if reading.flexed:
            continue
        red = _fibre_probed(context, reading.red)
        black = [_fibre_probed(context, each) for each in reading.black]
        # A sweep may have beeped on any of its members, so that one of glass among them proves nothing.
        core = red or (black[0] if all(black) else None)
        conducted = reading.result is Result.BEEPS or (reading.mode is Mode.OHMS and reading.result is Result.VALUE)
        if core is not None and conducted:
            showed = "beeped" if reading.result is Result.BEEPS else f"showed {shown_value(reading)}"
            yield Remark(
                f"{reading.id} {showed} between {reading.red} and {listed(reading.black)}, but core "
                f"{core.name} is declared fibre, and glass does not conduct. Check which core was probed, "
                "and what it is.",
                contacts=(reading.red, *reading.black),
                readings=(reading.id,),
                at=(*context.readings_at((reading.id,)), context.core_pointers[core.name]),
            )


def _fibre_probed(context: Context, point: Point) -> Core | None:
    found = context.in_core(point)
    return found[0] if found is not None and found[0].kind is CoreKind.FIBRE else None


def _joined_across_glass(context: Context) -> Iterator[Remark]:
    for name, section in _only_glass(context):
        contacts = _contacts_carried(context, name)
        for a, b in combinations(_one_for_each_end_and_conductor(context, contacts), 2):
            way = context.topology.stretches(end_of(a), end_of(b)) or ()
            if context.deduction.is_joined(a, b) and any(stretch.section == section for stretch in way):
                witness = context.deduction.joined_proof(a, b)
                readings = readings_of(witness)
                glass = [core.name for core in context.document.cores if _carries(core, name, section)]
                yield Remark(
                    f"{listed(readings)} join{'s' * (len(readings) == 1)} {a} and {b} of {name} across "
                    f"section {section}, but there it has only fibre ({listed(glass)}), and glass does not "
                    "conduct.",
                    contacts=(a, b),
                    witness=witness,
                    at=(*(context.core_pointers[core] for core in glass), *context.readings_at(readings)),
                )
                break


def _only_glass(context: Context) -> list[tuple[str, str]]:
    """Nets and paths with a section where all that carries them is fibre."""
    kinds: dict[tuple[str, str], set[CoreKind]] = {}
    for core in context.document.cores:
        if core.carries:
            kinds.setdefault((core.carries, core.section), set()).add(core.kind)
    return [place for place, found in kinds.items() if found == {CoreKind.FIBRE}]


def _carries(core: Core, name: str, section: str) -> bool:
    return core.carries == name and core.section == section


def _contacts_carried(context: Context, name: str) -> tuple[Point, ...]:
    if name in context.nets:
        return context.known_contacts(context.nets[name])
    path = context.paths.get(name)
    return () if path is None else tuple(point for point in (path.start, path.finish) if point in context.contacts)


def _one_for_each_end_and_conductor(context: Context, contacts: Iterable[Point]) -> list[Point]:
    """Of contacts at one end that readings join, one stands for all."""
    index = context.deduction.net_index
    return list({(end_of(contact), index[contact]): contact for contact in contacts}.values())
