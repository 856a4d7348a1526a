"""Input of quotes: letter and rates, words of a scope, amounts by hand, an answer kept by the manager."""

from decimal import Decimal
from typing import Any

from django import forms

from jobs.assessment.models import Assessment
from jobs.intake.models import Instrument
from jobs.operations.models import Stage
from jobs.quoting.models import Quote, ScopeCharge
from jobs.quoting.queries import assessments_to_quote
from workshop.calendar.words import day_words_year
from workshop.house.models import Shop

POUNDS = {"invalid": "Write pounds and pence in figures, 145.00 say."}
PERCENT = {"invalid": "Write a figure from 0 to 100, 20 for 20 %."}


class BeginForm(forms.Form):
    """Which instrument a new quote is for."""

    number = forms.IntegerField(label="Instrument no.", min_value=1, max_value=999_999)


class AssessmentField(forms.ModelChoiceField):
    """An assessment by purpose, day and what it found."""

    def label_from_instance(self, obj: Any) -> str:
        """Return purpose, day and the number of findings that were kept, short enough for a phone."""
        found = f"{obj.kept or 'no'} finding{'' if obj.kept == 1 else 's'}"
        state = "" if obj.finished_at else ", not finished"
        return f"{obj.get_purpose_display().capitalize()}, {day_words_year(obj.on)}: {found}{state}"


class QuoteStartForm(forms.Form):
    """A new quote: from which assessment, with which opening words."""

    assessment = AssessmentField(
        Assessment.objects.none(),
        required=False,
        label="Work proposed by the assessment",
        empty_label="none: I choose the work",
        help_text="Its kept findings choose the work of the first way; you change it as you like.",
    )
    letter = forms.CharField(
        label="Opening words of the letter",
        widget=forms.Textarea(attrs={"rows": 5}),
        max_length=6000,
        required=False,
        help_text="Left empty, it opens with the usual words. They can be changed until the quote is frozen.",
    )

    def __init__(self, instrument: Instrument, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["assessment"].queryset = assessments_to_quote(instrument)  # type: ignore[attr-defined]


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


def charge_typed(charge: ScopeCharge, quote: Quote) -> dict[str, Any]:
    """Return what stands in the form of an amount that is there, on the side the quote is priced in."""
    amount = charge.gross if quote.vat_mode == Shop.VatMode.GROSS else charge.net
    names = ("kind", "words", "stage", "vat_percent")
    return {"amount": amount, **{name: getattr(charge, name) for name in names}}


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
