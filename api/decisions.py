"""Decisions: mend, build, buy or stop, from prices, hours and chances. Stores nothing and needs no account.

All money is in one unit of the asker's choice, hours in hours, chances between 0 and 1.
"""

import math
from typing import Any

from drf_spectacular.utils import extend_schema_serializer
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from api.bodies import json_body
from api.described import Answer, Operation, described
from api.limits import COMPUTING
from api.resources import Resource
from api.serializers import OneOf, Strict, choices
from catalogue.core.building import Build, BuildingAdvice, CoreAdvice, Load, PairAdvice, ScreenAdvice
from catalogue.core.chances import wilson_interval
from catalogue.core.decision import Assessment, BreakEven, Prospect, Stakes, Turn
from catalogue.core.document import Part, Path
from catalogue.core.failures import FailureKind
from catalogue.core.gauge import Wire
from catalogue.core.outcomes import Option, Outcomes
from catalogue.core.problems import BadRequest, NotFound, Withdrawn
from catalogue.core.wire_list import Side, WireRow
from catalogue.usecases import decisions
from catalogue.usecases.bodies import json_value
from catalogue.usecases.decisions import Grounds, Question, Way

MOST_MONEY = 10_000_000
MOST_HOURS = 10_000
MOST_SUPPLIES = 200

WAYS = {
    "mend": Option.MEND,
    "build": Option.BUILD,
    "buy_used": Option.BUY_USED,
    "buy_new": Option.BUY_NEW,
}


class Number(serializers.FloatField):
    """A JSON number: neither text that looks like one nor true and false."""

    def to_internal_value(self, data: Any) -> float:
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.fail("invalid")
        return super().to_internal_value(data)


class Above(Number):
    """A number above 0 and at most `max_value`."""

    default_error_messages = {"above": "Ensure this value is greater than 0."}

    def to_internal_value(self, data: Any) -> float:
        value = super().to_internal_value(data)
        if value <= 0:
            self.fail("above")
        return value


class OutcomesSerializer(Strict):
    succeeded = serializers.IntegerField(min_value=0, max_value=1_000_000)
    tried = serializers.IntegerField(min_value=0, max_value=1_000_000)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["succeeded"] > attrs["tried"]:
            raise serializers.ValidationError({"succeeded": "More succeeded than tried."})
        return attrs


class WaySerializer(Strict):
    """One option. `chance` states it; `outcomes` are counts that the asker knows of; without both the catalogue is
    asked."""

    price = Number(min_value=0, max_value=MOST_MONEY)
    hours = Number(min_value=0, max_value=MOST_HOURS, default=0.0)
    chance = Number(min_value=0, max_value=1, default=None, allow_null=True)
    outcomes = OutcomesSerializer(default=None, allow_null=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["chance"] is not None and attrs["outcomes"] is not None:
            raise serializers.ValidationError({"chance": "State a chance or give outcomes, not both."})
        return attrs


class DeviceSerializer(Strict):
    worth_with_cable = Number(min_value=0, max_value=MOST_MONEY)
    worth_without_cable = Number(min_value=0, max_value=MOST_MONEY, default=0.0)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["worth_without_cable"] > attrs["worth_with_cable"]:
            text = "A working cable does not make the device worth less: give at most worth_with_cable."
            raise serializers.ValidationError({"worth_without_cable": text})
        return attrs


class SupplySerializer(Strict):
    """What a supply net carries. `drop_volts` is what may be lost there and back."""

    amperes = Above(max_value=1000)
    drop_volts = Above(max_value=1000, default=None, allow_null=True)


class BuildingSerializer(Strict):
    supplies = serializers.DictField(child=SupplySerializer(), default=dict)
    length_m = Above(max_value=10_000, default=None, allow_null=True)
    contact_ohms = Number(min_value=0, max_value=100, default=None, allow_null=True)
    celsius = Number(min_value=-60, max_value=150, default=20.0)

    def validate_supplies(self, supplies: dict[str, Any]) -> dict[str, Any]:
        if len(supplies) > MOST_SUPPLIES:
            raise serializers.ValidationError(f"At most {MOST_SUPPLIES} supplies are worked with.")
        return supplies


@extend_schema_serializer(component_name="DecisionQuestion")
class QuestionSerializer(Strict):
    """A question as it is sent: the stakes, at least one way, and what it is about."""

    hour_worth = Number(min_value=0, max_value=MOST_MONEY)
    device = DeviceSerializer()
    mend = WaySerializer(default=None, allow_null=True)
    build = WaySerializer(default=None, allow_null=True)
    buy_used = WaySerializer(default=None, allow_null=True)
    buy_new = WaySerializer(default=None, allow_null=True)
    cable = serializers.SlugField(max_length=100, default="", allow_blank=True)
    map = serializers.IntegerField(min_value=1, max_value=2**31 - 1, default=None, allow_null=True)
    failure = OneOf(choices(FailureKind), default=None, allow_null=True)
    volts = Number(min_value=-1_000_000, max_value=1_000_000, default=None, allow_null=True)
    building = BuildingSerializer(default=None, allow_null=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if all(attrs[name] is None for name in WAYS):
            raise serializers.ValidationError({"mend": f"Give at least one way: {', '.join(WAYS)}."})
        if attrs["cable"] and attrs["map"] is not None:
            raise serializers.ValidationError({"map": "Name a cable or a map, not both; a map is of its cable."})
        return attrs

    def question(self) -> Question:
        """The validated question as a value."""
        given = self.validated_data
        return Question(
            stakes=Stakes(given["hour_worth"], **given["device"]),
            ways={option: _way(given[name]) for name, option in WAYS.items() if given[name] is not None},
            build=_build(given["building"] or {}),
            cable=given["cable"],
            map_id=given["map"],
            failure=FailureKind(given["failure"]) if given["failure"] else None,
            volts=given["volts"],
        )


EXAMPLE = {
    "hour_worth": 15,
    "device": {"worth_with_cable": 240, "worth_without_cable": 20},
    "mend": {"price": 12, "hours": 4, "chance": 0.6},
    "buy_used": {"price": 180, "chance": 0.8},
}


class Decisions(Resource):
    limit = COMPUTING
    permission_classes = [AllowAny]

    @described(
        Operation(
            "decide",
            "Mend, build, buy or stop: ranked, with break-evens and what to keep when building. Stores nothing.",
            {200: Answer("The options.", "Decision")},
            problems=[BadRequest, NotFound, Withdrawn],
            takes=QuestionSerializer,
            example=EXAMPLE,
        )
    )
    def post(self, request: Request) -> Response:
        asked = QuestionSerializer(data=json_value(json_body(request), "The question"))
        asked.is_valid(raise_exception=True)
        return Response(_answer_json(decisions.answer(asked.question())))


def _way(given: dict[str, Any]) -> Way:
    outcomes = Outcomes(**given["outcomes"]) if given["outcomes"] is not None else None
    return Way(given["price"], given["hours"], given["chance"], outcomes)


def _build(given: dict[str, Any]) -> Build:
    loads = {name: Load(**load) for name, load in given.get("supplies", {}).items()}
    return Build(loads, given.get("length_m"), given.get("contact_ohms"), given.get("celsius", 20.0))


def _answer_json(answer: decisions.Answer) -> dict[str, object]:
    return {
        "verdict": answer.verdict,
        "options": [
            _option_json(rank, assessment, answer) for rank, assessment in enumerate(answer.decision.ranked, start=1)
        ],
        "not_told_apart": [option.value for option in answer.decision.close],
        "turns": [_turn_json(turn) for turn in answer.decision.turns],
        "cautions": [{"code": each.code, "text": each.text, "source": each.source} for each in answer.cautions],
        "assumptions": list(decisions.ASSUMPTIONS),
        "building": _building_json(answer.building, answer.wires) if answer.building else None,
    }


def _option_json(rank: int, assessment: Assessment, answer: decisions.Answer) -> dict[str, object]:
    """Stopping has neither chance nor break-even; what is not tried by the hour has no `stop_after`."""
    grounds = answer.grounds.get(assessment.option)
    return {
        "option": assessment.option.value,
        "rank": rank,
        "expected_net": assessment.begun_with.net,
        "alone": _prospect_json(assessment.alone),
        "begun_with": _prospect_json(assessment.begun_with),
        "then": [option.value for option in assessment.then],
        "best_chance": assessment.best_chance,
        "chance": _chance_json(grounds) if grounds else None,
        "break_even": _break_even_json(assessment.break_even) if assessment.break_even else None,
        "stop_after": _hours_json(assessment.stop_after_hours),
        "licensed_only": assessment.option in answer.licensed_only,
    }


def _prospect_json(prospect: Prospect) -> dict[str, float]:
    return {"chance": prospect.chance, "cost": prospect.cost, "net": prospect.net}


def _chance_json(grounds: Grounds) -> dict[str, object]:
    """A stated chance has no interval: nobody said how sure it is."""
    interval = None if grounds.chance.is_exact else grounds.chance.interval()
    return {
        "mean": grounds.chance.mean,
        "interval95": [interval.lower, interval.upper] if interval else None,
        "stated": grounds.prior is None,
        "prior": _prior_json(grounds),
        "here": _outcomes_json(grounds.here),
        "elsewhere": _outcomes_json(grounds.elsewhere),
    }


def _prior_json(grounds: Grounds) -> dict[str, object] | None:
    if grounds.prior is None:
        return None
    chance = grounds.prior.chance
    return {"mean": chance.mean, "trials": chance.weight, "basis": "judgement", "reason": grounds.prior.reason}


def _outcomes_json(outcomes: Outcomes) -> dict[str, object]:
    """Counts with the score interval of their share; null while nobody tried."""
    share = wilson_interval(outcomes.succeeded, outcomes.tried)
    return {
        "succeeded": outcomes.succeeded,
        "tried": outcomes.tried,
        "score_interval95": [share.lower, share.upper] if outcomes.tried else None,
    }


def _break_even_json(even: BreakEven) -> dict[str, object]:
    return {
        "against": even.against.value,
        "chance": even.chance,
        "price": even.price,
        "hours": even.hours,
        "worth_trying_from_chance": even.worth_trying,
    }


def _hours_json(hours: float | None) -> dict[str, object] | None:
    """`hours` is null without a limit."""
    if hours is None:
        return None
    return {"limited": math.isfinite(hours), "hours": hours if math.isfinite(hours) else None}


def _turn_json(turn: Turn) -> dict[str, object]:
    return {
        "lever": turn.lever.value,
        "option": turn.option.value if turn.option else None,
        "now": turn.now,
        "at": turn.at,
        "first_then": turn.first_then.value,
    }


def _building_json(building: BuildingAdvice, wires: tuple[WireRow, ...]) -> dict[str, object]:
    return {
        "cores": [_core_json(core) for core in building.cores],
        "missing": [{"net": missing.net, "what": missing.what} for missing in building.missing],
        "pairs": [_pair_json(pair) for pair in building.pairs],
        "screens": [_screen_json(screen) for screen in building.screens],
        "coaxial": list(building.coaxial),
        "parts": [_part_json(part) for part in building.parts],
        "not_wire": {
            "paths": [_path_json(path) for path in building.paths],
            "modules": [{"name": module.name, "holds": module.holds.value} for module in building.modules],
        },
        "wire_list": [_wire_row_json(row) for row in wires],
    }


def _core_json(core: CoreAdvice) -> dict[str, object]:
    return {
        "net": core.net,
        "role": core.role.value,
        "amperes": core.demand.amperes,
        "length_m": core.demand.length_m,
        "contact_ohms": core.demand.contact_ohms,
        "most_drop_volts": core.demand.most_drop_volts,
        "most_core_ohms": max(0.0, core.demand.most_core_ohms),
        "awg": _wire_json(core.awg),
        "metric": _wire_json(core.metric),
        "drop_volts": core.drop_volts,
        "decided_by": core.decider.value if core.decider else None,
        "basis": core.basis,
    }


def _wire_json(wire: Wire | None) -> dict[str, object] | None:
    if wire is None:
        return None
    return {"name": wire.name, "area_mm2": wire.area_mm2, "ohms_per_m": wire.ohms_per_m}


def _pair_json(pair: PairAdvice) -> dict[str, object]:
    impedance = pair.impedance
    return {
        "pair": pair.pair,
        "legs": list(pair.legs),
        "bundle": pair.bundle,
        "impedance_ohms": impedance.ohms if impedance else None,
        "tolerance_ohms": impedance.tolerance_ohms if impedance else None,
        "source": impedance.source if impedance else "",
        "basis": impedance.basis if impedance else "",
    }


def _screen_json(screen: ScreenAdvice) -> dict[str, object]:
    return {
        "net": screen.net,
        "cores": list(screen.cores),
        "bundle": screen.bundle,
        "joined_at": list(screen.joined_at),
        "open_at": list(screen.open_at),
    }


def _part_json(part: Part) -> dict[str, object]:
    return {"kind": part.kind.value, "between": list(part.between), "value": part.value}


def _path_json(path: Path) -> dict[str, object]:
    return {"name": path.name, "via": path.via.value, "from": path.start, "to": path.finish}


def _wire_row_json(row: WireRow) -> dict[str, object]:
    return {
        "carries": row.carries,
        "role": row.role,
        "from": _side_json(row.start),
        "to": _side_json(row.finish),
        "sections": list(row.sections),
        "length_m": row.length_m,
        "core": row.core.name if row.core else None,
    }


def _side_json(side: Side) -> dict[str, object]:
    return {"place": side.place, "contacts": list(side.contacts)}
