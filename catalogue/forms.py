"""What people fill in: a search, a map as a document or as readings with a few facts, a failure report, a review,
and what belongs to their account.

A form only reads, and says which field it could not read. What a cable can be is for the rules, and what fits
a cable's map for the use cases; what they have to say comes back to the fields here.
"""

from __future__ import annotations

import re
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Self, TypeAlias, cast

from django import forms
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.core.validators import RegexValidator
from django.forms.formsets import TOTAL_FORM_COUNT, ManagementForm
from django.http import QueryDict
from django.template.defaultfilters import filesizeformat
from django.utils.datastructures import MultiValueDict

from catalogue.core.document import CUSTOM_CONNECTOR, CableName, End, Form, MapDocument, Meter
from catalogue.core.failures import (
    COST_DIGITS,
    LONGEST_NOTE,
    LONGEST_WORDS,
    MOST_HOURS,
    Cause,
    Ending,
    Failure,
    FailureKind,
    FailurePoint,
    PlaceKind,
    Remedy,
    Spot,
    Symptom,
    failure_from,
)
from catalogue.core.problems import BadRequest, Problem
from catalogue.core.reviewing import DECISIONS, LONGEST_REASON, Standing
from catalogue.core.words import RIDES_ON, choices, told
from catalogue.core.written_rows import FREE_SEAT, Rows, rows_from
from catalogue.usecases.submissions import connector_titles

USUAL_ENDS = 2
MOST_ENDS = 24
MOST_ROWS = 20
MOST_POINTS = 8
ANY = [("", "any")]

Files: TypeAlias = "MultiValueDict[str, UploadedFile[bytes]]"


def any_connector() -> list[tuple[str, str]]:
    return [*ANY, *connector_titles().items()]


def own_or_standard_connector() -> list[tuple[str, str]]:
    own = (CUSTOM_CONNECTOR, "of its own (write its rows)")
    return [("", "choose one"), own, *connector_titles().items()]


class AsTyped(forms.Field):
    """A number in a plain text field, with a decimal point or comma.

    Browsers send nothing at all for what they cannot read in a number field, so that it would be lost unsaid.
    """

    widget = forms.TextInput(attrs={"inputmode": "decimal"})

    def to_python(self, value: Any) -> Any:
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)


class FloatField(AsTyped, forms.FloatField):
    pass


class DecimalField(AsTyped, forms.DecimalField):
    pass


class Asking(forms.Form):
    """A question in the address of a page, whose fields may all be left empty."""

    def asked(self) -> dict[str, Any]:
        """The fields that were filled in and could be read, by name."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value not in ("", None)}


class SearchForm(Asking):
    """What to look for."""

    q = forms.CharField(label="Words", required=False, max_length=200)
    maker = forms.CharField(label="Maker", required=False, max_length=120)
    connector = forms.ChoiceField(label="Connector", required=False, choices=any_connector)
    contacts = forms.IntegerField(
        label="Contacts on one end",
        required=False,
        min_value=1,
        max_value=1000,
        help_text="A shell that a probe can reach is one of them.",
        error_messages={"invalid": "Type a number."},
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    rides_on = forms.ChoiceField(label="Signals go through", required=False, choices=[*ANY, *RIDES_ON.items()])
    symptom = forms.ChoiceField(label="Symptom", required=False, choices=[*ANY, *choices(Symptom)])
    place = forms.ChoiceField(label="Failed where", required=False, choices=[*ANY, *choices(PlaceKind)])
    ending = forms.ChoiceField(label="How it ended", required=False, choices=[*ANY, *choices(Ending)])


class FailurePointsForm(Asking):
    """Which reports to count."""

    q = forms.CharField(label="Words", required=False, max_length=200)
    symptom = forms.ChoiceField(label="Symptom", required=False, choices=[*ANY, *choices(Symptom)])
    place = forms.ChoiceField(label="Failed where", required=False, choices=[*ANY, *choices(Spot)])
    connector = forms.ChoiceField(label="Connector that failed", required=False, choices=any_connector)
    rides_on = forms.ChoiceField(label="Signals go through", required=False, choices=[*ANY, *RIDES_ON.items()])


class WantedForm(forms.Form):
    """A cable that somebody looks for in vain."""

    maker = forms.CharField(label="Maker", max_length=80, help_text="Of the cable, or else of its device.")
    model = forms.CharField(
        label="Model or part number", max_length=80, help_text="As printed on the cable, or else on its device."
    )
    device = forms.CharField(label="Device it is made for", max_length=80, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        # It stands beside the search, which has fields of the same names.
        super().__init__(*args, **{"auto_id": "ask_%s", **kwargs})

    def take(self, problem: Problem) -> None:
        """Show what is wrong: each defect at its field, or the problem where it has none."""
        for defect in problem.defects:
            self.add_error(defect.where.removeprefix("/"), told(defect))
        if not problem.defects:
            self.add_error(None, problem.text)


def at_most_a_document(upload: UploadedFile[bytes]) -> None:
    """Refuse a file before it is read, when it is larger than any document."""
    if (upload.size or 0) > settings.DOCUMENT_BYTES:
        size, limit = filesizeformat(upload.size or 0), filesizeformat(settings.DOCUMENT_BYTES)
        raise forms.ValidationError(f"The file has {size}; at most {limit} are taken. Nothing was stored.")


def all_text(upload: UploadedFile[bytes]) -> None:
    """Refuse a file some of whose bytes are no text: shown as marks, they could not be told from what was written."""
    if (upload.size or 0) > settings.DOCUMENT_BYTES:
        return
    upload.seek(0)
    raw = upload.read()
    try:
        raw.decode(encoding_of(raw))
    except UnicodeDecodeError as error:
        line = decoded(raw[: error.start]).count("\n") + 1
        raise forms.ValidationError(
            f"From line {line} on, the file holds characters that are not UTF-8 text; they stand as � below. Correct "
            "them there, or save the file as UTF-8 and choose it again. Nothing was stored."
        ) from None


class TextOrFile(forms.Form):
    """A text that is pasted or chosen as a file; a chosen file takes the place of what is pasted."""

    text_name: str
    file_name: str
    data: QueryDict

    @classmethod
    def sent(cls, data: QueryDict, files: Files | None = None) -> Self:
        """The form as sent, with a file's text in place of the pasted one, so that it is there to correct."""
        data, upload = data.copy(), files.get(cls.file_name) if files else None
        if upload and (upload.size or 0) <= settings.DOCUMENT_BYTES:
            data[cls.text_name] = decoded(upload.read())
        data[cls.text_name] = data.get(cls.text_name, "").replace("\r\n", "\n")
        return cls(data, files)

    @classmethod
    def again(cls, data: QueryDict, files: Files | None = None) -> Self:
        """The same fields filled in, but not yet judged."""
        return cls(initial=cls.sent(data, files).data.dict())

    @property
    def given_text(self) -> str:
        return str(self.data[self.text_name])


def decoded(raw: bytes) -> str:
    """A file's text: UTF-8, or UTF-16 where it says so. What is neither becomes marks."""
    return raw.decode(encoding_of(raw), "replace")


def code_area(rows: int) -> forms.Textarea:
    """A field for lines that a program reads: nothing in them is corrected, capitalised or wrapped."""
    return forms.Textarea(
        attrs={"rows": rows, "spellcheck": "false", "autocapitalize": "off", "class": "code", "wrap": "off"}
    )


def encoding_of(raw: bytes) -> str:
    return "utf-16" if raw.startswith((BOM_UTF16_LE, BOM_UTF16_BE)) else "utf-8-sig"


class DocumentForm(TextOrFile):
    """A map as one JSON document."""

    text_name, file_name = "text", "file"

    text = forms.CharField(
        label="Map document (JSON)",
        required=False,
        strip=False,
        widget=code_area(rows=16),
    )
    file = forms.FileField(
        label="Or choose a file",
        required=False,
        validators=[at_most_a_document, all_text],
        help_text="At most 2 MiB. A file takes the place of the text above.",
        widget=forms.FileInput(attrs={"accept": ".json,application/json"}),
    )


class MeterReadings(TextOrFile):
    """Readings as CSV, and what the probes themselves read."""

    text_name, file_name = "readings", "readings_file"

    lead_ohms = FloatField(
        label="Probes held together, the meter shows (Ω)",
        required=False,
        min_value=0,
        max_value=100,
        help_text="Leave it empty for 0.2 Ω, which is common.",
    )
    readings = forms.CharField(
        label="Readings (CSV)",
        required=False,
        strip=False,
        widget=code_area(rows=12),
    )
    readings_file = forms.FileField(
        label="Or choose a file",
        required=False,
        validators=[at_most_a_document, all_text],
        help_text="A file takes the place of the text above.",
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv,text/plain"}),
    )

    def meter(self) -> Meter:
        lead_ohms = self.cleaned_data["lead_ohms"]
        return Meter() if lead_ohms is None else Meter(lead_ohms=lead_ohms)


class ReadingsForm(MeterReadings):
    """Which cable it is, and its readings as CSV. The ends are an `EndFormSet` beside it."""

    maker = forms.CharField(label="Maker", max_length=80, help_text="As printed on the cable or its device.")
    model = forms.CharField(label="Model or part number", max_length=80)
    revision = forms.CharField(
        label="Hardware revision",
        max_length=24,
        required=False,
        help_text="Often a letter after the part number. Leave it empty when there is none.",
    )
    devices = forms.CharField(
        label="Devices it is made for",
        required=False,
        max_length=4200,
        help_text="One on each line.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    summary = forms.CharField(
        label="What else should a reader know?",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def cable(self) -> CableName:
        given = self.cleaned_data
        return CableName(
            maker=given["maker"],
            model=given["model"],
            revision=given["revision"],
            devices=tuple(filled_lines(given["devices"])),
            summary=given["summary"].replace("\r\n", "\n"),
        )


class ConfirmForm(MeterReadings):
    """Another person's readings of a cable that has a map, as lines or CSV, and what they have to say."""

    readings = forms.CharField(label="Readings", required=False, strip=False, widget=code_area(rows=12))

    note = forms.CharField(
        label="What should others know of your cable?",
        required=False,
        max_length=2000,
        help_text="Its hardware revision, if it is written on it; where it was broken.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )


class RowsField(forms.CharField):
    """The rows of a connector of its own, as people write them; cleaned, its contacts by row."""

    def __init__(self, **kwargs: Any) -> None:
        help_text = (
            "Looking into the mating face, top row first. How many in each row: 12 12. "
            f"Or their names: A1 A2 / B1 {FREE_SEAT} B3, where {FREE_SEAT} is a free seat."
        )
        super().__init__(
            **{
                "label": "Rows of contacts (only for a connector of its own)",
                "required": False,
                "max_length": 14_000,
                "help_text": help_text,
                "widget": code_area(rows=2),
                **kwargs,
            }
        )

    def clean(self, value: Any) -> Rows:
        text = super().clean(value)
        try:
            return rows_from(text) if text else ()
        except ValueError as problem:
            raise forms.ValidationError(str(problem)) from None


class PlugForm(forms.Form):
    """An unknown plug by its shape."""

    name = forms.CharField(
        label="What your readings call it",
        max_length=24,
        required=False,
        validators=[RegexValidator(r"^[^\s:@]+$", "Use no spaces, no colon and no @ in the name of a plug.")],
    )
    connector = forms.ChoiceField(label="Connector", choices=own_or_standard_connector, required=False)
    rows = RowsField()

    def clean(self) -> None:
        given = self.cleaned_data
        if self.errors:
            return
        if not given["name"]:
            self.add_error("name", "Give the plug a short name, such as PLUG.")
        if given["connector"] not in ("", CUSTOM_CONNECTOR):
            return
        if not given["rows"]:
            self.add_error("rows", "Choose a standard connector, or write the rows, such as 12 12.")
        elif len(given["rows"]) > MOST_ROWS:
            self.add_error("rows", f"At most {MOST_ROWS} rows can be compared.")

    def end(self) -> End:
        """The plug as an end; the rows count for a connector of its own only."""
        given = self.cleaned_data
        if given["connector"] not in ("", CUSTOM_CONNECTOR):
            return End(given["name"], given["connector"])
        return End(given["name"], CUSTOM_CONNECTOR, rows=given["rows"])


class JottedForm(forms.Form):
    """A few readings, line by line or as CSV."""

    readings = forms.CharField(
        label="Readings",
        strip=False,
        max_length=20_000,
        error_messages={"required": "Write some readings, one on each line."},
        widget=forms.Textarea(
            attrs={"rows": 10, "spellcheck": "false", "autocapitalize": "off", "class": "code", "autocomplete": "off"}
        ),
    )


class EndForm(forms.Form):
    """One end of the cable."""

    name = forms.CharField(
        label="Name",
        max_length=24,
        help_text="Short, without spaces, as your readings call it: HOST, TOOL.",
        validators=[RegexValidator(r"^[^\s:@]+$", "Use no spaces, no colon and no @ in the name of an end.")],
    )
    connector = forms.ChoiceField(
        label="Connector",
        choices=own_or_standard_connector,
        error_messages={"required": "Choose the connector, or “of its own” and write its rows."},
    )
    form = forms.ChoiceField(label="Form", choices=choices(Form), required=False, initial=Form.UNKNOWN)
    rows = RowsField()

    def clean(self) -> None:
        connector, rows = self.cleaned_data.get("connector"), self.cleaned_data.get("rows")
        if connector == CUSTOM_CONNECTOR and not rows and not self.has_error("rows"):
            self.add_error("rows", "Write the rows, such as 12 12.")
        elif connector and connector != CUSTOM_CONNECTOR and rows:
            self.add_error(
                "rows",
                "The contacts of a standard connector are known: leave this empty, or choose “of its own”.",
            )

    def end(self) -> End:
        given = self.cleaned_data
        return End(
            given["name"],
            given["connector"],
            Form(given["form"] or Form.UNKNOWN),
            given["rows"],
        )


# Generic in the stubs only.
if TYPE_CHECKING:
    EndForms = forms.BaseFormSet[EndForm]
else:
    EndForms = forms.BaseFormSet


class Ends(EndForms):
    """The ends of one cable. Any of the forms may be left empty, but not all."""

    default_error_messages = {
        **forms.BaseFormSet.default_error_messages,
        "missing_management_form": "The form came in incomplete. Load the page and fill it in again.",
        "too_many_forms": "At most %(num)d ends of a cable can be described.",
    }

    def initial_form_count(self) -> int:
        return 0

    def clean(self) -> None:
        if self.management_form.is_valid() and not any(form.has_changed() for form in self.forms):
            raise forms.ValidationError("Describe at least one end of the cable.")

    def ends(self) -> tuple[End, ...]:
        return tuple(form.end() for form in self.forms if form.has_changed())


EndFormSet = cast(
    type[Ends],
    forms.formset_factory(
        EndForm, formset=Ends, extra=USUAL_ENDS, max_num=MOST_ENDS, absolute_max=MOST_ENDS, validate_max=True
    ),
)


def ends_again(data: QueryDict, more: int = 0) -> Ends:
    """The ends as they were filled in, not yet judged, with so many empty forms more."""
    prefix = EndFormSet.get_default_prefix()
    counted = ManagementForm(data, prefix=prefix)
    total = counted.cleaned_data[TOTAL_FORM_COUNT] if counted.is_valid() else None
    given = [
        {name: data[key] for name in EndForm.base_fields if (key := f"{prefix}-{number}-{name}") in data}
        for number in range(min(total or USUAL_ENDS, MOST_ENDS))
    ]
    ends = EndFormSet(initial=given)
    ends.extra = min(len(given) + more, MOST_ENDS)
    return ends


def filled_lines(text: str) -> Iterable[str]:
    """The lines of a text that hold something, without white space around."""
    return (line.strip() for line in text.splitlines() if line.strip())


class PlaceField(forms.ChoiceField):
    """A place of a cable. `section:NAME@METRES` need not be among those offered: they move with each report."""

    def valid_value(self, value: str) -> bool:
        return super().valid_value(place_and_metres(value)[0])


def place_and_metres(value: str) -> tuple[str, float | None]:
    """`section:coil@3.15` as the section and the metres in it; metres None where there are none."""
    found = re.fullmatch(r"(section:.+)@([0-9]{1,4}\.[0-9]{2})", value, re.DOTALL)
    return (found[1], float(found[2])) if found else (value, None)


class ReportForm(forms.Form):
    """What failed on one specimen. The places and nets to choose from are those of the cable's map."""

    symptoms = forms.MultipleChoiceField(
        label="How did it show?",
        required=False,
        choices=choices(Symptom),
        widget=forms.CheckboxSelectMultiple,
        help_text="Tick all that fit.",
    )
    words = forms.CharField(
        label="In your own words", required=False, max_length=LONGEST_WORDS, help_text="One sentence is enough."
    )
    kind = forms.ChoiceField(
        label="What had failed?",
        choices=choices(FailureKind),
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what had failed; “not found” is a good answer too."},
    )
    where = PlaceField(label="Where was it?", required=False)
    at_m = FloatField(
        label="Metres along that section",
        required=False,
        min_value=0,
        help_text="By tape measure, from the place that the list names. Not needed where others found theirs.",
    )
    nets = forms.MultipleChoiceField(label="Which nets or paths?", required=False, widget=forms.CheckboxSelectMultiple)
    cause = forms.ChoiceField(label="What was the cause?", choices=choices(Cause), initial=Cause.UNKNOWN)
    tried = forms.MultipleChoiceField(
        label="What was tried?",
        required=False,
        choices=choices(Remedy),
        widget=forms.CheckboxSelectMultiple,
    )
    ending = forms.ChoiceField(
        label="How did it end?",
        choices=choices(Ending),
        widget=forms.RadioSelect,
        error_messages={"required": "Choose how it ended; “still at work on it” is fine."},
    )
    hours = FloatField(label="Hours of work so far", required=False, min_value=0, max_value=MOST_HOURS)
    cost = DecimalField(
        label="Cost of materials", required=False, min_value=0, max_digits=COST_DIGITS, decimal_places=2
    )
    currency = forms.CharField(
        label="Currency",
        required=False,
        help_text="Three letters: EUR, USD, JPY.",
        validators=[RegexValidator(r"^[A-Za-z]{3}$", "Write the currency as three letters, such as EUR.")],
        widget=forms.TextInput(attrs={"size": 4, "maxlength": 3, "autocapitalize": "characters"}),
    )
    note = forms.CharField(
        label="What should the next owner know?",
        required=False,
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    def __init__(self, *args: Any, document: MapDocument, points: Sequence[FailurePoint] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.ChoiceField, self.fields["where"]).choices = where_choices(document, points)
        names = [*(net.name for net in document.nets), *(path.name for path in document.paths)]
        cast(forms.ChoiceField, self.fields["nets"]).choices = [(name, name) for name in names]

    @classmethod
    def again(cls, data: QueryDict, document: MapDocument, points: Sequence[FailurePoint] = ()) -> Self:
        """The same fields filled in, but not yet judged."""
        several = ("symptoms", "nets", "tried")
        initial = data.dict() | {name: data.getlist(name) for name in several}
        return cls(initial=initial, document=document, points=points)

    @classmethod
    def telling(cls, failure: Failure, document: MapDocument, points: Sequence[FailurePoint] = ()) -> Self:
        """The fields filled in with what a report says, to tell it anew."""
        where = f"section:{failure.section}" if failure.section else f"place:{failure.place}" if failure.place else ""
        return cls(initial=asdict(failure) | {"where": where}, document=document, points=points)

    def failure(self) -> Failure:
        """The filled-in report as a value."""
        given = self.cleaned_data
        where, at_m = place_and_metres(given["where"])
        kind_of_place, _, name = where.partition(":")
        place: dict[str, Any] = {kind_of_place: name} if name else {}
        if given["at_m"] is None:
            place["at_m"] = at_m
        return failure_from(
            given | place | {"note": given["note"].replace("\r\n", "\n"), "currency": given["currency"].upper()}
        )

    def take(self, problem: BadRequest) -> None:
        """Show what is wrong with the report: each defect at its field, or the problem where it has none."""
        for defect in problem.defects:
            step = defect.where.split("/")[1] if "/" in defect.where else ""
            name = "where" if step in ("section", "place") else step
            self.add_error(name if name in self.fields else None, told(defect))
        if not problem.defects:
            self.add_error(None, problem.text)


def where_choices(document: MapDocument, points: Sequence[FailurePoint] = ()) -> list[tuple[str, Any]]:
    """The places of a cable as a form offers them: known failure points, its sections, its ends, modules and splits."""
    names = {section.name for section in document.sections}
    known = [
        (f"section:{point.section}@{point.at_m:.2f}", f"{point.section} at {point.at_m:.2f} m ({point.count})")
        for point in points
        if point.at_m is not None and point.section in names
    ]
    sections = [
        (
            f"section:{section.name}",
            f"{section.name}, metres from {section.start}" + _length(section.length_m),
        )
        for section in document.sections
    ]
    places = [(f"place:{name}", f"at {name}") for name in document.place_names]
    groups: list[tuple[str, Any]] = [("", "not known")]
    if known:
        groups.append(("Where others found theirs (reports)", known[:MOST_POINTS]))
    if sections:
        groups.append(("In a section", sections))
    return [*groups, ("At an end, module or split", places)]


def _length(length_m: float | None) -> str:
    return "" if length_m is None else f", {length_m:g} m"


DECIDED = {
    Standing.APPROVED: "Good: nothing speaks against it",
    Standing.QUERIED: "Question it: it stays, and your reason is shown with it",
    Standing.WITHDRAWN: "Withdraw it: it is kept, but no longer shown, searched or counted",
}


class ReviewForm(forms.Form):
    """A reviewer's decision. `seen` is the last review that the page showed."""

    decision = forms.ChoiceField(
        label="Your decision",
        choices=[(standing.value, DECIDED[standing]) for standing in DECISIONS],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one."},
    )
    reason = forms.CharField(
        label="Reason",
        required=False,
        help_text="Needed unless it is good. Everybody can read it, its author first: say what would have to change.",
        widget=forms.Textarea(attrs={"rows": 4, "maxlength": LONGEST_REASON}),
    )
    seen = forms.IntegerField(min_value=0, max_value=2**62, widget=forms.HiddenInput)

    def take(self, problem: BadRequest) -> None:
        """Show what is wrong with the decision at its field."""
        for defect in problem.defects:
            self.add_error(defect.where.removeprefix("/"), told(defect))


class TokenForm(forms.Form):
    """What a new token is for, and how long it is good for."""

    name = forms.CharField(
        label="What is it for?",
        max_length=60,
        help_text="So that you know later which one to revoke: “bench computer”, for one.",
        error_messages={"required": "Write what it is for."},
    )
    days = forms.TypedChoiceField(
        label="Good for",
        choices=[("30", "30 days"), ("365", "a year"), ("0", "as long as I do not revoke it")],
        coerce=lambda days: int(days) or None,
        initial="365",
    )


class NotedForm(forms.Form):
    """The number of the last decision that the page showed."""

    last = forms.IntegerField(min_value=1, max_value=2**62)


class MailsForm(forms.Form):
    """Whether decisions on one's contributions come by mail too."""

    wants_mail = forms.BooleanField(
        label="Mail me when a reviewer decides on what I contributed",
        required=False,
        help_text="Mail about the account itself, such as codes, comes in any case.",
    )


class RemovalForm(forms.Form):
    """The password, once more, before an account is removed."""

    password = forms.CharField(
        label="Your password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Type your password, so that the site knows it is you."},
    )

    def take(self, problem: BadRequest) -> None:
        """Show what is wrong at the password."""
        for defect in problem.defects:
            self.add_error("password", told(defect))
