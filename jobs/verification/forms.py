"""Input checks for targets and the proof."""

from typing import Any

from django import forms

from jobs.assessment.models import Measure
from jobs.worklist.models import Job


class TargetForm(forms.Form):
    """The target of one measure."""

    measure = forms.ModelChoiceField(queryset=Measure.objects.none(), error_messages={"required": "Choose a measure."})
    low = forms.DecimalField(label="At least", required=False, max_digits=10, decimal_places=3)
    high = forms.DecimalField(label="At most", required=False, max_digits=10, decimal_places=3)
    why = forms.CharField(label="Why", max_length=120, error_messages={"required": "Say in a few words why."})

    def __init__(self, job: Job, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fits = ("both", job.instrument.kind)
        self.fields["measure"].queryset = Measure.objects.filter(  # type: ignore[attr-defined]
            value_kind=Measure.ValueKind.NUMBER, applies_to__in=fits
        )

    def clean(self) -> dict[str, Any]:
        """Refuse limits the wrong way round."""
        data = super().clean() or {}
        low, high = data.get("low"), data.get("high")
        if low is not None and high is not None and low > high:
            self.add_error("high", "The upper limit lies below the lower one: change one of the two.")
        return data


class SignForm(forms.Form):
    """The words a proof is signed with."""

    words = forms.CharField(
        label="Words to the owner",
        widget=forms.Textarea(attrs={"rows": 4}),
        max_length=3000,
        required=False,
        help_text="What was achieved, what stays, how to care for it.",
    )
