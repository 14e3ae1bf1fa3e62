"""What is filled in on the diagnose page about the specimen: readings, what was seen, and the place of a break.

Each part only reads, and says which field it could not read. `worksheet.py` puts the parts together.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.forms.boundfield import BoundField, BoundWidget

from catalogue.core.diagnosis.evidence import LOOKS, Evidence
from catalogue.core.diagnosis.next_tests import READING_ON, RECIPES, Harm
from catalogue.core.document import MapDocument, MarkKind, Meter, Mode
from catalogue.core.location.observations import Method, Side
from catalogue.core.location.ways import Way, ways_of
from catalogue.core.problems import BadRequest
from catalogue.core.words import LOOK_QUESTIONS, TEST_NAMES, choices, told
from catalogue.forms import FloatField, TextOrFile, at_most_a_document, code_area

MOST_ROWS = 200
MOST_SEEN = 40
MEGOHM = 1e6
MODES = [
    (Mode.OHMS.value, "ohms"),
    (Mode.BEEP.value, "buzzer"),
    (Mode.DIODE.value, "diode"),
    (Mode.FARADS.value, "capacitance"),
]
YES_OR_NO = [("", "not looked"), ("yes", "yes"), ("no", "no")]

FLEXING, OPENED, SOUND_TO_START, SOUND_TO_FINISH = "flexing", "opened", "sound-to-start", "sound-to-finish"
SEEN = [
    ("", "nothing"),
    ("Marks", choices(MarkKind)),
    ("While bending", [(FLEXING, "bent here, a reading comes and goes")]),
    (
        "Openings",
        [
            (OPENED, "opened, nothing read there"),
            (SOUND_TO_START, "opened: sound from here to the start of the section"),
            (SOUND_TO_FINISH, "opened: sound from here to the end of the section"),
        ],
    ),
]
TESTS_TO_SET_ASIDE = [
    (test.value, TEST_NAMES[test])
    for test, recipe in RECIPES.items()
    if recipe.harm is not Harm.OPENING and test not in READING_ON
]


TYPED_AS = {
    Evidence.JUNCTION_TO_GROUND: "Type both readings in step 2, the red probe's contact first, the meter on diode.",
    Evidence.COMES_AND_GOES: "Type the reading in step 2 and tick “bent”; where it came and went, in step 4.",
    Evidence.CAPACITANCE_OF_LENGTH: "Type both readings in step 2, the meter on capacitance.",
    Evidence.CAPACITOR_BETWEEN_ENDS: "Type the reading in step 2, the meter on capacitance.",
}
"""Where the result of a test is filled in that is no question but a reading."""


class ReadingRow(forms.Form):
    """One reading. A row without a result was not read, and is left out."""

    probes = forms.CharField(label="Probes on", required=False, max_length=14_000)
    mode = forms.ChoiceField(label="Meter on", required=False, choices=MODES)
    shows = forms.CharField(
        label="It shows",
        required=False,
        max_length=40,
        widget=forms.TextInput(attrs={"placeholder": "0.6 or OL", "autocapitalize": "off", "autocomplete": "off"}),
    )
    flexed = forms.BooleanField(label="while bending", required=False)


class SeenRow(forms.Form):
    """Something at a place along the cable."""

    what = forms.ChoiceField(label="What", required=False, choices=SEEN)
    section = forms.ChoiceField(label="In section", required=False)
    at_m = FloatField(label="Metres from its start", required=False, min_value=0)

    def __init__(self, *args: Any, document: MapDocument, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lengths_m = {section.name: section.length_m for section in document.sections}
        named = [(section.name, f"{section.name}, from {section.start}") for section in document.sections]
        cast(forms.ChoiceField, self.fields["section"]).choices = [("", "choose one"), *named]

    def clean(self) -> None:
        given = self.cleaned_data
        if not given.get("what") or self.errors:
            return
        if not given.get("section"):
            self.add_error("section", "Choose the section that it is in.")
        elif given.get("at_m") is None:
            self.add_error("at_m", "Write how many metres from the start of the section, such as 1.2.")
        elif given["at_m"] > (self.lengths_m[given["section"]] or given["at_m"]):
            length_m = self.lengths_m[given["section"]]
            self.add_error("at_m", f"This section is {length_m:g} m long by the map. Write fewer metres.")


# Generic in the stubs only.
if TYPE_CHECKING:
    Rows = forms.BaseFormSet[ReadingRow]
    SeenRows = forms.BaseFormSet[SeenRow]
else:
    Rows = SeenRows = forms.BaseFormSet

ReadingRows = cast(
    type[Rows], forms.formset_factory(ReadingRow, formset=Rows, extra=0, max_num=MOST_ROWS, absolute_max=MOST_ROWS)
)
SeenFormSet = cast(
    type[SeenRows], forms.formset_factory(SeenRow, formset=SeenRows, extra=2, max_num=MOST_SEEN, absolute_max=MOST_SEEN)
)


class TableForm(TextOrFile):
    """Readings as CSV beside the rows, and the meter."""

    text_name, file_name = "table", "table_file"

    table = forms.CharField(
        label="Readings as a table (CSV)",
        required=False,
        strip=False,
        widget=code_area(rows=8),
    )
    table_file = forms.FileField(
        label="Or choose a file",
        required=False,
        validators=[at_most_a_document],
        help_text="A file takes the place of the text above.",
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv,text/plain"}),
    )
    lead_ohms = FloatField(
        label="Probes held together, the meter shows (Ω)",
        required=False,
        min_value=0,
        max_value=100,
        help_text="Leave it empty for 0.2 Ω, which is common.",
    )
    range_mohm = FloatField(
        label="Range on which it showed over limit (MΩ)",
        required=False,
        min_value=1e-6,
        max_value=1e6,
        help_text="Leave it empty for 40 MΩ, the highest of a common meter. Over limit on a low range proves little.",
    )

    def meter(self) -> Meter:
        given, usual = self.cleaned_data, Meter()
        return Meter(
            lead_ohms=usual.lead_ohms if given["lead_ohms"] is None else given["lead_ohms"],
            range_ohms=usual.range_ohms if given["range_mohm"] is None else given["range_mohm"] * MEGOHM,
        )


class LooksForm(forms.Form):
    """What no meter tells, and the tests that a person has no means for."""

    cannot = forms.MultipleChoiceField(
        label="Tests that you cannot do",
        required=False,
        choices=TESTS_TO_SET_ASIDE,
        widget=forms.CheckboxSelectMultiple,
        help_text="They are then not waited for. Better borrow the meter than open the cable too early.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for look in LOOKS:
            self.fields[look.value] = forms.ChoiceField(
                label=LOOK_QUESTIONS[look],
                help_text="" if RECIPES[look].harm is Harm.OPENING else RECIPES[look].how,
                required=False,
                choices=YES_OR_NO,
                widget=forms.RadioSelect,
            )

    @property
    def questions(self) -> list[BoundField]:
        return [self[look.value] for look in LOOKS]

    def question_of(self, test: Evidence) -> BoundField | None:
        """What is asked for a test; None where its result is a reading."""
        return self[test.value] if test.value in self.fields else None

    @property
    def boxes(self) -> list[BoundWidget]:
        return list(self["cannot"])

    def box_of(self, test: Evidence) -> BoundWidget | None:
        """The box that sets a test aside; None where it cannot be."""
        return next((box for box in self.boxes if box.data["value"] == test.value), None)

    def looks(self) -> dict[Evidence, bool]:
        """The questions that are answered."""
        return {look: self.cleaned_data[look] == "yes" for look in LOOKS if self.cleaned_data[look]}

    def set_aside(self) -> frozenset[Evidence]:
        return frozenset(map(Evidence, self.cleaned_data["cannot"]))


@dataclass(frozen=True, slots=True)
class Measured:
    """An observation as the API takes it, and the field of the form for each of its own."""

    sent: Mapping[str, object]
    fields: Mapping[str, str]


class PlaceForm(forms.Form):
    """What was measured of the place of a break. `way` says between which places; all else may be left empty."""

    way = forms.ChoiceField(
        label="Between which places is the broken conductor?",
        required=False,
        help_text="The meter reads from the first of them; metres are counted from there.",
    )
    near_pf = FloatField(label="Broken core, from the first place (pF)", required=False)
    far_pf = FloatField(label="The same core, from the other place (pF)", required=False)
    twin_pf = FloatField(label="A sound core of the same kind, whole length (pF)", required=False)
    farads_pct = FloatField(label="Accuracy of the meter (%)", required=False, initial=2.0)
    digit_pf = FloatField(label="Its last digits are worth (pF)", required=False, initial=1.0)
    echo_from = forms.ChoiceField(
        label="Sent in at",
        required=False,
        choices=[(Side.NEAR.value, "the first place"), (Side.FAR.value, "the other place")],
    )
    echo_ns = FloatField(label="Echo after (ns)", required=False)
    echo_ns_u = FloatField(label="Give or take (ns)", required=False, initial=0.5)
    velocity = FloatField(label="Velocity factor", required=False, initial=0.66)
    velocity_u = FloatField(label="Give or take", required=False, initial=0.03)
    arm_known = FloatField(label="Arm at the sound core (Ω)", required=False)
    arm_other = FloatField(label="Other arm (Ω)", required=False)
    arm_pct = FloatField(label="Accuracy of the arms (%)", required=False, initial=1.0)

    CAPACITANCE = ("near_pf", "far_pf", "twin_pf", "farads_pct", "digit_pf")
    ECHO = ("echo_from", "echo_ns", "echo_ns_u", "velocity", "velocity_u")
    BRIDGE = ("arm_known", "arm_other", "arm_pct")

    def __init__(self, *args: Any, document: MapDocument, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if field.initial is not None:
                field.help_text = f"Empty is {field.initial:g}."
        self.ways = {f"{way.near} {way.far}": way for way in ways_of(document)}
        named = [(key, _way_words(way)) for key, way in self.ways.items()]
        cast(forms.ChoiceField, self.fields["way"]).choices = [("", "where the first dead net runs"), *named]

    @property
    def capacitance(self) -> list[forms.BoundField]:
        return [self[name] for name in self.CAPACITANCE]

    @property
    def echo(self) -> list[forms.BoundField]:
        return [self[name] for name in self.ECHO]

    @property
    def bridge(self) -> list[forms.BoundField]:
        return [self[name] for name in self.BRIDGE]

    @property
    def is_used(self) -> bool:
        """Whether anything but the side of the echo, which always says something, was filled in."""
        return any(self.data.get(name) for name in self.fields if name != "echo_from")

    def clean(self) -> None:
        given = self.cleaned_data
        capacitances = [given.get(name) is not None for name in ("near_pf", "far_pf", "twin_pf")]
        if any(capacitances) and not self.errors:
            if not capacitances[0]:
                self.add_error("near_pf", "Write what the broken core has from the first place, too.")
            elif not any(capacitances[1:]):
                self.add_error("far_pf", "Write what it has from the other place, or what a sound core has.")
        for one, other in (("arm_known", "arm_other"), ("arm_other", "arm_known")):
            if given.get(one) is not None and given.get(other) is None and other not in self.errors:
                self.add_error(other, "A bridge has two arms: write both.")

    def chosen(self) -> Way | None:
        return self.ways.get(self.cleaned_data["way"])

    def measured(self, way: Way) -> list[Measured]:
        """The measurements that were made, along a way."""
        found = []
        if self._value("far_pf") is not None:
            found.append(self._with_farads(Method.CAPACITANCE_BOTH_ENDS, {"near_pf": "near_pf", "far_pf": "far_pf"}))
        if self._value("twin_pf") is not None:
            found.append(self._with_farads(Method.CAPACITANCE_TWIN, {"near_pf": "near_pf", "twin_pf": "twin_pf"}))
        if self._value("echo_ns") is not None:
            fields = {
                "from": "echo_from",
                "seconds": "echo_ns",
                "seconds_u": "echo_ns_u",
                "velocity_factor": "velocity",
                "velocity_factor_u": "velocity_u",
            }
            sent = {key: self._value(name) for key, name in fields.items()}
            sent |= {key: sent[key] * 1e-9 for key in ("seconds", "seconds_u")}
            found.append(Measured({"method": Method.REFLECTION.value, **sent}, fields))
        if self._value("arm_known") is not None:
            fields = {"arm_known": "arm_known", "arm_other": "arm_other", "pct": "arm_pct"}
            sent = {key: self._value(name) for key, name in fields.items()}
            found.append(Measured({"method": Method.LOOP_BRIDGE.value, "loop_m": 2 * way.length_m, **sent}, fields))
        return found

    def _with_farads(self, method: Method, fields: dict[str, str]) -> Measured:
        fields = {**fields, "pct": "farads_pct", "digits_pf": "digit_pf"}
        return Measured({"method": method.value, **{key: self._value(name) for key, name in fields.items()}}, fields)

    def _value(self, name: str) -> Any:
        """What was written; what is usual where a field with a usual value was left empty."""
        value = self.cleaned_data[name]
        return self.fields[name].initial if value in (None, "") else value

    def take(self, problem: BadRequest, measured: list[Measured]) -> None:
        """Show each defect at the field of the observation that it is about, all else over the form."""
        for defect in problem.defects:
            _, *steps = defect.where.split("/")
            match steps:
                case ["observations", index, field] if index.isdecimal() and int(index) < len(measured):
                    self.add_error(measured[int(index)].fields.get(field), told(defect))
                case _:
                    self.add_error(None, told(defect))
        if not problem.defects:
            self.add_error(None, problem.text)


def _way_words(way: Way) -> str:
    through = " + ".join(leg.section for leg in way.legs)
    return f"{way.near} to {way.far}: {through}, {way.length_m:g} m"
