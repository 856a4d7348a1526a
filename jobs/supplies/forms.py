"""Input checks for what jobs need."""

from typing import Any

from django import forms

from jobs.supplies.models import Need
from jobs.worklist.queries import open_jobs
from parts.catalogue.models import Supplier


class NeedsFilterForm(forms.Form):
    """What the list of needs can be narrowed to."""

    job = forms.ModelChoiceField(
        queryset=open_jobs(), required=False, empty_label="all instruments", label="Instrument"
    )
    supplier = forms.ModelChoiceField(queryset=Supplier.objects.all(), required=False, empty_label="all suppliers")


class MeasureForm(forms.Form):
    """The measured sizes of one need."""

    measure = forms.CharField(
        label="Measure",
        max_length=200,
        error_messages={"required": "Write the sizes with their units."},
    )

    def __init__(self, *args: Any, need: Need, **options: Any) -> None:
        options["initial"] = {"measure": need.measure}
        super().__init__(*args, **options)
        needed = need.part.measure_needed
        self.fields["measure"].help_text = f"The supplier needs: {needed}." if needed else "Sizes with units."


class DropForm(forms.Form):
    """Why something is not needed."""

    reason = forms.CharField(
        label="Why it is not needed",
        max_length=200,
        help_text="the old one is kept, taken from another job, agreed with the owner …",
        error_messages={"required": "Say in a few words why it is not needed any more."},
    )
