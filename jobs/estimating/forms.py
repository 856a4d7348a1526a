"""What the pages of learned norms take in."""

from django import forms


class KeepForm(forms.Form):
    """Why a norm stays as it is."""

    reason = forms.CharField(label="Why it stays", max_length=200)


class AcceptForm(forms.Form):
    """The figure that was read before it was taken."""

    likely = forms.DecimalField(max_digits=7, decimal_places=2, min_value=0)


class LeaveOutForm(forms.Form):
    """Why a log is not counted."""

    reason = forms.CharField(label="Why it is not counted", max_length=200)
