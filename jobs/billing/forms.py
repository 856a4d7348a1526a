"""Input checks for payments and credits."""

from decimal import Decimal

from django import forms
from django.utils import timezone

from jobs.billing.models import Payment


class PaymentForm(forms.Form):
    """Money that arrived."""

    amount = forms.DecimalField(
        label="Amount, £",
        min_value=Decimal("0.01"),
        max_digits=10,
        decimal_places=2,
        error_messages={"invalid": "Write the amount as 1240.00.", "required": "Write the amount that arrived."},
    )
    on = forms.DateField(
        label="Day", initial=timezone.localdate, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    method = forms.ChoiceField(label="How", choices=Payment.Method.choices)
    note = forms.CharField(max_length=120, required=False)


class AssessmentForm(forms.Form):
    """What an assessment costs on its own."""

    amount = forms.DecimalField(
        label="Amount, £, with VAT",
        min_value=Decimal("0.01"),
        max_digits=8,
        decimal_places=2,
        error_messages={"invalid": "Write the amount as 145.00.", "required": "Write what the assessment costs."},
    )


class CreditForm(forms.Form):
    """Why an invoice is taken back."""

    reason = forms.CharField(
        label="Why it is taken back",
        max_length=150,
        error_messages={"required": "Say why; it is printed on the credit."},
    )
