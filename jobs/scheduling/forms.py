"""Input checks for promises."""

from decimal import Decimal

from django import forms


class PromiseForm(forms.Form):
    """A date given to a client."""

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
