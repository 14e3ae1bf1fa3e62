"""What to test next on a dead cable: by how much a test is expected to tell, harmless ones first.

A test answers one evidence with yes or no. What it tells is the expected fall of the entropy over the explanations,
in bits, under the same weights that rank them. An opening is never named while a harmless test has real information.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from catalogue.core.cautions import Caution
from catalogue.core.diagnosis.evidence import Evidence, Explanation, Weights
from catalogue.core.diagnosis.explanations import Ranked
from catalogue.core.diagnosis.groups import Group, GroupKind

REAL_BITS = 0.05
"""From this on a test has real information; one that tells less hardly moves any ranking (judgement)."""

WORTH_OPENING = 0.2
"""An opening looks for broken copper, and is not named while that is less likely than this (judgement)."""

BROKEN_COPPER = (Explanation.CORE_BROKEN, Explanation.CORES_BROKEN)


class Harm(StrEnum):
    """What a test may do to the cable, least first. `powered` needs a cable that is proved safe to power."""

    NONE = "none"
    POWERED = "powered"
    OPENING = "opening"


HARMS = tuple(Harm)


@dataclass(frozen=True, slots=True)
class Recipe:
    """How one evidence is looked for; `how` may name `{near}`, `{far}` and `{ground}` contacts."""

    harm: Harm
    how: str
    cautions: tuple[Caution, ...]


RECIPES: Mapping[Evidence, Recipe] = {
    Evidence.ONE_DEAD: Recipe(
        Harm.NONE, "Read the supplies and grounds that are still unread from end to end.", (Caution.READING,)
    ),
    Evidence.ALL_SIGNALS_OPEN: Recipe(
        Harm.NONE, "Read the signals that are still unread from end to end.", (Caution.READING,)
    ),
    Evidence.JUNCTION_TO_GROUND: Recipe(
        Harm.NONE,
        "Diode mode: red on {ground}, black on {near}; then the same at the other end of the cable. 0.1 to 1.2 V is a "
        "junction of a chip, over limit at both ends is plain copper or nothing.",
        (Caution.READING,),
    ),
    Evidence.COMES_AND_GOES: Recipe(
        Harm.NONE,
        "Keep the probes on {near} and {far} and bend the cable gently, a hand's width at a time, kinks and strain "
        "reliefs first. Note whether the reading comes and goes, and where.",
        (Caution.READING,),
    ),
    Evidence.CAPACITANCE_OF_LENGTH: Recipe(
        Harm.NONE,
        "Capacitance from {near} to {ground}, and from {far} to the ground at its end. The stubs of a broken core "
        "together have that of its whole length.",
        (Caution.READING,),
    ),
    Evidence.CAPACITOR_BETWEEN_ENDS: Recipe(
        Harm.NONE,
        "Capacitance from {near} to {far}: nanofarads are a capacitor in the way, picofarads are not.",
        (Caution.READING,),
    ),
    Evidence.CONTACT_WORN: Recipe(
        Harm.NONE, "Look at the contacts with a lens and good light, clean them, and read again.", (Caution.READING,)
    ),
    Evidence.GLASS_SEEN: Recipe(
        Harm.NONE,
        "Look from the side at the mating faces for round ends of glass, and on the jacket for words about light.",
        (Caution.LAMP,),
    ),
    Evidence.LAMP_LIGHT: Recipe(
        Harm.NONE,
        "In a dark room hold a pocket lamp to one plug and a sheet of paper behind the other: light that follows the "
        "lamp has come through glass.",
        (Caution.LAMP,),
    ),
    Evidence.OTHER_CABLE_WORKS: Recipe(
        Harm.NONE,
        "Borrow another cable that works and try it on this device. Do not try this cable on a second device.",
        (),
    ),
    Evidence.BLOCK_WARM: Recipe(
        Harm.POWERED,
        "Once the readings before power are taken and prove the cable: plug it in for some minutes and feel whether "
        "the block or a thick plug gets warm.",
        (Caution.POWERING,),
    ),
    Evidence.BREAK_SEEN: Recipe(
        Harm.OPENING,
        "Locate the break first (capacitance, flexing, marks), then open the jacket there and nowhere else, and look "
        "for broken copper.",
        (Caution.OPENING, Caution.GLASS),
    ),
}
"""Every evidence that can be looked for on the bench, in no order of worth."""


READING_ON = frozenset({Evidence.ONE_DEAD, Evidence.ALL_SIGNALS_OPEN})
"""Evidence that is open only while rails are unread."""


@dataclass(frozen=True, slots=True)
class BenchTest:
    """A test to do. `tells_bits` adds up over the groups in `about`, which are told apart by nothing else."""

    evidence: Evidence
    harm: Harm
    tells_bits: float
    how: str
    about: tuple[GroupKind, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True)
class Question:
    """One group with its ranking, what can still be found out about it, and contacts to name in a recipe."""

    group: Group
    ranking: tuple[Ranked, ...]
    open_evidence: frozenset[Evidence]
    contacts: Mapping[str, str]


def tells_bits(weights: Weights, ranking: Sequence[Ranked], evidence: Evidence) -> float:
    """Expected fall of the entropy of a ranking's chances when this evidence gets decided, in bits, never below 0."""
    chances = [one.chance for one in ranking]
    expected = 0.0
    for holds in (True, False):
        joint = [one.chance * weights.chance(evidence, one.explanation, holds) for one in ranking]
        whole = math.fsum(joint)
        if whole > 0:
            expected += whole * entropy_bits([share / whole for share in joint])
    return max(entropy_bits(chances) - expected, 0.0)


def entropy_bits(chances: Sequence[float]) -> float:
    return -math.fsum(chance * math.log2(chance) for chance in chances if chance > 0)


def next_tests(weights: Weights, questions: Sequence[Question], unread: bool = False) -> tuple[BenchTest, ...]:
    """The tests with real information, the least harmful first and among them those that tell most.

    An opening comes alone: only when no other test is left, no rail is `unread`, and broken copper is likely enough.
    To go on reading is always worth naming.
    """
    found = []
    for evidence, recipe in RECIPES.items():
        if recipe.harm is Harm.OPENING:
            continue
        asked = [question for question in questions if evidence in question.open_evidence]
        bits = math.fsum(tells_bits(weights, question.ranking, evidence) for question in asked)
        if asked and (bits >= REAL_BITS or evidence in READING_ON):
            found.append(_test(evidence, bits, asked))
    if found:
        return tuple(sorted(found, key=lambda test: (HARMS.index(test.harm), -test.tells_bits)))
    return () if unread else _opening(weights, questions)


def _opening(weights: Weights, questions: Sequence[Question]) -> tuple[BenchTest, ...]:
    asked = [question for question in questions if Evidence.BREAK_SEEN in question.open_evidence]
    worth = [question for question in asked if is_worth_opening(question.ranking)]
    if not worth:
        return ()
    bits = math.fsum(tells_bits(weights, question.ranking, Evidence.BREAK_SEEN) for question in worth)
    return (_test(Evidence.BREAK_SEEN, bits, worth),)


def is_worth_opening(ranking: Sequence[Ranked]) -> bool:
    """Whether broken copper is likely enough to look for it with a blade."""
    return math.fsum(one.chance for one in ranking if one.explanation in BROKEN_COPPER) >= WORTH_OPENING


def _test(evidence: Evidence, bits: float, asked: Sequence[Question]) -> BenchTest:
    recipe = RECIPES[evidence]
    about = tuple(question.group.kind for question in asked)
    return BenchTest(evidence, recipe.harm, bits, recipe.how.format_map(asked[0].contacts), about, recipe.cautions)
