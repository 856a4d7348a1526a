"""What the pages of learned norms take in."""

from typing import Any

from django import forms


class KeepForm(forms.Form):
    """Why a norm stays as it is."""

    reason = forms.CharField(label="Why it stays", max_length=200)


class BringInForm(forms.Form):
    """A table of past hours, typed or as a file."""

    file = forms.FileField(
        label="CSV file", required=False, widget=forms.ClearableFileInput(attrs={"accept": ".csv,text/csv,text/plain"})
    )
    text = forms.CharField(
        label="Or the table itself",
        required=False,
        strip=False,
        max_length=500_000,
        widget=forms.Textarea(attrs={"rows": 10}),
    )

    def clean(self) -> dict[str, Any]:
        """Take the file where there is one; it is read as UTF-8."""
        data = super().clean() or {}
        file = data.get("file")
        if file is not None:
            if file.size > 1_000_000:
                raise forms.ValidationError("The file is larger than 1 MB: bring it in in parts.")
            try:
                data["text"] = file.read().decode("utf-8-sig")
            except UnicodeDecodeError:
                raise forms.ValidationError("The file is no text in UTF-8: save it as CSV, UTF-8.") from None
        if not (data.get("text") or "").strip():
            raise forms.ValidationError("Choose a file or paste the table.")
        return data


class AcceptForm(forms.Form):
    """The figure that was read before it was taken."""

    likely = forms.DecimalField(max_digits=7, decimal_places=2, min_value=0)


class LeaveOutForm(forms.Form):
    """Why a log is not counted."""

    reason = forms.CharField(label="Why it is not counted", max_length=200)
