"""What the diagnose page tells, arranged for the eye: lines of tables, and sentences with their figures.

What it means comes from the use cases; here it is only sorted, cut to what a person can read, and named.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.forms.boundfield import BoundField, BoundWidget

from catalogue.core.cautions import CAUTIONS
from catalogue.core.decision import Assessment, Turn
from catalogue.core.diagnosis.evidence import Mendable
from catalogue.core.diagnosis.explanations import Contribution, Ranked
from catalogue.core.diagnosis.groups import GroupKind
from catalogue.core.diagnosis.next_tests import BenchTest, Harm
from catalogue.core.diagnosis.states import Rail, State
from catalogue.core.diagnosis.verdicts import Certainty, Diagnosis, Explained
from catalogue.core.document import MarkKind
from catalogue.core.location.locate import INTERVAL
from catalogue.core.location.ways import Way
from catalogue.core.powering import Outcome, Powering, ProofCheck
from catalogue.core.words import TEST_NAMES, word
from catalogue.usecases.decisions import Answer as DecisionAnswer
from catalogue.usecases.decisions import Grounds
from catalogue.usecases.diagnoses import Answer
from catalogue.usecases.drawings import Break
from catalogue.usecases.fault_locations import Answer as LocationAnswer
from catalogue.views.diagnose_forms import TYPED_AS, LooksForm

WORST_FIRST = (State.SHORTED, State.CROSSED, State.OPEN, State.HIGH, State.NOT_READABLE, State.SOUND)
LEAST_CHANCE = 0.02
"""Explanations that are less likely than this are named together."""

LEAST_SHARE = 0.01
"""Marks that are less likely to be the cause than this are not told of."""

TOLD_DECIBANS = 1.0
"""What moved an explanation by less than a quarter is not told of one by one."""

MUCH_BITS, SOME_BITS = 0.5, 0.15
CHECKS_SHOWN = 40
PAIRS_SHOWN = 4
NAMES_SHOWN = 6
TURNS_SHOWN = 3
STRETCHES_SHOWN = 6


@dataclass(frozen=True, slots=True)
class Reason:
    """How far one thing moved an explanation: `12 times likelier`."""

    moved: str
    speaks_for: bool
    because: str
    why: str
    readings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RankedLine:
    ranked: Ranked
    percent: int
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class ExplainedGroup:
    """One group of dead rails: the explanations worth reading, and the names of the others."""

    explained: Explained
    lines: tuple[RankedLine, ...]
    others: tuple[Ranked, ...]


@dataclass(frozen=True, slots=True)
class TestLine:
    """A test to do, with where its result is filled in: the answer to a question, or `typed`, which says how.

    `set_aside` is the box to tick by whom has no means for it.
    """

    test: BenchTest
    name: str
    tells: str
    question: BoundField | None
    typed: str
    set_aside: BoundWidget | None


@dataclass(frozen=True, slots=True)
class NextStep:
    """The one thing to do now, and the part of the page that says how."""

    told: str
    part: str


@dataclass(frozen=True, slots=True)
class MarkLine:
    kind: MarkKind
    at: str
    percent: int


@dataclass(frozen=True)
class Place:
    """Where the break is, in words. `open_at` is empty as long as opening is not what comes next."""

    way: Way
    likeliest: str
    stretches: tuple[tuple[str, str, int], ...]
    marks: tuple[MarkLine, ...]
    doubts: tuple[str, ...]
    measured: tuple[tuple[str, str], ...]
    open_at: str
    expected_openings: float
    halving_openings: float


@dataclass(frozen=True, slots=True)
class CourseLine:
    """One way out. `percent` is its chance of success, with the interval of it unless the chance was stated."""

    assessment: Assessment
    grounds: Grounds | None
    percent: int | None
    interval: tuple[int, int] | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CheckLine:
    check: ProofCheck
    pairs: tuple[tuple[str, str], ...]
    more_pairs: int


def states(diagnosis: Diagnosis) -> list[Rail]:
    """The rails that were read, the worst first, each kind in the order of the map."""
    read = [rail for rail in diagnosis.rails if rail.state is not State.UNREAD]
    return sorted(read, key=lambda rail: WORST_FIRST.index(rail.state))


def explained(diagnosis: Diagnosis) -> list[ExplainedGroup]:
    """What can explain each group of dead rails, the likeliest first."""
    return [_group(each) for each in diagnosis.explained]


def tests(diagnosis: Diagnosis, looks: LooksForm) -> list[TestLine]:
    """The tests to do next that leave the jacket closed."""
    return [
        TestLine(
            test,
            TEST_NAMES[test.evidence],
            _tells(test),
            looks.question_of(test.evidence),
            TYPED_AS.get(test.evidence, ""),
            looks.box_of(test.evidence),
        )
        for test in diagnosis.next_tests
        if test.harm is not Harm.OPENING
    ]


def next_step(answer: Answer, tests: Sequence[TestLine], place: Place | None) -> NextStep:
    """What comes next: readings before openings, what spares the jacket first, the proof before power last."""
    diagnosis = answer.diagnosis
    unread = [rail.name for rail in diagnosis.rails if rail.to_read]
    if answer.disputed:
        return NextStep(f"Take readings again that cannot all be true: {_some(answer.disputed)}.", "states")
    if tests:
        return NextStep(f"{tests[0].name}.", "tests")
    if unread:
        return NextStep(f"Read on: {_some(unread)}.", "measure")
    if place and place.open_at and not is_hopeless(diagnosis):
        return NextStep(f"Open the jacket at {place.open_at}, and nowhere else.", "where")
    if not is_sound(diagnosis):
        return NextStep("Weigh what each way out costs.", "what-to-do")
    if not answer.powering.proved:
        return NextStep("Read what proves it before power.", "prove")
    return NextStep("Power it, with a current limit the first time if you can.", "prove")


def cautions(lines: Iterable[TestLine]) -> list[str]:
    """What to mind in some tests, each caution once."""
    return [CAUTIONS[each] for each in dict.fromkeys(each for line in lines for each in line.test.cautions)]


def is_hopeless(diagnosis: Diagnosis) -> bool:
    """Whether no bench mends what is dead: it is told, or all is read and nothing that it may be can be mended."""
    is_told = diagnosis.verdict.certainty is Certainty.TOLD and diagnosis.verdict.mendable is Mendable.NO
    is_read = not any(rail.to_read for rail in diagnosis.rails)
    return is_told or (is_read and {each.verdict.mendable for each in diagnosis.explained} == {Mendable.NO})


def is_sound(diagnosis: Diagnosis) -> bool:
    """Whether nothing that was read is dead, so that what there is to explain is the cable as a whole."""
    return all(each.group.kind is GroupKind.CABLE for each in diagnosis.explained)


def break_of(way: Way, answer: LocationAnswer, may_open: bool) -> Break:
    """The break as the fault chart draws it."""
    found, advice = answer.location.found, answer.location.open_next
    return Break(way, found, found.densest_stretches(INTERVAL), advice.at_m if advice and may_open else None)


def place(drawn: Break, answer: LocationAnswer) -> Place:
    """The break in words."""
    location, question, at = answer.location, answer.question, drawn.words_at
    advice = location.open_next if drawn.open_next_m is not None else None
    names = [word(observation.method) for observation in question.observations]
    return Place(
        way=drawn.way,
        likeliest=at(location.found.likeliest_m),
        stretches=tuple(_stretches(drawn)),
        marks=tuple(
            MarkLine(mark.kind, at(mark.at_m), round(100 * share))
            for mark, share in zip(question.marks, location.mark_shares, strict=True)
            if share >= LEAST_SHARE
        ),
        doubts=tuple(_doubts(names, answer)),
        measured=tuple(
            (name, f"{plain.at_m:.2f} ± {plain.at_m_u:.2f} m")
            for name, plain in zip(names, location.plain, strict=True)
            if plain and not plain.impossible
        ),
        open_at=at(advice.at_m) if advice else "",
        expected_openings=advice.expected_openings if advice else 0.0,
        halving_openings=advice.halving_openings if advice else 0.0,
    )


def courses(answer: DecisionAnswer) -> list[CourseLine]:
    """Every way out, the best to begin with first."""
    return [_course(assessment, answer) for assessment in answer.decision.ranked]


def turns(answer: DecisionAnswer) -> list[str]:
    """What would turn the advice round, nearest first, in sentences."""
    return [_turn(turn) for turn in answer.decision.turns[:TURNS_SHOWN]]


def checks(powering: Powering, outcome: Outcome) -> list[CheckLine]:
    """The checks with one outcome, as many as a person goes through at once."""
    return [
        CheckLine(check, check.to_read[:PAIRS_SHOWN], len(check.to_read[PAIRS_SHOWN:]))
        for check in powering.with_outcome(outcome)[:CHECKS_SHOWN]
    ]


def pairs_to_prove(powering: Powering) -> Iterator[tuple[str, str]]:
    """The readings that are missing of the proof, in the order of the list."""
    return (pair for check in powering.with_outcome(Outcome.MISSING)[:CHECKS_SHOWN] for pair in check.to_read)


def _some(names: Sequence[str]) -> str:
    """The first few of them."""
    return ", ".join(names[:NAMES_SHOWN]) + (f" and {len(names) - NAMES_SHOWN} more" if names[NAMES_SHOWN:] else "")


def _group(each: Explained) -> ExplainedGroup:
    worth_reading = [ranked for ranked in each.ranking if ranked.chance >= LEAST_CHANCE]
    others = [ranked for ranked in each.ranking if ranked.chance < LEAST_CHANCE]
    lines = (RankedLine(ranked, round(100 * ranked.chance), _reasons(ranked.contributions)) for ranked in worth_reading)
    return ExplainedGroup(each, tuple(lines), tuple(others))


def _reasons(contributions: Iterable[Contribution]) -> tuple[Reason, ...]:
    told = [each for each in contributions if abs(each.decibans) >= TOLD_DECIBANS]
    told.sort(key=lambda each: -abs(each.decibans))
    return tuple(Reason(_moved(one.decibans), one.decibans > 0, one.because, one.why, one.readings) for one in told)


def _moved(decibans: float) -> str:
    times = 10 ** (abs(decibans) / 10)
    return f"{times:.2g} times {'likelier' if decibans > 0 else 'less likely'}"


def _tells(test: BenchTest) -> str:
    if test.tells_bits >= MUCH_BITS:
        return "tells a lot"
    return "tells something" if test.tells_bits >= SOME_BITS else "tells a little"


def _stretches(drawn: Break) -> Iterator[tuple[str, str, int]]:
    """From where to where the break may be, and with how many chances of a hundred, the likeliest stretches first."""
    shares = [(drawn.found.shares(*ends_m, 1)[0], ends_m) for ends_m in drawn.stretches_m]
    for share, (start_m, finish_m) in sorted(shares, reverse=True)[:STRETCHES_SHOWN]:
        yield drawn.words_at(start_m), drawn.words_at(finish_m), round(100 * share)


def _doubts(names: Sequence[str], answer: LocationAnswer) -> Iterator[str]:
    """What of the measurements cannot be, or cannot be together."""
    for name, plain in zip(names, answer.location.plain, strict=True):
        if plain and plain.impossible:
            yield f"{name.capitalize()}: {plain.impossible}"
    for each in answer.location.disagreements:
        both = f"{names[each.one].capitalize()} and {names[each.other]}"
        yield (
            f"{both} do not tell of one break: two places are {each.odds:,.0f} times likelier. "
            "Make both again before you open anything."
        )


def _course(assessment: Assessment, answer: DecisionAnswer) -> CourseLine:
    grounds = answer.grounds.get(assessment.option)
    exact = grounds is None or grounds.chance.is_exact
    interval = None if grounds is None or exact else grounds.chance.interval()
    return CourseLine(
        assessment=assessment,
        grounds=grounds,
        percent=round(100 * grounds.chance.mean) if grounds else None,
        interval=(round(100 * interval.lower), round(100 * interval.upper)) if interval else None,
        notes=tuple(_notes(assessment, answer)),
    )


def _notes(assessment: Assessment, answer: DecisionAnswer) -> Iterator[str]:
    even, hours = assessment.break_even, assessment.stop_after_hours
    if even and even.worth_trying is None:
        yield "Not worth trying, however sure it is: it costs more than a working cable brings."
    elif even and even.worth_trying is not None:
        yield f"Worth trying from a chance of {100 * even.worth_trying:.0f} %."
    if even and even.chance is not None:
        yield f"As good a beginning as to {word(even.against)} at a chance of {100 * even.chance:.0f} %."
    if hours is not None and math.isfinite(hours) and hours > 0:
        yield f"Stop after {hours:.1f} h without success."
    if assessment.option in answer.licensed_only:
        yield "At these volts this is work for licensed people."


def _turn(turn: Turn) -> str:
    whose = f" to {word(turn.option)}" if turn.option else ""
    percent = turn.lever.value == "chance"
    now, at = (f"{100 * value:.0f} %" if percent else f"{value:.4g}" for value in (turn.now, turn.at))
    return f"If {word(turn.lever)}{whose} were {at} and not {now}: begin with “{word(turn.first_then)}”."
