"""Input checks for promises."""

from decimal import Decimal
from typing import Any

from django import forms

from jobs.scheduling.models import JobEnd


class PromiseForm(forms.Form):
    """A date given to a client.

    Where the plan's futures know how sure a date is, nobody is asked: the chance is theirs.
    """

    date = forms.DateField(
        label="The date",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": "Write the date you give.", "invalid": "Write the day as a date."},
    )
    chance = forms.TypedChoiceField(
        label="How sure",
        required=False,
        coerce=Decimal,
        empty_value=None,
        choices=[("", "not said"), ("0.5", "5 in 10"), ("0.8", "8 in 10"), ("0.9", "9 in 10")],
    )
    reason = forms.CharField(
        label="Why this date; why it moves",
        max_length=200,
        required=False,
        help_text="The client reads it when a date moves.",
    )

    def __init__(self, *args: Any, end: JobEnd | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.end = end
        if end is not None and end.day_80 is not None:
            del self.fields["chance"]

    def clean(self) -> dict[str, Any]:
        """Take the chance of the date from the plan where it has one."""
        entered: dict[str, Any] = super().clean() or self.cleaned_data
        if self.end is not None and "chance" not in self.fields and entered.get("date"):
            entered["chance"] = self.end.chance_by(entered["date"])
        return entered
