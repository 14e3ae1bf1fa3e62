"""What invented cables are called: makers that do not exist, what the cable is for, and the devices it is made for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from numpy.random import Generator

from catalogue.core.document import CableName
from catalogue.core.inventing.chance import one_of

# fmt: off
FIRST = (
    "Orrin", "Tarn", "Brask", "Halden", "Ostwick", "Quillon", "Vesper", "Morrow",
    "Eskdale", "Fennick", "Garrow", "Hollin", "Ingrave", "Jessop", "Kestle", "Lorne",
)
# fmt: on
SECOND = ("Vale", "Fell", "Daughters", "Works", "Optical", "Instruments", "Sons", "Audio", "Marine", "Foundry", "Rook")


class Trade(Enum):
    """What a cable carries in the main, which decides its signals and how its failures show."""

    POWER = "power"
    DATA = "data"
    PICTURE = "picture"
    SOUND = "sound"
    MEASURING = "measuring"


@dataclass(frozen=True, slots=True)
class Thing:
    """A kind of cable, the device that it belongs to, and the signals beside supply and ground."""

    cable: str
    device: str
    trade: Trade
    signals: tuple[str, ...]


THINGS = (
    Thing("plotter lead", "pen plotter", Trade.DATA, ("PEN", "FEED", "READY", "STROBE", "ACK", "BUSY")),
    Thing("scan head trunk", "line scanner", Trade.PICTURE, ("PIXELS", "LINE-CLOCK", "FRAME", "TRIGGER", "LAMP")),
    Thing("tide gauge lead", "tide gauge", Trade.MEASURING, ("FLOAT", "EXCITE", "SENSE", "THERMO", "VENT")),
    Thing("cue lead", "planetarium projector", Trade.DATA, ("CUE", "SYNC", "LAMP-TEMP", "DIMMER", "STARS")),
    Thing("winch handset cable", "stage winch", Trade.POWER, ("UP", "DOWN", "SLOW", "STOP", "LIMIT", "BRAKE")),
    Thing("foldback lead", "foldback desk", Trade.SOUND, ("LEFT", "RIGHT", "TALK", "CUE", "TALLY")),
    Thing("dome camera link", "dome camera", Trade.PICTURE, ("LUMA", "CHROMA", "IRIS", "FOCUS", "ZOOM", "HEAT")),
    Thing("scale lead", "counting scale", Trade.MEASURING, ("BRIDGE", "TARE", "SENSE", "PRINT", "ZERO")),
    Thing("loom harness", "jacquard loom", Trade.POWER, ("HOOK", "LIFT", "SHUTTLE", "WEFT-STOP", "REED", "TENSION")),
    Thing("sight cable", "surveyor's level", Trade.DATA, ("BUBBLE", "COMPASS", "SHUTTER", "LOG", "LEVEL")),
    Thing("organ relay cable", "cinema organ", Trade.SOUND, ("SWELL", "GREAT", "PEDAL", "TREMOLO", "STOPS", "BELL")),
    Thing("probe cable", "bench calibrator", Trade.MEASURING, ("FORCE", "SENSE", "GUARD", "RANGE", "HOLD")),
)

SUMMARIES = (
    "Invented example. {Cable} of the {device}.",
    "Invented example. {Cable} between the desk and the {device}; the jacket stiffens in the cold.",
    "Invented example. {Cable} for the {device}, no longer sold. Bought used, read through on the bench.",
    "Invented example. Came with the {device} in a crate of spares, without a part number of its own.",
)


def invented_name(rng: Generator, number: int, thing: Thing) -> CableName:
    """A name that no other cable of this catalogue has, because the number is in it."""
    maker = f"{one_of(rng, FIRST)} & {one_of(rng, SECOND)}" if rng.random() < 0.6 else f"{one_of(rng, FIRST)} Works"
    letters = "".join(word[0] for word in thing.cable.split()).upper()
    series = int(rng.integers(2, 90))
    devices = [f"{letters}-{series} {thing.device} (invented)"]
    if rng.random() < 0.3:
        devices.append(f"{letters}-{series + 1} {thing.device} (invented)")
    summary = one_of(rng, SUMMARIES).format(Cable=thing.cable.capitalize(), device=thing.device)
    return CableName(
        f"{maker} (invented)", f"{thing.cable.capitalize()} {letters}{number}", "", tuple(devices), summary
    )
