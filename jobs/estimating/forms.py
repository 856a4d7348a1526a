"""What the pages of learned norms take in."""

from typing import Any

from django import forms

from jobs.estimating.spreadsheets import MOST_BYTES, table_text
from workshop.web.errors import Refused


class KeepForm(forms.Form):
    """Why a norm stays as it is."""

    reason = forms.CharField(label="Why it stays", max_length=200)


class BringInForm(forms.Form):
    """A table of past hours, typed or as a file."""

    file = forms.FileField(
        label="File: a spreadsheet (.ods, .xlsx) or CSV",
        required=False,
        help_text="Of a spreadsheet its first sheet counts, with the values its formulas gave.",
        widget=forms.ClearableFileInput(attrs={"accept": ".ods,.xlsx,.csv,text/csv,text/plain"}),
    )
    text = forms.CharField(
        label="Or the table itself",
        required=False,
        strip=False,
        max_length=500_000,
        widget=forms.Textarea(attrs={"rows": 10}),
    )

    def clean(self) -> dict[str, Any]:
        """Take the file where there is one, as the CSV text it holds or would be."""
        data = super().clean() or {}
        file = data.get("file")
        if file is not None:
            try:
                data["text"] = table_text(file.read(MOST_BYTES + 1))
            except Refused as error:
                raise forms.ValidationError(str(error)) from error
        if not (data.get("text") or "").strip():
            raise forms.ValidationError("Choose a file or paste the table.")
        return data


class AcceptForm(forms.Form):
    """The figure that was read before it was taken."""

    likely = forms.DecimalField(max_digits=7, decimal_places=2, min_value=0)


class LeaveOutForm(forms.Form):
    """Why a log is not counted."""

    reason = forms.CharField(label="Why it is not counted", max_length=200)
