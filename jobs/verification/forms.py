"""Input checks for targets and the proof."""

from typing import Any

from django import forms

from jobs.assessment.models import Measure, SpotKind
from jobs.verification.models import Target
from jobs.worklist.models import Job

A_NUMBER = "Write a number such as 54 or 0.5, without the unit."


class TargetForm(forms.Form):
    """The target of one measure."""

    measure = forms.ModelChoiceField(
        queryset=Measure.objects.none(),
        empty_label="choose",
        error_messages={
            "required": "Choose a measure.",
            "invalid_choice": "Choose a measure that is read note by note on this instrument.",
        },
    )
    low = forms.DecimalField(
        label="At least", required=False, max_digits=10, decimal_places=3, error_messages={"invalid": A_NUMBER}
    )
    high = forms.DecimalField(
        label="At most",
        required=False,
        max_digits=10,
        decimal_places=3,
        error_messages={"invalid": A_NUMBER},
        help_text="In the unit of the measure. One of the two may stay empty.",
    )
    why = forms.CharField(label="Why", max_length=120, error_messages={"required": "Say in a few words why."})

    def __init__(self, job: Job, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fits = ("both", job.instrument.kind)
        numbers = Measure.objects.filter(value_kind=Measure.ValueKind.NUMBER, applies_to__in=fits)
        noted = [measure.pk for measure in numbers if SpotKind.NOTE in measure.spot_kinds]
        self.fields["measure"].queryset = numbers.filter(pk__in=noted)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Refuse limits the wrong way round."""
        data = super().clean() or {}
        low, high = data.get("low"), data.get("high")
        if low is not None and high is not None and low > high:
            self.add_error("high", "The upper limit lies below the lower one: change one of the two.")
        return data


def target_initial(target: Target | None) -> dict[str, Any]:
    """Return what the form begins with when a target is changed: its measure and limits, without idle noughts."""
    if target is None:
        return {}
    low, high = (None if one is None else f"{one.normalize():f}" for one in (target.low, target.high))
    return {"measure": target.measure, "low": low, "high": high}


class SignForm(forms.Form):
    """The words a proof is signed with."""

    words = forms.CharField(
        label="Words to the owner",
        widget=forms.Textarea(attrs={"rows": 4}),
        max_length=3000,
        required=False,
        help_text="What was achieved, what stays, how to care for it.",
    )
