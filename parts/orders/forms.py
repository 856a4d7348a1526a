"""Input checks for orders and what arrives."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django import forms

from parts.catalogue.models import Part, Supplier
from parts.catalogue.words import number_words
from parts.orders.models import OrderLine
from parts.orders.queries import LineState

_QUANTITY: dict[str, Any] = {"max_digits": 9, "decimal_places": 2, "min_value": Decimal("0.01")}
_PRICE: dict[str, Any] = {"max_digits": 9, "decimal_places": 2, "min_value": Decimal(0)}


class DraftForm(forms.Form):
    """A new order."""

    supplier = forms.ModelChoiceField(
        queryset=Supplier.objects.all(),
        empty_label="choose",
        error_messages={"required": "Choose who the order goes to."},
    )


class NoteForm(forms.Form):
    """What the supplier should know."""

    note = forms.CharField(
        label="Words to the supplier", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2})
    )


class LineForm(forms.Form):
    """One line of a draft."""

    part = forms.ModelChoiceField(
        queryset=Part.objects.all(), empty_label="choose", error_messages={"required": "Choose the part."}
    )
    quantity = forms.DecimalField(label="How much", **_QUANTITY)
    measure = forms.CharField(
        label="Measures", max_length=200, required=False, help_text="Sizes with units, as the supplier needs them."
    )
    price = forms.DecimalField(
        label="Price of one, without VAT",
        required=False,
        help_text="Empty: the price in the catalogue.",
        **_PRICE,
    )
    for_words = forms.CharField(
        label="For", max_length=120, required=False, help_text="For which instrument; empty for the shelf."
    )

    def __init__(self, *args: Any, supplier: Supplier, **options: Any) -> None:
        super().__init__(*args, **options)
        own = list(Part.objects.filter(supplier=supplier).values_list("pk", "name"))
        others = list(Part.objects.exclude(supplier=supplier).values_list("pk", "name"))
        field = self.fields["part"]
        field.choices = [("", "choose"), (f"from {supplier}", own), ("other parts", others)]  # type: ignore[attr-defined]


class LineChangeForm(forms.Form):
    """Changes of a line of a draft."""

    quantity = forms.DecimalField(label="How much", **_QUANTITY)
    measure = forms.CharField(label="Measures", max_length=200, required=False)
    price = forms.DecimalField(label="Price of one, without VAT", **_PRICE)
    for_words = forms.CharField(label="For", max_length=120, required=False)

    def __init__(self, *args: Any, line: OrderLine, **options: Any) -> None:
        options["initial"] = {name: getattr(line, name) for name in self.base_fields}
        super().__init__(*args, **options)
        needed = line.part.measure_needed
        self.fields["measure"].help_text = f"The supplier needs: {needed}." if needed else "Sizes with units, if any."
        self.fields["quantity"].help_text = f"Counted by: {line.part.unit}."


class ReceiptForm(forms.Form):
    """What arrived for one line."""

    quantity = forms.DecimalField(label="How much came", **_QUANTITY)
    on = forms.DateField(label="On", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    note = forms.CharField(label="Note", max_length=200, required=False)

    def __init__(self, *args: Any, state: LineState, today: dt.date, **options: Any) -> None:
        options["initial"] = {"quantity": number_words(state.outstanding).replace(",", ""), "on": today}
        options["auto_id"] = f"id_{state.line.pk}_%s"
        super().__init__(*args, **options)
        self.state = state
        self.fields["quantity"].help_text = f"Counted by: {state.line.part.unit}."


class CallOffForm(forms.Form):
    """Why the rest of an order is called off."""

    reason = forms.CharField(
        label="Why it is called off",
        max_length=200,
        help_text="The supplier reads it.",
        error_messages={"required": "Say in a few words why; the supplier reads it too."},
    )
