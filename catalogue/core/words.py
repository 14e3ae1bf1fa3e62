"""What people read for each value of the closed sets: for `core-open`, "a core is broken". One list for all.

The values themselves stay in documents, addresses and searches; only these words are for reading.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from catalogue.core.decision import Lever
from catalogue.core.diagnosis.evidence import Evidence, Explanation
from catalogue.core.diagnosis.groups import GroupKind
from catalogue.core.diagnosis.next_tests import Harm
from catalogue.core.diagnosis.states import State
from catalogue.core.document import Basis, CoreKind, Form, Holds, MarkKind, Role, Via
from catalogue.core.failures import Cause, Ending, FailureKind, PlaceKind, Remedy, Spot, Symptom
from catalogue.core.findings import Severity
from catalogue.core.location.observations import Method
from catalogue.core.outcomes import Option
from catalogue.core.pooling import Says
from catalogue.core.powering import Outcome
from catalogue.core.problems import Defect
from catalogue.core.reviewing import Kind, Standing

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
            FailureKind.INTERMITTENT: "a connection comes and goes",
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
        Spot: {
            Spot.CONNECTOR: "at a connector, or close to it",
            Spot.MODULE: "at a module, or close to it",
            Spot.SPLIT: "at a split, or close to it",
            Spot.ALONG: "along the way",
            Spot.NEAR_AN_END: "along the way, in the outer quarter of a section",
            Spot.MIDDLE: "along the way, in the middle half of a section",
            Spot.STRAIN_RELIEF: "at a strain relief",
        },
        PlaceKind: {
            PlaceKind.CONNECTOR: "at a connector, or close to it",
            PlaceKind.MODULE: "at a module, or close to it",
            PlaceKind.SPLIT: "at a split, or close to it",
            PlaceKind.ALONG: "along the way",
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
        MarkKind: {
            MarkKind.KINK: "kink",
            MarkKind.CRUSH: "crushed",
            MarkKind.ABRASION: "worn jacket",
            MarkKind.CUT: "cut",
            MarkKind.BURN: "burn",
            MarkKind.STRAIN_RELIEF: "strain relief",
        },
        State: {
            State.SOUND: "sound",
            State.OPEN: "open",
            State.HIGH: "reads high",
            State.SHORTED: "shorted to",
            State.CROSSED: "crossed with",
            State.UNREAD: "not read yet",
            State.NOT_READABLE: "not readable at direct current",
        },
        Explanation: {
            Explanation.CORE_BROKEN: "a broken core",
            Explanation.CORES_BROKEN: "several cores broken at one place",
            Explanation.BAD_CONTACT: "a bad contact",
            Explanation.SERIES_CAPACITOR: "a capacitor in the way",
            Explanation.ACTIVE_ELECTRONICS: "electronics in the way",
            Explanation.FIBRE: "fibre",
            Explanation.DEVICE: "the device",
        },
        GroupKind: {
            GroupKind.SUPPLIES: "supplies and grounds",
            GroupKind.SIGNALS: "signals",
            GroupKind.PATHS: "ways that are no conductor",
            GroupKind.CABLE: "the whole cable",
        },
        Harm: {
            Harm.NONE: "harmless",
            Harm.POWERED: "needs power",
            Harm.OPENING: "opens the jacket",
        },
        Method: {
            Method.CAPACITANCE_BOTH_ENDS: "capacitance from both ends",
            Method.CAPACITANCE_TWIN: "capacitance against a sound core",
            Method.REFLECTION: "echo",
            Method.LOOP_BRIDGE: "loop bridge",
            Method.OPENING: "opening",
            Method.FLEXING: "bending",
        },
        Outcome: {
            Outcome.PROVED: "proved",
            Outcome.MISSING: "still to read",
            Outcome.FAILED: "fails",
        },
        Option: {
            Option.MEND: "mend it",
            Option.BUILD: "build one",
            Option.BUY_USED: "buy a used one",
            Option.BUY_NEW: "buy a new one",
            Option.STOP: "stop",
        },
        Lever: {
            Lever.CHANCE: "the chance",
            Lever.PRICE: "the price",
            Lever.HOURS: "the hours",
            Lever.HOUR_WORTH: "the worth of an hour",
            Lever.WORTH_WITH_CABLE: "the worth of the device with a working cable",
        },
        Says: {
            Says.JOINED: "joined",
            Says.APART: "apart",
            Says.UNDECIDED: "not read",
        },
        Kind: {
            Kind.MAP: "map",
            Kind.REPORT: "failure report",
        },
        Standing: {
            Standing.UNREVIEWED: "not reviewed yet",
            Standing.APPROVED: "reviewed",
            Standing.QUERIED: "questioned by a reviewer",
            Standing.WITHDRAWN: "withdrawn",
        },
        Severity: {
            Severity.REJECT: "Refusal",
            Severity.WARN: "Warning",
            Severity.NOTE: "Note",
        },
    }
)

LOOK_QUESTIONS: Mapping[Evidence, str] = MappingProxyType(
    {
        Evidence.LAMP_LIGHT: "Does the light of a lamp come out at the far end?",
        Evidence.GLASS_SEEN: "Does the end of a glass fibre show in a plug?",
        Evidence.BLOCK_WARM: "Does the block, or a thick plug, get warm in use?",
        Evidence.CONTACT_WORN: "Is a contact worn, bent or dirty?",
        Evidence.OTHER_CABLE_WORKS: "Does the device work with another cable?",
        Evidence.BREAK_SEEN: "If it was opened: did broken copper show?",
    }
)
"""What a person is asked to look for, of the evidence that no meter tells."""

TEST_NAMES: Mapping[Evidence, str] = MappingProxyType(
    {
        Evidence.ONE_DEAD: "Read on: supplies and grounds",
        Evidence.ALL_SIGNALS_OPEN: "Read on: signals",
        Evidence.JUNCTION_TO_GROUND: "Diode reading to ground",
        Evidence.COMES_AND_GOES: "Bend it while reading",
        Evidence.CAPACITANCE_OF_LENGTH: "Capacitance to ground from both ends",
        Evidence.CAPACITOR_BETWEEN_ENDS: "Capacitance from end to end",
        Evidence.CONTACT_WORN: "A look at the contacts",
        Evidence.GLASS_SEEN: "A look for glass",
        Evidence.LAMP_LIGHT: "A lamp at one end",
        Evidence.OTHER_CABLE_WORKS: "Another cable on the device",
        Evidence.BLOCK_WARM: "Warmth of the block",
        Evidence.BREAK_SEEN: "An opening at the likeliest place",
    }
)
"""What a test on the bench is called, by the evidence that it gives."""

RIDES_ON: Mapping[str, str] = MappingProxyType(
    {
        "copper": "copper",
        "fibre": "fibre",
        "capacitor": "a capacitor",
        "chip": "a chip",
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
