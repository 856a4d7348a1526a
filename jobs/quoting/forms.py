"""Input of quotes: letter and rates, words of a scope, amounts by hand, an answer kept by the manager."""

from decimal import Decimal
from typing import Any

from django import forms

from jobs.assessment.models import Assessment
from jobs.intake.models import Instrument
from jobs.operations.models import Stage
from jobs.quoting.models import Quote, ScopeCharge
from workshop.house.models import Shop

POUNDS = {"invalid": "Write pounds and pence in figures, 145.00 say."}
PERCENT = {"invalid": "Write a figure from 0 to 100, 20 for 20 %."}


class BeginForm(forms.Form):
    """Which instrument a new quote is for."""

    number = forms.IntegerField(label="New quote for instrument no.", min_value=1, max_value=999_999)


class QuoteStartForm(forms.Form):
    """A new quote: from which assessment, with which opening words."""

    assessment = forms.ModelChoiceField(
        Assessment.objects.none(), required=False, label="From the assessment", empty_label="none: I choose the work"
    )
    letter = forms.CharField(
        label="Opening words of the letter", widget=forms.Textarea(attrs={"rows": 6}), max_length=6000, required=False
    )

    def __init__(self, instrument: Instrument, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["assessment"]
        field.queryset = Assessment.objects.filter(instrument=instrument)  # type: ignore[attr-defined]
        field.label_from_instance = (  # type: ignore[attr-defined]
            lambda row: f"{row.get_purpose_display()}, {row.on:%-d %B %Y}"
        )


class QuoteForm(forms.Form):
    """The letter and the rates of a draft."""

    letter = forms.CharField(
        label="Opening words of the letter",
        widget=forms.Textarea(attrs={"rows": 8}),
        max_length=6000,
        help_text="“Dear …” comes before, findings and prices after. An empty line begins a new paragraph.",
    )
    vat_mode = forms.ChoiceField(
        label="Prices",
        choices=Shop.VatMode.choices,
        widget=forms.RadioSelect,
        help_text="Private clients are shown prices that include VAT.",
    )
    vat_percent = forms.DecimalField(
        label="VAT, %", min_value=0, max_value=100, max_digits=5, decimal_places=2, error_messages=PERCENT
    )
    hourly_rate = forms.DecimalField(
        label="Hourly rate, £ without VAT",
        min_value=Decimal("0.01"),
        max_digits=8,
        decimal_places=2,
        error_messages=POUNDS,
    )
    deposit_percent = forms.DecimalField(
        label="Deposit, % of the likely price",
        min_value=0,
        max_value=100,
        max_digits=5,
        decimal_places=2,
        error_messages=PERCENT,
    )


class ScopeWordsForm(forms.Form):
    """The words of one way."""

    title = forms.CharField(
        label="Name of this way", max_length=80, help_text="As the owner reads it: “Renew the action”, say."
    )
    notice = forms.CharField(
        label="What the owner would notice",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    stays_open = forms.CharField(
        label="What stays open", max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )


class ChargeForm(forms.Form):
    """An amount typed by hand."""

    kind = forms.ChoiceField(label="For", choices=ScopeCharge.Kind.choices, initial=ScopeCharge.Kind.OUTWORK)
    words = forms.CharField(label="In words, as the client reads it", max_length=200)
    stage = forms.ChoiceField(label="Stage", choices=[("", "none"), *Stage.choices], required=False)
    amount = forms.DecimalField(max_digits=9, decimal_places=2, min_value=Decimal("0.01"), error_messages=POUNDS)
    vat_percent = forms.DecimalField(
        label="VAT, %", min_value=0, max_value=100, max_digits=5, decimal_places=2, error_messages=PERCENT
    )

    def __init__(self, quote: Quote, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("initial", {"vat_percent": quote.vat_percent})
        super().__init__(*args, **kwargs)
        with_vat = quote.vat_mode == Shop.VatMode.GROSS
        self.fields["amount"].label = "Amount, £ with VAT" if with_vat else "Amount, £ without VAT"


class AnswerForm(forms.Form):
    """An answer that came by letter or telephone, kept by the manager."""

    DECLINED = "none"

    answer = forms.ChoiceField(label="The client", widget=forms.RadioSelect)
    name = forms.CharField(label="Who answered", max_length=120)
    via = forms.ChoiceField(
        label="How", choices=[("letter", "by letter"), ("telephone", "by telephone"), ("in person", "in person")]
    )
    words = forms.CharField(
        label="In their words", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, quote: Quote, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ways = [(str(scope.pk), f"accepts {scope.position}, {scope.title}") for scope in quote.scopes.all()]
        self.fields["answer"].choices = [*ways, (self.DECLINED, "declines")]  # type: ignore[attr-defined]
