"""Input checks for assessments, readings, findings and photographs."""

from typing import Any

from django import forms
from django.db.models import Case, When
from django.utils import timezone

from jobs.assessment.calc.samples import SETS
from jobs.assessment.models import Assessment, Finding, Severity
from jobs.operations.models import Operation
from workshop.keyboard.fields import KeyField

BECAUSE = (
    "the key does not return",
    "hammer or shank missing",
    "string missing",
    "another fault covers it",
    "no time today",
)
_DAY = {"required": "Write the day.", "invalid": "That is not a day. Write it as 2027-01-11, or 11/01/2027."}


class StartForm(forms.Form):
    """Where the instrument stands and in which air, before the first reading."""

    purpose = forms.ChoiceField(choices=Assessment.Purpose.choices, widget=forms.RadioSelect)
    on = forms.DateField(
        label="Day", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), error_messages=_DAY
    )
    where = forms.CharField(max_length=60, help_text="Bench, or the owner’s home: which room.")
    state_words = forms.CharField(
        label="State of the instrument",
        max_length=200,
        required=False,
        help_text="Strings on, action in, dampers held off …",
    )
    temperature_c = forms.DecimalField(
        label="Temperature, °C",
        required=False,
        max_digits=4,
        decimal_places=1,
        min_value=-1,
        max_value=60,
        help_text="Meter near the instrument, after ten minutes.",
    )
    humidity_percent = forms.DecimalField(
        label="Relative humidity, %", required=False, max_digits=4, decimal_places=1, min_value=0, max_value=100
    )

    def clean_on(self) -> Any:
        """Refuse a day still to come."""
        day = self.cleaned_data["on"]
        if day > timezone.localdate():
            raise forms.ValidationError("That day is still to come. Write the day of the readings.")
        return day


class EntryForm(forms.Form):
    """One reading: a value as it is typed, or a choice, or why there is none.

    Lengths are generous on purpose: the service says in a sentence what is too long, and what was typed stays.
    """

    key = forms.IntegerField(required=False, widget=forms.HiddenInput)
    spot = forms.CharField(required=False)
    kind = forms.CharField(required=False, widget=forms.HiddenInput)
    which = forms.ChoiceField(required=False, choices=list(SETS.items()), widget=forms.HiddenInput)
    value = forms.CharField(required=False)
    choice = forms.CharField(required=False)
    because = forms.CharField(required=False)
    own_words = forms.CharField(required=False)
    gauge = forms.CharField(required=False)
    remark = forms.CharField(required=False)


class NoteForm(forms.Form):
    """Another note, by name or number."""

    note = KeyField(error_messages={"required": "Write a note such as A4, or a key number such as 49."})


class ImportForm(forms.Form):
    """A table of readings, as a file or pasted."""

    MOST_BYTES = 2 * 1024 * 1024

    file = forms.FileField(
        label="CSV file", required=False, widget=forms.ClearableFileInput(attrs={"accept": ".csv,text/csv,text/plain"})
    )
    text = forms.CharField(
        label="or the lines themselves", required=False, strip=False, widget=forms.Textarea(attrs={"rows": 8})
    )

    def clean(self) -> dict[str, Any]:
        """Take the text out of the file when there is one. Refuses an empty or unreadable table."""
        super().clean()
        file = self.cleaned_data.get("file")
        if file is not None:
            self.cleaned_data["text"] = self._text_of(file)
        if not (self.cleaned_data.get("text") or "").strip() and not self.errors:
            self.add_error("file", "Choose a file, or paste the lines below.")
        return self.cleaned_data

    def _text_of(self, file: Any) -> str:
        if file.size > self.MOST_BYTES:
            self.add_error("file", "This file is larger than 2 MB; a table of readings is not. Look at what it is.")
            return ""
        try:
            return str(file.read().decode("utf-8-sig"))
        except UnicodeDecodeError:
            self.add_error("file", "This file is not text in UTF-8. Save it again as “CSV UTF-8”, or paste its lines.")
            return ""


class RemarkForm(forms.Form):
    """Something seen that no measure holds."""

    area = forms.CharField(label="Where", max_length=40, required=False)
    text = forms.CharField(
        label="Remark",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Write the remark first."},
    )


class FindingForm(forms.Form):
    """What the readings say, in a sentence an owner understands."""

    sentence = forms.CharField(
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="In words an owner understands.",
        error_messages={"required": "Write the finding in one sentence."},
    )
    severity = forms.ChoiceField(choices=Severity.choices, widget=forms.RadioSelect)
    certainty = forms.ChoiceField(choices=Finding.Certainty.choices, widget=forms.RadioSelect)
    why = forms.CharField(
        label="Why, and what it means", max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    operations = forms.ModelMultipleChoiceField(
        label="Work it calls for",
        queryset=Operation.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Tick as many as it takes; the list scrolls.",
    )

    def __init__(self, *args: Any, instrument_kind: str, **more: Any) -> None:
        super().__init__(*args, **more)
        field = self.fields["operations"]
        assert isinstance(field, forms.ModelMultipleChoiceField)
        chosen = self.get_initial_for_field(field, "operations") or ()
        field.queryset = (
            Operation.objects.filter(applies_to__in=("both", instrument_kind))
            .annotate(not_chosen=Case(When(pk__in=[each.pk for each in chosen], then=0), default=1))
            .order_by("not_chosen", "code")  # what is ticked stands at the head of a long list
        )


class PhotographForm(forms.Form):
    """A picture and what it shows."""

    picture = forms.FileField(
        label="Photograph",
        widget=forms.ClearableFileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
        help_text="JPEG, PNG or WebP. Place and time it was taken are removed.",
        error_messages={
            "required": "Choose a picture first.",
            "empty": "This file is empty. Choose the picture again.",
        },
    )
    caption = forms.CharField(label="What it shows", max_length=200, required=False)
    for_client = forms.BooleanField(label="the client may see it", required=False, initial=True)
