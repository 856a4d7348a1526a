"""Input checks for ordinary ranges."""

from typing import Any

from django import forms


class RangeForm(forms.Form):
    """What is ordinary here for one measure on one kind and era of instrument."""

    low = forms.DecimalField(label="At least", required=False, max_digits=10, decimal_places=3)
    high = forms.DecimalField(label="At most", required=False, max_digits=10, decimal_places=3)
    why = forms.CharField(
        label="Why, or where it stands written",
        max_length=150,
        error_messages={"required": "Say where the range comes from."},
    )

    def clean(self) -> dict[str, Any]:
        """Refuse limits the wrong way round, or none at all."""
        data = super().clean() or {}
        low, high = data.get("low"), data.get("high")
        if low is None and high is None and not self.errors:
            self.add_error("low", "A range needs a lower limit, an upper limit or both.")
        if low is not None and high is not None and low > high:
            self.add_error("high", "The upper limit lies below the lower one: change one of the two.")
        return data
