"""What people read for each value of the closed sets: for `core-open`, "a core is broken". One list for all.

The values themselves stay in documents, addresses and searches; only these words are for reading.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from catalogue.core.document import Basis, CoreKind, Form, Holds, Role, Via
from catalogue.core.failures import Cause, Ending, FailureKind, Remedy, Symptom
from catalogue.core.findings import Severity
from catalogue.core.problems import Defect

WORDS: Mapping[type[StrEnum], Mapping[str, str]] = MappingProxyType(
    {
        Symptom: {
            Symptom.NO_PICTURE: "no picture",
            Symptom.BAD_PICTURE: "bad picture: snow, stripes, wrong colours",
            Symptom.NO_POWER: "no power",
            Symptom.NOT_RECOGNISED: "device is not recognised",
            Symptom.NO_DATA: "has power, but no data",
            Symptom.DROPS_OUT: "drops out by itself",
            Symptom.CUTS_OUT_WHEN_MOVED: "cuts out when the cable is moved",
            Symptom.WRONG_READINGS: "device shows wrong values",
            Symptom.NOISE: "noise or hum",
            Symptom.NO_SOUND: "no sound",
            Symptom.SLOW: "slow, or falls back to a lower speed",
            Symptom.HOT: "gets hot",
            Symptom.SMELL_OR_SMOKE: "smell or smoke",
            Symptom.VISIBLE_DAMAGE: "damage that can be seen",
        },
        FailureKind: {
            FailureKind.CORE_OPEN: "a core is broken (open)",
            FailureKind.CORE_SHORT: "cores touch each other (short)",
            FailureKind.HIGH_RESISTANCE: "a core or joint reads too high",
            FailureKind.INTERMITTENT: "comes and goes",
            FailureKind.FIBRE_BROKEN: "a fibre is broken",
            FailureKind.ELECTRONICS_DEAD: "electronics in the cable are dead",
            FailureKind.CONTACT_WORN: "a contact is worn, bent or dirty",
            FailureKind.NOT_FOUND: "not found",
        },
        Cause: {
            Cause.KINK: "kink",
            Cause.STRAIN_RELIEF: "bent at the strain relief",
            Cause.CRUSH: "crushed",
            Cause.ABRASION: "worn through",
            Cause.CUT: "cut",
            Cause.BURN: "burnt",
            Cause.WATER: "water",
            Cause.AGE: "age",
            Cause.BAD_JOINT: "bad joint",
            Cause.OVERLOAD: "too much current",
            Cause.UNKNOWN: "not known",
        },
        Remedy: {
            Remedy.CLEANED: "cleaned the contacts",
            Remedy.RESOLDERED: "soldered a joint again",
            Remedy.CUT_AND_SPLICED: "cut the bad stretch out and joined the rest",
            Remedy.NEW_CONNECTOR: "put on a new connector",
            Remedy.NEW_STRAIN_RELIEF: "made a new strain relief",
            Remedy.MODULE_REPLACED: "replaced a module",
            Remedy.CORE_BRIDGED: "bridged a core with a new one",
            Remedy.CABLE_BUILT: "built a whole new cable",
            Remedy.CABLE_BOUGHT: "bought another cable",
            Remedy.NOTHING: "nothing",
        },
        Ending: {
            Ending.MENDED: "mended, and works",
            Ending.BUILT: "replaced by a home-made cable",
            Ending.BOUGHT: "replaced by a bought cable",
            Ending.GIVEN_UP: "given up",
            Ending.NOT_ENDED: "still at work on it",
        },
        Role: {
            Role.POWER: "supply",
            Role.GROUND: "ground",
            Role.SCREEN: "screen",
            Role.PAIR_POSITIVE: "pair, + leg",
            Role.PAIR_NEGATIVE: "pair, − leg",
            Role.SINGLE: "single signal",
            Role.CONTROL: "control",
            Role.UNKNOWN: "role not known",
        },
        Form: {
            Form.UNKNOWN: "not known",
            Form.PLUG: "plug",
            Form.RECEPTACLE: "receptacle",
            Form.LOOSE: "loose cores, no connector",
        },
        Holds: {
            Holds.UNKNOWN: "nobody has looked inside",
            Holds.PASSIVE: "passive parts only",
            Holds.ACTIVE: "electronics",
            Holds.OPTICAL: "electronics for light",
        },
        CoreKind: {
            CoreKind.COPPER: "copper",
            CoreKind.COAX_CENTRE: "coax centre",
            CoreKind.SCREEN: "screen",
            CoreKind.DRAIN: "drain",
            CoreKind.FIBRE: "fibre",
        },
        Via: {
            Via.FIBRE: "fibre",
            Via.CAPACITOR: "a capacitor",
            Via.CHIP: "a chip",
            Via.UNKNOWN: "something not known",
        },
        Basis: {
            Basis.READ: "read with a meter",
            Basis.INFERRED: "inferred",
            Basis.DOCUMENTED: "documented",
            Basis.GUESSED: "guessed",
        },
        Severity: {
            Severity.REJECT: "Reject",
            Severity.WARN: "Warning",
            Severity.NOTE: "Note",
        },
    }
)

RIDES_ON: Mapping[str, str] = MappingProxyType(
    {
        "copper": "copper",
        "fibre": "fibre",
        "capacitor": "capacitors in the way",
        "chip": "a chip in the way",
        "unknown": "something not known",
    }
)
"""What the lanes of a cable can ride on, by the values that cables are searched with."""


def word(value: StrEnum) -> str:
    """What people read for one value. Raises KeyError for a set that has no words here."""
    return WORDS[type(value)][value]


def choices(of: type[StrEnum]) -> list[tuple[str, str]]:
    """(value, words) of a closed set in its own order, as a form offers them."""
    return [(value.value, word(value)) for value in of]


def told(defect: Defect) -> str:
    """A defect in whole sentences: what is wrong, and what to do about it."""
    return " ".join(map(_sentence, filter(None, (defect.message, defect.remedy))))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?", "…")) else ".")
