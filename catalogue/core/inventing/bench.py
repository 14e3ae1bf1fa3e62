"""What somebody read of an invented cable: every conductor from end to end, and then as many other pairs as they had
patience for, with a meter that errs within its limits."""

from __future__ import annotations

from collections.abc import Iterator

from numpy.random import Generator

from catalogue.core.document import MapDocument, Mode, Point, Reading
from catalogue.core.inventing.chance import one_of
from catalogue.core.reference import Reference
from catalogue.core.simulation import Act, BenchMeter, read, specimen
from catalogue.core.wiring import all_contacts, contact_rows

USUAL_READINGS = 115
"""Of those who had more pairs to read than that: the mean over all cables is about 100."""

SWEEPS = 4


def readings_of(rng: Generator, cable: MapDocument, reference: Reference, patience: float = 1.0) -> tuple[Reading, ...]:
    """Readings of a specimen of its own; `patience` is how much of the usual somebody reads."""
    contacts = all_contacts(cable, reference)
    sample = specimen(cable, rng, contacts)
    most = int(rng.gamma(5.0, USUAL_READINGS / 5) * patience)
    acts = [*_conductors(rng, cable), *_others(rng, contacts, most)]
    if patience >= 1:
        acts += _sweeps(rng, cable, contacts, reference)
    return read(sample, acts[: max(most, len(cable.nets))], BenchMeter.of(cable.meter, rng))


def _conductors(rng: Generator, cable: MapDocument) -> Iterator[Act]:
    """From the first contact of each net to its last, or to all of it where it has more than two."""
    for net in cable.nets:
        for contact in net.contacts[1:]:
            yield Act(Mode.OHMS if rng.random() < 0.6 else Mode.BEEP, net.contacts[0], (contact,))


def _others(rng: Generator, contacts: tuple[Point, ...], most: int) -> Iterator[Act]:
    many = len(contacts)
    pairs = many * (many - 1) // 2
    for place in rng.choice(pairs, min(most, pairs), replace=False).tolist():
        other = int((1 + (1 + 8 * place) ** 0.5) / 2)
        one = place - other * (other - 1) // 2
        yield Act(Mode.OHMS if rng.random() < 0.5 else Mode.BEEP, contacts[one], (contacts[other],))


def _sweeps(rng: Generator, cable: MapDocument, contacts: tuple[Point, ...], reference: Reference) -> Iterator[Act]:
    """From a contact along a row of which it is no part."""
    rows = [tuple(filter(None, row)) for row in contact_rows(cable, reference)]
    for _ in range(int(rng.integers(0, SWEEPS))):
        red, row = one_of(rng, contacts), one_of(rng, rows)
        if len(row) > 1 and red not in row:
            yield Act(Mode.SWEEP, red, row)
