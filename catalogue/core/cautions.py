"""What a person must know before a step, said where the step is named. The site gives no warranty."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum


class Caution(StrEnum):
    READING = "reading"
    LAMP = "lamp"
    POWERING = "powering"
    OPENING = "opening"
    GLASS = "glass"


CAUTIONS: Mapping[Caution, str] = {
    Caution.READING: (
        "Unplug both ends before any reading, also from chargers and mains adapters. Capacitors and cells in a block "
        "keep their charge: wait a minute and check that nothing is left."
    ),
    Caution.LAMP: (
        "Both ends unplugged. Use a weak pocket lamp and no laser, and never look into a fibre end: let the far end "
        "shine on a sheet of paper. Light in a fibre can be invisible and still harm the eye (IEC 60825)."
    ),
    Caution.POWERING: (
        "Only when the cable is proved safe to power: a supply contact in the wrong place destroys a device in an "
        "instant."
    ),
    Caution.OPENING: (
        "Never open a cable that carries mains or more than extra-low voltage; that is for licensed people under your "
        "local rules. Cut away from both hands, and wear glasses."
    ),
    Caution.GLASS: (
        "There may be fibre inside. Glass slivers get into skin and eyes: collect every piece on tape. What cannot be "
        "mended goes to the collection of electronic waste."
    ),
}
