"""Input checks for the shop, its places and closures."""

from decimal import Decimal
from typing import Any, cast

from django import forms

from workshop.calendar.holidays import public_holidays
from workshop.calendar.models import Closure
from workshop.house.models import Shop
from workshop.people.forms import WeekdaysField
from workshop.places.models import Place

_PERCENT = "Write a figure from 0 to 100: 20 for 20 per cent."
_DAYS = "Write one day at least, and no more than ten years."
_LIMITS = (
    ("hourly_rate", Decimal("0.01"), Decimal(9999), "An hour costs something: write an amount above nought."),
    ("assessment_price", Decimal("0.01"), Decimal(99999), "Write an amount above nought, or leave it empty."),
    ("parts_markup_percent", 0, Decimal("999.99"), "Write nought or more: 15 adds 15 per cent."),
    ("vat_percent", 0, 100, _PERCENT),
    ("deposit_percent", 0, 100, _PERCENT),
    ("quote_valid_days", 1, 3650, _DAYS),
    ("link_valid_days", 1, 3650, _DAYS),
)


class ShopForm(forms.ModelForm):
    """The shop's own row."""

    workdays = WeekdaysField(label="Open on", error_messages={"required": "The shop opens on one day at least."})

    class Meta:
        model = Shop
        fields = [
            "name", "street", "town", "postcode", "email", "phone", "vat_number", "opens", "closes", "slot_minutes",
            "workdays", "country", "subdivision", "hourly_rate", "assessment_price", "parts_markup_percent",
            "vat_percent", "vat_mode", "deposit_percent", "quote_valid_days", "link_valid_days",
        ]  # fmt: skip
        labels = {
            "email": "E-mail",
            "phone": "Telephone",
            "vat_number": "VAT number",
            "slot_minutes": "Step of the plan, minutes",
            "country": "Country, two letters",
            "subdivision": "Part of the country",
            "hourly_rate": "Labour, £ an hour",
            "assessment_price": "Price of an assessment, £",
            "parts_markup_percent": "Added to the price of parts, per cent",
            "vat_percent": "VAT, per cent",
            "vat_mode": "Prices",
            "deposit_percent": "Deposit, per cent",
            "quote_valid_days": "A quote holds, days",
            "link_valid_days": "A client’s link opens, days",
        }
        help_texts = {
            "hourly_rate": "Before VAT.",
            "assessment_price": "With VAT. Left empty: by its hours, at the rate.",
            "country": "ISO 3166: GB.",
            "subdivision": "For its holidays: ENG, WLS, SCT or NIR.",
        }
        widgets = {
            "opens": forms.TimeInput(attrs={"type": "time"}),
            "closes": forms.TimeInput(attrs={"type": "time"}),
        }

    def clean(self) -> dict[str, Any]:
        """Refuse a day that ends before it begins, and a country whose holidays nobody knows."""
        data = super().clean() or {}
        if data.get("opens") and data.get("closes") and data["closes"] <= data["opens"]:
            self.add_error("closes", "The shop closes before it opens: change one of the two.")
        if not 5 <= (data.get("slot_minutes") or 0) <= 60:
            self.add_error("slot_minutes", "A step between 5 and 60 minutes works; 30 is usual.")
        for name, least, most, sentence in _LIMITS:
            value = data.get(name)
            if value is not None and not least <= value <= most:
                self.add_error(name, sentence)
        try:
            public_holidays(data.get("country", ""), data.get("subdivision", ""), [2027])
        except ValueError as error:
            self.add_error("subdivision", str(error))
        return data


class PlaceForm(forms.ModelForm):
    """A bench, floor place or spray room."""

    class Meta:
        model = Place
        fields = ["kind", "name", "holds", "in_use"]
        labels = {"holds": "How many at a time", "in_use": "in use"}
        help_texts = {"holds": ""}

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        cast(forms.ChoiceField, self.fields["kind"]).choices = [("", "choose"), *Place.Kind.choices]

    def clean_holds(self) -> int:
        """Refuse a place that holds nothing."""
        holds: int = self.cleaned_data["holds"]
        if holds < 1:
            raise forms.ValidationError("A place holds one at least. If nothing may stand there, take it out of use.")
        return holds


class ClosureForm(forms.ModelForm):
    """Days the shop is shut."""

    class Meta:
        model = Closure
        fields = ["first_day", "last_day", "reason"]
        labels = {"first_day": "First day shut", "last_day": "Last day shut"}
        widgets = {
            "first_day": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "last_day": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }

    def clean(self) -> dict[str, Any]:
        """Refuse days that end before they begin."""
        data = super().clean() or {}
        first, last = data.get("first_day"), data.get("last_day")
        if first and last and last < first:
            self.add_error("last_day", "The last day lies before the first: change one of the two.")
        return data
