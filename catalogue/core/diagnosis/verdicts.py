"""What is dead in a specimen and why: states, ranked explanations, next tests, and an honest verdict.

`diagnose` puts the parts of this package together. A verdict is told only when the first explanation leads the
second by `MARGIN_DECIBANS`; before that it says that it cannot be told yet, and names the harmless test that would
tell most. It says whether a bench can mend what is dead, before anybody opens anything.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain

from catalogue.core.diagnosis.evidence import MENDABLE, Evidence, Explanation, Mendable, Weights
from catalogue.core.diagnosis.explanations import Ranked, ranked
from catalogue.core.diagnosis.groups import Group, GroupKind, groups, is_signal
from catalogue.core.diagnosis.next_tests import BenchTest, Harm, Question, is_worth_opening, next_tests
from catalogue.core.diagnosis.observations import observed
from catalogue.core.diagnosis.states import MISWIRED, Rail, State, rails
from catalogue.core.document import Point, Role, end_of
from catalogue.core.failures import Failure
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import counted, listed, verb
from catalogue.core.words import word

MARGIN_DECIBANS = 10.0
"""How far the first explanation must lead the second to be told: ten to one (judgement)."""

SENTENCES: Mapping[Explanation, str] = {
    Explanation.CORE_BROKEN: "A core is broken. It can be joined at a bench once the place is found.",
    Explanation.CORES_BROKEN: "Several cores are broken at one place. They can be joined at a bench.",
    Explanation.BAD_CONTACT: "A contact is bad. It can be cleaned, bent back or replaced, with the jacket closed.",
    Explanation.SERIES_CAPACITOR: "Capacitors lie in the way: an open reading at direct current proves no fault there.",
    Explanation.ACTIVE_ELECTRONICS: (
        "Electronics lie in the way. If they are dead in a moulded block, no bench mends them: do not open the cable."
    ),
    Explanation.FIBRE: (
        "These ride on glass. If it or its light source is dead, no bench mends it: do not open the cable."
    ),
    Explanation.DEVICE: "The cable reads as it should: look for the fault in the device, or in its socket.",
}


EITHER_WAY: Mapping[Mendable, str] = {
    Mendable.YES: "Either way it can be mended at a bench. ",
    Mendable.NO: "Either way no bench mends it: do not open the cable. ",
    Mendable.NOTHING_TO_MEND: "Either way nothing in the cable is shown broken. ",
}


OPENED = frozenset({GroupKind.SIGNALS, GroupKind.SUPPLIES})
"""Groups for which a cable may be opened at all."""


class Certainty(StrEnum):
    READ_FIRST = "read-first"
    CANNOT_BE_TOLD_YET = "cannot-be-told-yet"
    TOLD = "told"
    WIRED_OTHERWISE = "wired-otherwise"


@dataclass(frozen=True)
class Verdict:
    """Of one group, or of the whole cable. `explanation` is None where none is told.

    `mendable` is told as soon as all explanations that are left agree on it, even where they are not told apart.

    `would_tell` is the harmless test that would tell most, None when there is none or none is needed.
    """

    certainty: Certainty
    text: str
    explanation: Explanation | None = None
    mendable: Mendable | None = None
    would_tell: Evidence | None = None


@dataclass(frozen=True)
class Explained:
    """One group of dead rails with all explanations, the likeliest first, and what they come to."""

    group: Group
    ranking: tuple[Ranked, ...]
    verdict: Verdict


@dataclass(frozen=True)
class Diagnosis:
    rails: tuple[Rail, ...]
    explained: tuple[Explained, ...]
    next_tests: tuple[BenchTest, ...]
    verdict: Verdict

    @property
    def may_open(self) -> bool:
        """Whether an opening is what is left to do: nothing is unread, no test that spares the jacket has real
        information any more, and broken copper is likely enough to look for."""
        spared = any(test.harm is not Harm.OPENING for test in self.next_tests)
        unread = any(rail.state is State.UNREAD for rail in self.rails)
        worth = any(each.group.kind in OPENED and is_worth_opening(each.ranking) for each in self.explained)
        return worth and not spared and not unread


def diagnose(
    context: Context,
    weights: Weights,
    looks: Mapping[Evidence, bool],
    failures: Sequence[Failure] = (),
    leading: frozenset[str] = frozenset(),
    cannot: Collection[Evidence] = (),
) -> Diagnosis:
    """Everything that can be said of a specimen: its nets as they should be, its readings as they are.

    `looks` are answers to what no meter tells, `failures` the reports on this cable, and `leading` as in
    `expectation`. `cannot` are tests that the person has no means for, so that they are not waited for. Raises
    ValueError for a look that is none.
    """
    states = rails(context, leading)
    questions = tuple(
        _question(context, states, group, weights, looks, failures, frozenset(cannot)) for group in groups(states)
    )
    unread = any(rail.state is State.UNREAD for rail in states)
    tests = next_tests(weights, questions, unread)
    explained = tuple(Explained(each.group, each.ranking, _verdict(each, tests)) for each in questions)
    return Diagnosis(states, explained, tests, _of_the_cable(states, explained))


def _question(
    context: Context,
    states: Sequence[Rail],
    group: Group,
    weights: Weights,
    looks: Mapping[Evidence, bool],
    failures: Sequence[Failure],
    cannot: frozenset[Evidence],
) -> Question:
    seen = observed(context, states, group, looks)
    names = set(group.names)
    about = [failure for failure in failures if not failure.nets or names & set(failure.nets)]
    ranking = ranked(weights, seen, about)
    bench = _Bench(context, states, group)
    decided = {each.evidence for each in seen}
    return Question(group, ranking, bench.possible - decided - cannot, bench.contacts)


@dataclass(frozen=True)
class _Bench:
    """Which tests can be done on a group at all, and on which contacts."""

    context: Context
    states: Sequence[Rail]
    group: Group

    @property
    def possible(self) -> frozenset[Evidence]:
        kind, probed = self.group.kind, self._probed
        found = {Evidence.CONTACT_WORN, Evidence.OTHER_CABLE_WORKS}
        if kind in (GroupKind.SIGNALS, GroupKind.PATHS):
            found |= {Evidence.LAMP_LIGHT, Evidence.GLASS_SEEN}
            if self._ground:
                found.add(Evidence.JUNCTION_TO_GROUND)
            if probed:
                found.add(Evidence.CAPACITOR_BETWEEN_ENDS)
        if kind is not GroupKind.SUPPLIES and (self.context.document.modules or not self.context.document.sections):
            found.add(Evidence.BLOCK_WARM)
        if kind is not GroupKind.PATHS and probed:
            found.add(Evidence.COMES_AND_GOES)
        if kind in OPENED:
            found.add(Evidence.BREAK_SEEN)
        if kind is not GroupKind.CABLE and self._ground and probed and self._is_measured(*probed):
            found.add(Evidence.CAPACITANCE_OF_LENGTH)
        return frozenset(found) | self._reading_on

    @property
    def contacts(self) -> Mapping[str, str]:
        """Contacts to name in a recipe."""
        first = next((rail.contacts[0] for rail in self.group.rails if rail.contacts), "the dead contact")
        near, far = self._probed or (first, "the far end")
        return {"near": near, "far": far, "ground": self._ground or "ground"}

    @property
    def _reading_on(self) -> frozenset[Evidence]:
        signals = self.group.kind is GroupKind.SIGNALS
        unread = any(rail.state is State.UNREAD and is_signal(rail) is signals for rail in self.states)
        if not unread:
            return frozenset()
        return frozenset({Evidence.ALL_SIGNALS_OPEN if signals else Evidence.ONE_DEAD})

    @property
    def _probed(self) -> tuple[Point, Point] | None:
        """Two contacts of one rail of the group at two ends: of a rail that is no ground where there is one."""
        for rail in sorted(self.group.rails, key=lambda rail: rail.role in (Role.GROUND, Role.SCREEN)):
            near = rail.contacts[0] if rail.contacts else ""
            far = next((contact for contact in rail.contacts if end_of(contact) != end_of(near)), None)
            if far is not None:
                return near, far
        return None

    @property
    def _ground(self) -> Point | None:
        """A contact of a ground that is not itself asked about, at the end of the first dead contact if possible."""
        asked = set(self.group.names)
        nets = [net for net in self.context.nets.values() if net.role is Role.GROUND and net.name not in asked]
        contacts = list(chain.from_iterable(self.context.known_contacts(net) for net in nets))
        here = end_of(next((rail.contacts[0] for rail in self.group.rails if rail.contacts), ""))
        return min(contacts, key=lambda contact: end_of(contact) != here, default=None)

    def _is_measured(self, near: Point, far: Point) -> bool:
        way = self.context.topology.stretches(end_of(near), end_of(far))
        return bool(way) and all(stretch.length_m is not None for stretch in way or ())


def _verdict(question: Question, tests: Sequence[BenchTest]) -> Verdict:
    first, second = question.ranking[:2]
    names = listed(question.group.names)
    lead = first.decibans - second.decibans
    if lead >= MARGIN_DECIBANS:
        mendable = MENDABLE[first.explanation]
        return Verdict(Certainty.TOLD, f"{names}: {SENTENCES[first.explanation]}", first.explanation, mendable)
    harmless = [test for test in tests if test.harm is not Harm.OPENING and question.group.kind in test.about]
    best = harmless[0] if harmless else None
    would = f"This would tell: {best.how}" if best else "No harmless test is left that would tell."
    between = f"{word(first.explanation)} or {word(second.explanation)}"
    anyway = _either_way(question.ranking)
    either = EITHER_WAY[anyway] if anyway else ""
    text = f"{names}: it cannot be told yet whether it is {between}. {either}{would}"
    return Verdict(Certainty.CANNOT_BE_TOLD_YET, text, None, anyway, best.evidence if best else None)


def _either_way(ranking: Sequence[Ranked]) -> Mendable | None:
    """What a bench can do whichever explanation holds, where that much is told by the same margin; else None."""
    for mendable in Mendable:
        chance = math.fsum(one.chance for one in ranking if MENDABLE[one.explanation] is mendable)
        if chance >= (1 - chance) * 10 ** (MARGIN_DECIBANS / 10):
            return mendable
    return None


def _of_the_cable(states: Sequence[Rail], explained: Sequence[Explained]) -> Verdict:
    """What comes first for the cable as a whole: wrong joints, then what cannot be told, then what no bench mends."""
    miswired = [rail for rail in states if rail.state in MISWIRED]
    if miswired:
        said = listed(f"{rail.name} is {rail.state} with {listed(rail.others)}" for rail in miswired)
        text = (
            f"{said}. Either cores touch or were joined wrongly, or this is another variant than the map. "
            "Do not power it; put the joints right and read again."
        )
        return Verdict(Certainty.WIRED_OTHERWISE, text, mendable=Mendable.YES)
    if explained:
        urgency = {Certainty.CANNOT_BE_TOLD_YET: 0, Certainty.TOLD: 1}
        hopeless = {Mendable.NO: 0, Mendable.YES: 1, Mendable.NOTHING_TO_MEND: 2, None: 0}
        verdicts = [each.verdict for each in explained]
        return min(verdicts, key=lambda verdict: (urgency[verdict.certainty], hopeless[verdict.mendable]))
    unread = [rail for rail in states if rail.state is State.UNREAD]
    count = counted(len(unread), "net")
    text = f"Nothing is read dead so far. {count} {verb(unread, 'is', 'are')} unread: read them first."
    return Verdict(Certainty.READ_FIRST, text)
