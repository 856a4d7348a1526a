"""Input checks for norms."""

from decimal import Decimal

from django import forms

HOURS = {"min_value": Decimal("0.01"), "max_value": Decimal(9999), "max_digits": 7, "decimal_places": 2}


class NormForm(forms.Form):
    """The workshop's own hours for one unit of an operation."""

    hours_low = forms.DecimalField(label="Low, hours", **HOURS)  # type: ignore[arg-type]
    hours_likely = forms.DecimalField(label="Likely, hours", **HOURS)  # type: ignore[arg-type]
    hours_high = forms.DecimalField(label="High, hours", **HOURS)  # type: ignore[arg-type]
    reason = forms.CharField(label="Why", max_length=120, error_messages={"required": "Say why the norm changes."})
