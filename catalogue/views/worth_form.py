"""What is filled in on the diagnose page about money: what a working cable is worth, and what each way out costs."""

from __future__ import annotations

from typing import Any

from django import forms

from catalogue.core.building import Build, Load
from catalogue.core.decision import Stakes
from catalogue.core.document import MapDocument, Role
from catalogue.core.failures import FailureKind
from catalogue.core.outcomes import Option
from catalogue.forms import FloatField
from catalogue.usecases.decisions import Question
from catalogue.usecases.decisions import Way as Course

SUPPLIES_ASKED = 6
"""Supplies that the form has a field for the current of; a cable with more is asked by the API."""


class WorthForm(forms.Form):
    """Prices, hours and what the device is worth, all in one money; and what the supplies carry."""

    worth_with = FloatField(
        label="The device with a working cable is worth", required=False, min_value=0, max_value=1e7
    )
    worth_without = FloatField(
        label="The device without one is worth",
        required=False,
        min_value=0,
        max_value=1e7,
        help_text="Empty is nothing.",
    )
    hour_worth = FloatField(
        label="An hour of yours is worth", required=False, min_value=0, max_value=1e7, help_text="Empty is nothing."
    )

    HANDWORK = (Option.MEND, Option.BUILD)
    COURSES = tuple(option for option in Option if option is not Option.STOP)

    def __init__(self, *args: Any, document: MapDocument, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for option in self.COURSES:
            self.fields[f"{option}-price"] = FloatField(
                label="Parts cost" if option in self.HANDWORK else "It costs",
                required=False,
                min_value=0,
                max_value=1e7,
            )
            self.fields[f"{option}-hours"] = FloatField(label="Hours", required=False, min_value=0, max_value=10_000)
            self.fields[f"{option}-chance"] = FloatField(
                label="Chance (%)",
                required=False,
                min_value=0,
                max_value=100,
            )
        self.supplies = [net.name for net in document.nets if net.role is Role.POWER][:SUPPLIES_ASKED]
        for number, supply in enumerate(self.supplies):
            self.fields[f"amperes-{number}"] = FloatField(
                label=f"{supply} carries (A)", required=False, min_value=1e-6, max_value=1000
            )
        self.fields["length_m"] = FloatField(
            label="Length of the new cable (m)", required=False, min_value=0.01, max_value=10_000
        )

    @property
    def stakes(self) -> list[forms.BoundField]:
        return [self[name] for name in ("worth_with", "worth_without", "hour_worth")]

    @property
    def courses(self) -> list[tuple[Option, list[forms.BoundField]]]:
        return [
            (option, [self[f"{option}-{part}"] for part in ("price", "hours", "chance")]) for option in self.COURSES
        ]

    @property
    def to_build(self) -> list[forms.BoundField]:
        return [*(self[f"amperes-{number}"] for number in range(len(self.supplies))), self["length_m"]]

    def clean(self) -> None:
        given = self.cleaned_data
        worth, without = given.get("worth_with"), given.get("worth_without") or 0.0
        priced = any(given.get(f"{option}-price") is not None for option in self.COURSES)
        if worth is not None and without > worth:
            self.add_error("worth_without", "A working cable does not make the device worth less: write less here.")
        if priced and worth is None and "worth_with" not in self.errors:
            self.add_error("worth_with", "Write what the device is worth with a working cable, to weigh prices by.")
        for option in self.COURSES:
            others = (given.get(f"{option}-{part}") for part in ("hours", "chance"))
            lacking = given.get(f"{option}-price") is None and f"{option}-price" not in self.errors
            if lacking and any(value is not None for value in others):
                self.add_error(f"{option}-price", "Write the price, too; 0 when it costs nothing.")

    def build(self) -> Build:
        """The cable to be built, by the currents that were told."""
        given = self.cleaned_data
        amperes = {name: given.get(f"amperes-{number}") for number, name in enumerate(self.supplies)}
        loads = {name: Load(value) for name, value in amperes.items() if value is not None}
        return Build(loads, length_m=given.get("length_m"))

    def question(self, cable: str, failure: FailureKind | None) -> Question | None:
        """What is asked; None until something is priced."""
        given = self.cleaned_data
        courses: dict[Option, Course] = {
            option: Course(
                price,
                given[f"{option}-hours"] or 0.0,
                None if (percent := given[f"{option}-chance"]) is None else percent / 100,
            )
            for option in self.COURSES
            if (price := given[f"{option}-price"]) is not None
        }
        if not courses:
            return None
        stakes = Stakes(given["hour_worth"] or 0.0, given["worth_with"], given["worth_without"] or 0.0)
        return Question(stakes, courses, self.build(), cable=cable, failure=failure)
