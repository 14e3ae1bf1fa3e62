"""What people fill in: a search, a map as a document or as readings with a few facts, and a failure report.

A form only reads, and says which field it could not read. What a cable can be is for the rules, and what fits
a cable's map for the use cases; what they have to say comes back to the fields here.
"""

from __future__ import annotations

import re
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterable
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
from catalogue.core.failures import Cause, Ending, Failure, FailureKind, Remedy, Symptom, failure_from
from catalogue.core.problems import BadRequest
from catalogue.core.words import RIDES_ON, choices, told
from catalogue.usecases.submissions import connector_titles

FREE_SEAT = "_"
USUAL_ENDS = 2
MOST_ENDS = 24
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


class SearchForm(forms.Form):
    """What to look for. Every field may be left empty."""

    q = forms.CharField(label="Words", required=False, max_length=200)
    maker = forms.CharField(label="Maker", required=False, max_length=120)
    connector = forms.ChoiceField(label="Connector", required=False, choices=any_connector)
    contacts = forms.IntegerField(
        label="Contacts on one end",
        required=False,
        min_value=1,
        max_value=1000,
        error_messages={"invalid": "Type a number."},
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    rides_on = forms.ChoiceField(label="Signals go through", required=False, choices=[*ANY, *RIDES_ON.items()])
    symptom = forms.ChoiceField(label="Symptom", required=False, choices=[*ANY, *choices(Symptom)])

    def asked(self) -> dict[str, Any]:
        """The fields that were filled in and could be read, by name."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value not in ("", None)}


def at_most_a_document(upload: UploadedFile[bytes]) -> None:
    """Refuse a file before it is read, when it is larger than any document."""
    if (upload.size or 0) > settings.DOCUMENT_BYTES:
        size, limit = filesizeformat(upload.size or 0), filesizeformat(settings.DOCUMENT_BYTES)
        raise forms.ValidationError(f"The file has {size}; at most {limit} are taken. Nothing was stored.")


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
    """A file's text: UTF-8, or UTF-16 where it says so. What is neither becomes marks that readers find."""
    encoding = "utf-16" if raw.startswith((BOM_UTF16_LE, BOM_UTF16_BE)) else "utf-8-sig"
    return raw.decode(encoding, "replace")


class DocumentForm(TextOrFile):
    """A map as one JSON document."""

    text_name, file_name = "text", "file"

    text = forms.CharField(
        label="Map document (JSON)",
        required=False,
        strip=False,
        widget=forms.Textarea(
            attrs={"rows": 16, "spellcheck": "false", "autocapitalize": "off", "class": "code", "wrap": "off"}
        ),
    )
    file = forms.FileField(
        label="Or choose a file",
        required=False,
        validators=[at_most_a_document],
        help_text="At most 2 MiB. A file takes the place of the text above.",
        widget=forms.FileInput(attrs={"accept": ".json,application/json"}),
    )


class ReadingsForm(TextOrFile):
    """Which cable it is, and its readings as CSV. The ends are an `EndFormSet` beside it."""

    text_name, file_name = "readings", "readings_file"

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
        widget=forms.Textarea(
            attrs={"rows": 12, "spellcheck": "false", "autocapitalize": "off", "class": "code", "wrap": "off"}
        ),
    )
    readings_file = forms.FileField(
        label="Or choose a file",
        required=False,
        validators=[at_most_a_document],
        help_text="A file takes the place of the text above.",
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv,text/plain"}),
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

    def meter(self) -> Meter:
        lead_ohms = self.cleaned_data["lead_ohms"]
        return Meter() if lead_ohms is None else Meter(lead_ohms=lead_ohms)


class EndForm(forms.Form):
    """One end of the cable."""

    name = forms.CharField(
        label="Name",
        max_length=24,
        help_text="Short, without spaces, as your readings call it: HOST, TOOL.",
        validators=[RegexValidator(r"^[^\s:@]+$", "Use no spaces, no colon and no @ in the name of an end.")],
    )
    connector = forms.ChoiceField(label="Connector", choices=own_or_standard_connector)
    form = forms.ChoiceField(label="Form", choices=choices(Form), required=False, initial=Form.UNKNOWN)
    rows = forms.CharField(
        label="Rows of contacts (only for a connector of its own)",
        required=False,
        max_length=14_000,
        help_text=f"Looking into the mating face, top row first: 1 2 3 / 4 5 6. {FREE_SEAT} is a free seat.",
        widget=forms.Textarea(attrs={"rows": 2, "spellcheck": "false", "autocapitalize": "off", "class": "code"}),
    )

    def clean(self) -> None:
        connector, rows = self.cleaned_data.get("connector"), self.cleaned_data.get("rows")
        if connector == CUSTOM_CONNECTOR and not rows:
            self.add_error("rows", "Write the contacts of this connector, row by row, such as 1 2 3 / 4 5 6.")
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
            contact_rows(given["rows"]),
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


def contact_rows(text: str) -> tuple[tuple[str, ...], ...]:
    """Contacts by row from `1 2 3 / 4 _ 6`: rows parted by `/` or new lines, contacts by spaces or commas."""
    rows = (re.findall(r"[^\s,]+", row) for row in re.split(r"[/\n]", text))
    return tuple(tuple("" if seat == FREE_SEAT else seat for seat in row) for row in rows if row)


def filled_lines(text: str) -> Iterable[str]:
    """The lines of a text that hold something, without white space around."""
    return (line.strip() for line in text.splitlines() if line.strip())


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
        label="In your own words", required=False, max_length=500, help_text="One sentence is enough."
    )
    kind = forms.ChoiceField(
        label="What had failed?",
        choices=choices(FailureKind),
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what had failed; “not found” is a good answer too."},
    )
    where = forms.ChoiceField(label="Where was it?", required=False)
    at_m = FloatField(
        label="Metres from the start of that section",
        required=False,
        min_value=0,
        help_text="Only for a place in a section; to the centimetre, if you can.",
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
    hours = FloatField(label="Hours of work", required=False, min_value=0, max_value=10_000)
    cost = DecimalField(label="Cost of materials", required=False, min_value=0, max_digits=10, decimal_places=2)
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
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    def __init__(self, *args: Any, document: MapDocument, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.ChoiceField, self.fields["where"]).choices = where_choices(document)
        names = [*(net.name for net in document.nets), *(path.name for path in document.paths)]
        cast(forms.ChoiceField, self.fields["nets"]).choices = [(name, name) for name in names]

    @classmethod
    def again(cls, data: QueryDict, document: MapDocument) -> Self:
        """The same fields filled in, but not yet judged."""
        several = ("symptoms", "nets", "tried")
        initial = data.dict() | {name: data.getlist(name) for name in several}
        return cls(initial=initial, document=document)

    def clean(self) -> None:
        given = self.cleaned_data
        if given.get("cost") is not None and not given.get("currency") and "currency" not in self.errors:
            self.add_error("currency", "Write the currency of the cost, such as EUR.")

    def failure(self) -> Failure:
        """The filled-in report as a value."""
        given = self.cleaned_data
        kind_of_place, _, name = given["where"].partition(":")
        place = {kind_of_place: name} if name else {}
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


def where_choices(document: MapDocument) -> list[tuple[str, Any]]:
    """The places of a cable as a form offers them: its sections, then its ends, modules and splits."""
    sections = [
        (
            f"section:{section.name}",
            f"{section.name}: metres from {section.start} towards {section.finish}" + _length(section.length_m),
        )
        for section in document.sections
    ]
    places = [(f"place:{name}", f"at {name}") for name in document.place_names]
    groups: list[tuple[str, Any]] = [("", "not known")]
    if sections:
        groups.append(("In a section", sections))
    return [*groups, ("At an end, module or split", places)]


def _length(length_m: float | None) -> str:
    return "" if length_m is None else f", {length_m:g} m"
