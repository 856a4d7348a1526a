"""Input checks for hours."""

import datetime as dt
from typing import Any

from django import forms
from django.utils import timezone

from workshop.people.models import Person


class EnterForm(forms.Form):
    """Hours entered by hand."""

    on = forms.DateField(
        label="Day",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        initial=timezone.localdate,
        error_messages={"invalid": "Write the day as a date, such as 2027-01-11.", "required": "Write the day."},
    )
    hours = forms.IntegerField(label="Hours", min_value=0, max_value=24, required=False, initial=0)
    minutes = forms.IntegerField(label="Minutes", min_value=0, max_value=59, required=False, initial=0)
    note = forms.CharField(max_length=200, required=False, help_text="Only if somebody will want to know.")
    client_key = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def clean(self) -> dict[str, Any]:
        """Add hours and minutes up."""
        data = super().clean() or {}
        total = (data.get("hours") or 0) * 60 + (data.get("minutes") or 0)
        if not self.errors and total == 0:
            self.add_error("hours", "Write how long it took: hours, minutes or both.")
        data["total"] = total
        return data


class HouseForm(EnterForm):
    """Hours no task stands for; the manager says whose they were."""

    person = forms.ModelChoiceField(
        label="Who", queryset=Person.objects.none(), empty_label=None, error_messages={"required": "Say whose hours."}
    )
    field_order = ["person"]

    def __init__(self, *args: Any, by: Person, **more: Any) -> None:
        super().__init__(*args, **more)
        if by.is_manager:
            people: Any = self.fields["person"]
            people.queryset = Person.objects.filter(is_active=True).order_by("first_name")
        else:
            del self.fields["person"]


class TakeBackForm(forms.Form):
    """Why there was no such time."""

    reason = forms.CharField(label="There was no such time, because …", max_length=200)


class WorkedForm(forms.Form):
    """How long a forgotten clock really ran."""

    hours = forms.IntegerField(
        label="Hours", min_value=0, max_value=48, required=False, error_messages={"invalid": "Write whole hours, or 0."}
    )
    minutes = forms.IntegerField(
        label="Minutes", min_value=0, max_value=59, required=False, error_messages={"invalid": "Write whole minutes."}
    )

    @property
    def total(self) -> int:
        """Return the minutes worked."""
        return (self.cleaned_data.get("hours") or 0) * 60 + (self.cleaned_data.get("minutes") or 0)


class CorrectForm(forms.Form):
    """A correction of an entry."""

    on = forms.DateField(
        label="Day",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        required=False,
        error_messages={"invalid": "Write the day as a date, such as 2027-01-11."},
    )
    hours = forms.IntegerField(label="Hours", min_value=0, max_value=24, required=False)
    minutes = forms.IntegerField(label="Minutes", min_value=0, max_value=59, required=False)
    reason = forms.CharField(
        label="Why", max_length=200, error_messages={"required": "Say in a few words why the time is corrected."}
    )

    @property
    def total(self) -> int:
        """Return the corrected minutes."""
        return (self.cleaned_data.get("hours") or 0) * 60 + (self.cleaned_data.get("minutes") or 0)


class CloseForm(forms.Form):
    """Closing a task."""

    no_hours_because = forms.CharField(
        label="No hours were needed, because …", max_length=200, required=False, help_text="Only where none are logged."
    )
    first_time = forms.BooleanField(
        label="Somebody did this for the first time",
        required=False,
        help_text="Learning takes longer: the hours count for the job, and the norm does not learn from them.",
    )


class LeftForm(forms.Form):
    """Hours still to work."""

    hours = forms.DecimalField(
        label="Hours still to work",
        min_value=0,
        max_value=1000,
        max_digits=6,
        decimal_places=2,
        error_messages={
            "invalid": "Write the hours still to work as a number, such as 2.5.",
            "required": "Write the hours still to work as a number, such as 2.5.",
        },
    )


def start_of(minutes: int | None, on: dt.date) -> dict[str, Any]:
    """Return the first values of a correction form."""
    total = minutes or 0
    return {"hours": total // 60, "minutes": total % 60, "on": on}
