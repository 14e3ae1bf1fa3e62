"""Questions for the place of a break in JSON, and their answers.

`METHODS` is the one list of what each observation is sent with: the fields, what they become, and their limits.
Reading tells every defect at once, each by its JSON pointer. Capacitance travels in picofarads, and is farads inside.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import chain
from typing import Any

from catalogue.core.document import MarkKind
from catalogue.core.location.agreement import CERTAIN, Disagreement
from catalogue.core.location.locate import INTERVAL, Location
from catalogue.core.location.observations import (
    CapacitanceBothEnds,
    CapacitanceTwin,
    Flexing,
    LoopBridge,
    Method,
    Observation,
    Opened,
    Reflection,
    Side,
    Suspicion,
)
from catalogue.core.location.opening import OpenNext
from catalogue.core.location.posterior import Posterior
from catalogue.core.problems import BadRequest
from catalogue.exchange.json_values import cleaned, decoded
from catalogue.exchange.violations import Location as Place
from catalogue.exchange.violations import Violation, defects, shown

LONGEST_M = 10_000.0
MOST_OBSERVATIONS = 200
MOST_MARKS = 100
MOST_STEPS = 400
"""Stretches of a density as it is told."""

PICO = 1e-12

Json = Mapping[str, Any]


@dataclass(frozen=True)
class Question:
    """What is asked: a conductor, what was observed of it, and if named the cable and section it lies in."""

    length_m: float
    observations: tuple[Observation, ...] = ()
    marks: tuple[Suspicion, ...] = ()
    cable: str = ""
    section: str = ""


@dataclass(frozen=True)
class Number:
    """A field that is a number from `least` to `most`, None standing for the conductor's length. `unit` makes it SI."""

    name: str
    least: float | None
    most: float | None
    unit: float = 1.0

    def read(self, value: object, length_m: float) -> float:
        """The number in SI units. Raises ValueError with the limits."""
        least = length_m if self.least is None else self.least
        most = length_m if self.most is None else self.most
        if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
            raise ValueError(f"Give a number from {least:g} to {most:g}.")
        return float(value) * self.unit


@dataclass(frozen=True)
class Choice:
    """A field that is one of a few words."""

    name: str
    words: type[Side]

    def read(self, value: object, length_m: float) -> Side:
        """The word as a value. Raises ValueError with the words there are."""
        words = [word.value for word in self.words]
        if value not in words:
            raise ValueError(f"Use one of: {', '.join(words)}.")
        return self.words(value)


Fields = tuple[Number | Choice, ...]

AT = Number("at_m", 0.0, None)
PERCENT, DIGITS_PF = Number("pct", 0.0, 50.0), Number("digits_pf", 1e-3, 1e6, PICO)

METHODS: Mapping[str, tuple[Callable[..., Observation], Fields]] = {
    Method.CAPACITANCE_BOTH_ENDS: (
        CapacitanceBothEnds,
        (Number("near_pf", 0.0, 1e9, PICO), Number("far_pf", 0.0, 1e9, PICO), PERCENT, DIGITS_PF),
    ),
    Method.CAPACITANCE_TWIN: (
        CapacitanceTwin,
        (Number("near_pf", 0.0, 1e9, PICO), Number("twin_pf", 1e-3, 1e9, PICO), PERCENT, DIGITS_PF),
    ),
    Method.REFLECTION: (
        Reflection,
        (
            Choice("from", Side),
            Number("seconds", 1e-12, 1.0),
            Number("seconds_u", 1e-13, 1.0),
            Number("velocity_factor", 0.05, 1.0),
            Number("velocity_factor_u", 0.0, 0.3),
        ),
    ),
    Method.LOOP_BRIDGE: (
        LoopBridge,
        (
            Number("arm_known", 1e-6, 1e12),
            Number("arm_other", 1e-6, 1e12),
            Number("loop_m", None, 100 * LONGEST_M),
            Number("pct", 1e-3, 50.0),
        ),
    ),
    Method.OPENING: (Opened, (AT, Choice("sound_towards", Side))),
    Method.FLEXING: (Flexing, (AT, Number("within_m", 1e-3, LONGEST_M))),
}
"""Method to what it becomes, and its fields in the order in which that takes them."""


def parse_question(raw: bytes) -> Question:
    """Read a question. Raises BadDocument when it is no JSON, BadRequest with every defect otherwise."""
    return read_question(decoded(raw))


def read_question(value: object) -> Question:
    """A question from its JSON value. Raises BadRequest with every defect."""
    clean = cleaned(value)
    reader = _Reader()
    question = reader.question(clean.value)
    wrong = (each for each in reader.violations if each.path not in clean.blanked)
    if found := defects(chain(clean.violations, wrong)):
        raise BadRequest("The question cannot be read as it is. Nothing was stored.", found)
    return question


@dataclass
class _Reader:
    """Reads what it can, and gathers what is wrong."""

    violations: list[Violation] = field(default_factory=list)

    def question(self, value: object) -> Question:
        given = self._object(value, (), ("length_m", "observations", "marks", "cable", "section"))
        if not isinstance(value, dict):
            return Question(0.0)
        length = Number("length_m", 0.01, LONGEST_M)
        length_m = self._field(length, given, (), 0.0)
        if not isinstance(length_m, float):
            return Question(0.0)
        return Question(
            length_m,
            self._list(
                given, "observations", MOST_OBSERVATIONS, lambda value, path: self._observation(value, path, length_m)
            ),
            self._list(given, "marks", MOST_MARKS, lambda value, path: self._mark(value, path, length_m)),
            *self._cable(given),
        )

    def _cable(self, given: Json) -> tuple[str, str]:
        names = []
        for name in ("cable", "section"):
            value = given.get(name, "")
            if not isinstance(value, str):
                self._wrong((name,), f"found {shown(value)}, expected text", "Give its name, or leave it out.")
                return "", ""
            names.append(value)
        cable, section = names
        if cable and not re.fullmatch(r"[-\w]{1,100}", cable, re.ASCII):
            self._wrong(("cable",), f"found {shown(cable)}", "Give the cable's name in addresses, as in its `slug`.")
        if bool(cable) != bool(section):
            missing = "section" if cable else "cable"
            remedy = "The places of failures in the catalogue are known by cable and section: name both, or neither."
            self._wrong((missing,), f'the field "{missing}" is missing', remedy)
        return cable, section

    def _observation(self, value: object, path: Place, length_m: float) -> Observation | None:
        if not isinstance(value, dict):
            self._object(value, path, ())
            return None
        method = value.get("method")
        if not isinstance(method, str) or method not in METHODS:
            found = shown(method) if "method" in value else "nothing"
            self._wrong((*path, "method"), f"found {found}", f"Use one of: {', '.join(METHODS)}.")
            return None
        made, fields = METHODS[method]
        given = self._object(value, path, ("method", *(each.name for each in fields)))
        values = [self._field(each, given, path, length_m) for each in fields]
        return None if None in values else made(*values)

    def _mark(self, value: object, path: Place, length_m: float) -> Suspicion | None:
        given = self._object(value, path, ("kind", "at_m"))
        if not given:
            return None
        at_m = self._field(AT, given, path, length_m)
        kinds = [kind.value for kind in MarkKind]
        kind = given.get("kind")
        if not isinstance(kind, str) or kind not in kinds:
            self._wrong((*path, "kind"), f"found {shown(kind)}", f"Use one of: {', '.join(kinds)}.")
            return None
        return Suspicion(MarkKind(kind), at_m) if isinstance(at_m, float) else None

    def _list(self, given: Json, name: str, most: int, read: Callable[[object, Place], Any]) -> tuple[Any, ...]:
        values = given.get(name, [])
        if not isinstance(values, list):
            self._wrong((name,), f"found {shown(values)}, expected a list", "Give a list, or leave it out.")
            return ()
        if len(values) > most:
            self._wrong((name,), f"a list of {len(values):,}", f"Give at most {most}.")
            return ()
        entries = [read(value, (name, number)) for number, value in enumerate(values)]
        return tuple(entry for entry in entries if entry is not None)

    def _object(self, value: object, path: Place, known: tuple[str, ...]) -> dict[str, Any]:
        if not isinstance(value, dict):
            self._wrong(
                path, f"found {shown(value)}, expected an object", "Give an object with the fields as described."
            )
            return {}
        for name in value:
            if name not in known:
                self._wrong(
                    (*path, name), f"unknown field {shown(name)}", f"Leave it out; known here: {', '.join(known)}."
                )
        return value

    def _field(self, wanted: Number | Choice, given: Json, path: Place, length_m: float) -> float | Side | None:
        if wanted.name not in given:
            self._wrong((*path, wanted.name), "this field is missing", "Add it.")
            return None
        try:
            return wanted.read(given[wanted.name], length_m)
        except ValueError as error:
            self._wrong((*path, wanted.name), f"found {shown(given[wanted.name])}", str(error))
            return None

    def _wrong(self, path: Place, message: str, remedy: str) -> None:
        self.violations.append(Violation(path, message, remedy))


def location_json(question: Question, location: Location) -> dict[str, Any]:
    """The answer as JSON values. Lengths in metres from the near end, density per metre."""
    found = location.found
    return {
        "length_m": question.length_m,
        "median_m": _rounded(found.median_m),
        "mean_m": _rounded(found.mean_m),
        "interval90_m": [_rounded(end_m) for end_m in found.shortest_interval(INTERVAL)],
        "stretches90_m": [[_rounded(end_m) for end_m in ends] for ends in found.densest_stretches(INTERVAL)],
        "density": _density(found),
        "open_next": _open_next(location.open_next) if location.open_next else None,
        "marks": [
            {"kind": mark.kind.value, "at_m": mark.at_m, "share": _rounded(share)}
            for mark, share in zip(question.marks, location.mark_shares, strict=True)
        ],
        "observations": [
            {
                "method": observation.method.value,
                "at_m": _rounded(plain.at_m) if plain else None,
                "at_m_u": _rounded(plain.at_m_u) if plain else None,
                "impossible": plain.impossible if plain else "",
            }
            for observation, plain in zip(question.observations, location.plain, strict=True)
        ],
        "disagreements": [_disagreement(each) for each in location.disagreements[:MOST_MARKS]],
    }


def _density(found: Posterior) -> dict[str, list[float]]:
    """A line to draw: two points for each of at most `MOST_STEPS` stretches, its start and its end.

    Stretches are short where the density is high; the area below the line is 1.
    """
    steps = found.coarser(MOST_STEPS)
    return {
        "at_m": [_rounded(at_m) for at_m in steps.edges_m.repeat(2)[1:-1].tolist()],
        "per_m": [float(f"{each:.6g}") for each in steps.per_m.repeat(2).tolist()],
    }


def _open_next(advice: OpenNext) -> dict[str, float]:
    return {
        "at_m": _rounded(advice.at_m),
        "expected_openings": _rounded(advice.expected_openings),
        "halving_openings": _rounded(advice.halving_openings),
        "within_m": _rounded(advice.within_m),
    }


def _disagreement(told: Disagreement) -> dict[str, object]:
    odds = f"{CERTAIN:,.0f} or more" if told.odds >= CERTAIN else f"{told.odds:,.0f}"
    return {
        "at": [f"/observations/{told.one}", f"/observations/{told.other}"],
        "odds": told.odds,
        "message": (
            f"Observations {told.one + 1} and {told.other + 1} do not tell of one break: "
            f"that they tell of two places is {odds} times likelier. Make both again before you open anything."
        ),
    }


def _rounded(value: float) -> float:
    return round(value, 6)
