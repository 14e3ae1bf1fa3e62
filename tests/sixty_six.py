"""The demo's invented 66-contact cable with all 2,145 readings: `python -m tests.sixty_six` writes its files.

`fixtures/demo/sixty-six.json` is the map as a sound specimen reads on a simulated bench. In
`sixty-six-contradicted.json` one reading is turned to over limit although other readings lead the long way
round between the same two contacts. Chance is seeded, so the files come out the same every time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import count
from pathlib import Path

from numpy.random import default_rng

from catalogue.core.document import (
    CUSTOM_CONNECTOR,
    CableName,
    Core,
    CoreKind,
    End,
    Form,
    MapDocument,
    Mark,
    MarkKind,
    Module,
    Net,
    Part,
    PartKind,
    Reading,
    Result,
    Role,
    Section,
)
from catalogue.core.simulation import BenchMeter, every_pair, read, specimen
from catalogue.exchange.documents import canonical_json
from catalogue.tables import reference

DEMO = Path(__file__).resolve().parent.parent / "fixtures" / "demo"
ACCEPTED = DEMO / "sixty-six.json"
CONTRADICTED = DEMO / "sixty-six-contradicted.json"

SEED = 66
TURNED = ("CONSOLE:2", "STAGE:2")
"""Both are ground, and so are twelve others: whichever way the meter is carried round, it arrives."""

SUMMARY = (
    "Invented example. Trunk between the console, the stage and the supply of a clockwork orrery that was "
    "given motors. 38, 24 and 4 contacts, all copper, parted in a potted block; two resistors in the stage "
    "plug tell the console which stage it meets. Read through completely: every one of the 2,145 pairs."
)
WIRED = {
    "12V": (Role.POWER, "CONSOLE:1 CONSOLE:20 STAGE:1 SUPPLY:1 SUPPLY:2"),
    "0V": (
        Role.GROUND,
        "CONSOLE:2 CONSOLE:3 CONSOLE:19 CONSOLE:21 CONSOLE:22 CONSOLE:38 "
        "STAGE:2 STAGE:12 STAGE:13 STAGE:24 SUPPLY:3 SUPPLY:4",
    ),
    "5V": (Role.POWER, "CONSOLE:4 CONSOLE:23 STAGE:3"),
    "INTERLOCK": (Role.CONTROL, "CONSOLE:18 CONSOLE:37"),
    "BRAKE": (Role.CONTROL, "CONSOLE:16 STAGE:11"),
    "ID-1": (Role.CONTROL, "CONSOLE:35 STAGE:22"),
    "ID-2": (Role.CONTROL, "CONSOLE:36 STAGE:23"),
}
PLANETS = ("MERCURY", "VENUS", "EARTH", "MARS", "JUPITER", "SATURN", "MOON")
VOLTS = {"12V": 12.0, "5V": 5.0}
GAUGES = {"12V": 20.0, "0V": 20.0, "5V": 24.0}


def sixty_six() -> MapDocument:
    """The cable with a reading of every pair of its 66 contacts."""
    rng = default_rng(SEED)
    document = _wired()
    sample = specimen(document, rng)
    readings = read(sample, every_pair(sample.points), BenchMeter.of(document.meter, rng))
    return replace(document, readings=readings)


def contradicted(document: MapDocument) -> MapDocument:
    """The same with the reading of the pair `TURNED` made over limit."""
    return replace(document, readings=tuple(map(_turned, document.readings)))


def _turned(reading: Reading) -> Reading:
    if (reading.red, *reading.black) != TURNED:
        return reading
    return Reading(reading.id, reading.mode, reading.red, reading.black, Result.OVER)


def _wired() -> MapDocument:
    nets = tuple(_nets())
    sections = (
        Section("console trunk", "CONSOLE", "BLOCK", 2.5),
        Section("stage trunk", "BLOCK", "STAGE", 6.0),
        Section("supply tail", "BLOCK", "SUPPLY", 1.2),
    )
    return MapDocument(
        cable=CableName(
            "Ostrander Optical (invented)", "Orrery trunk OT-66", "A", ("Great orrery (invented)",), SUMMARY
        ),
        ends=(
            End("CONSOLE", CUSTOM_CONNECTOR, Form.PLUG, _rows(19, 2), 2.54),
            End("STAGE", CUSTOM_CONNECTOR, Form.PLUG, _rows(12, 2), 2.54),
            End("SUPPLY", CUSTOM_CONNECTOR, Form.PLUG, _rows(4, 1), 5.08),
        ),
        modules=(Module("BLOCK"),),
        sections=sections,
        cores=tuple(_cores(nets, sections)),
        nets=nets,
        parts=(
            Part(PartKind.RESISTOR, ("ID-1", "0V"), 3300.0),
            Part(PartKind.RESISTOR, ("ID-2", "0V"), 8200.0),
        ),
        marks=(
            Mark(MarkKind.STRAIN_RELIEF, "console trunk", 0.05),
            Mark(MarkKind.STRAIN_RELIEF, "stage trunk", 5.95),
            Mark(MarkKind.KINK, "stage trunk", 4.2, "under the edge of the dais"),
        ),
    )


def _rows(length: int, many: int) -> tuple[tuple[str, ...], ...]:
    """Numbered from the upper left, row by row."""
    return tuple(tuple(str(row * length + place) for place in range(1, length + 1)) for row in range(many))


def _nets() -> Iterator[Net]:
    """The fixed ones, then for each planet a motor pair in the upper row and two switches in the lower."""
    for name, (role, contacts) in WIRED.items():
        yield Net(name, tuple(contacts.split()), role, VOLTS.get(name))
    upper, lower = count(5), count(24)
    stage_upper, stage_lower = count(4), count(14)
    for planet in PLANETS[:3]:
        for sign, role in (("+", Role.PAIR_POSITIVE), ("-", Role.PAIR_NEGATIVE)):
            contacts = (f"CONSOLE:{next(upper)}", f"STAGE:{next(stage_upper)}")
            yield Net(f"{planet} MOTOR{sign}", contacts, role, pair=f"{planet} MOTOR")
    for planet in PLANETS:
        yield Net(f"{planet} SWITCH", (f"CONSOLE:{next(lower)}", f"STAGE:{next(stage_lower)}"), Role.SINGLE)


def _cores(nets: tuple[Net, ...], sections: tuple[Section, ...]) -> Iterator[Core]:
    """In each section a core for each net with contacts on both sides of it, coloured as DIN 47100 counts."""
    order = [codes for _, codes, _ in reference().schemes["din47100"].entries]
    for section in sections:
        tail = ({section.start, section.finish} - {"BLOCK"}).pop()
        passing = [net for net in nets if _passes(net, tail)]
        for number, (net, colours) in enumerate(zip(passing, order, strict=False), 1):
            yield Core(
                name=f"{section.name[:2]}{number}",
                section=section.name,
                colours=colours,
                awg=GAUGES.get(net.name, 26.0),
                bundle=net.pair,
                carries=net.name,
            )
        yield Core(f"{section.name[:2]}d", section.name, CoreKind.DRAIN, awg=24.0, carries="0V")


def _passes(net: Net, tail: str) -> bool:
    inside = [contact for contact in net.contacts if contact.startswith(f"{tail}:")]
    return 0 < len(inside) < len(net.contacts)


def main() -> None:
    document = sixty_six()
    ACCEPTED.write_bytes(canonical_json(document))
    CONTRADICTED.write_bytes(canonical_json(contradicted(document)))


if __name__ == "__main__":
    main()
