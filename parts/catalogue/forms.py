"""Input checks for parts, suppliers and the shelf."""

from decimal import Decimal
from typing import Any, cast

from django import forms

from parts.catalogue.models import Part, Supplier

_PLACES: dict[str, Any] = {"max_digits": 9, "decimal_places": 2}


class PartForm(forms.ModelForm):
    """A part of the catalogue."""

    class Meta:
        model = Part
        fields = [
            "name", "code", "unit", "kind", "measure_needed", "supplier", "price", "lead_days", "reorder_below",
            "shelf",
        ]  # fmt: skip
        labels = {
            "name": "Name, as it stands on an order",
            "code": "Short code",
            "unit": "Counted by",
            "measure_needed": "Measures an order must state",
            "price": "Price of one, without VAT",
            "lead_days": "Days from order to arrival",
            "reorder_below": "Order again when less than this lies there",
            "shelf": "Where it lies",
        }
        help_texts = {
            "code": "Letters, figures and hyphens, such as hammer-set. It stands in addresses.",
            "unit": "set, piece, m, m², kg, litre, lot …",
            "kind": "In a word: felt, wire, timber, material …",
            "measure_needed": "In words, such as “bore and tail length”. Empty if it comes in one size.",
            "lead_days": "Calendar days, as the supplier really takes.",
            "reorder_below": "In the unit above; 0 if none is kept.",
            "shelf": "Drawer, shelf or rack.",
        }
        error_messages = {"code": {"unique": "Another part has this code already; choose a different one."}}

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        cast(forms.ModelChoiceField, self.fields["supplier"]).empty_label = "nobody yet"

    def clean_reorder_below(self) -> Decimal:
        """Refuse a mark below nought."""
        mark: Decimal = self.cleaned_data["reorder_below"]
        if mark < 0:
            raise forms.ValidationError("The mark is a quantity: 0 or more.")
        return mark


class SupplierForm(forms.ModelForm):
    """Who sells parts."""

    class Meta:
        model = Supplier
        fields = ["name", "email", "address", "note"]
        labels = {"email": "E-mail for orders", "note": "Note"}
        help_texts = {
            "email": "Orders go there with the sheet attached. Empty if you order by telephone or letter.",
            "note": "Account number, who to ask for, least order …",
        }
        widgets = {"address": forms.Textarea(attrs={"rows": 3})}
        error_messages = {"name": {"unique": "There is a supplier of this name already."}}


class ShelfForm(forms.Form):
    """Something onto the shelf, or off it."""

    way = forms.ChoiceField(
        label="Which way",
        choices=[("out", "off the shelf"), ("in", "onto the shelf")],
        widget=forms.RadioSelect,
        initial="out",
    )
    quantity = forms.DecimalField(label="How much", min_value=Decimal("0.01"), **_PLACES)
    reason = forms.CharField(
        label="Why",
        max_length=120,
        help_text="counted, used on 212, broken, found …",
        error_messages={"required": "Say why in a few words, so that the shelf can be checked later."},
    )

    def __init__(self, *args: object, unit: str = "", **options: object) -> None:
        super().__init__(*args, **options)  # type: ignore[arg-type]
        self.fields["quantity"].help_text = f"Counted by: {unit}." if unit else ""

    @property
    def moved(self) -> Decimal:
        """The quantity with its sign: in is positive. Only for a valid form."""
        quantity: Decimal = self.cleaned_data["quantity"]
        return quantity if self.cleaned_data["way"] == "in" else -quantity
