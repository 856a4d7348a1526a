"""Input checks for clients, instruments and enquiries."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from jobs.intake.models import Client, Instrument
from jobs.intake.queries import instruments_by_client
from workshop.keyboard.calc.notes import Compass
from workshop.keyboard.fields import KeyField, KeysField

EARLIEST_YEAR = 1700  # the first pianos; from memory


class ClientForm(forms.Form):
    """Who asks."""

    name = forms.CharField(max_length=120, error_messages={"required": "Write the client’s name."})
    salutation = forms.CharField(
        label="Dear …", max_length=120, required=False, help_text="How a letter begins; the name, if left empty."
    )
    email = forms.EmailField(
        label="E-mail",
        required=False,
        error_messages={"invalid": "That is not an e-mail address; it looks like name@place.example."},
    )
    phone = forms.CharField(label="Telephone", max_length=30, required=False)
    address = forms.CharField(max_length=600, required=False, widget=forms.Textarea(attrs={"rows": 3}))
    note = forms.CharField(
        label="Note for the workshop", max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )


class InstrumentFields(forms.Form):
    """What stands there, in the order in which it is looked at."""

    kind = forms.ChoiceField(
        choices=Instrument.Kind.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether it is a grand or an upright."},
    )
    maker = forms.CharField(label="Maker", max_length=80, required=False, help_text="The name on the fall.")
    year = forms.IntegerField(label="Year built", required=False, min_value=EARLIEST_YEAR)
    year_is_estimate = forms.BooleanField(label="the year is an estimate", required=False)
    size_cm = forms.IntegerField(
        label="Size, cm",
        required=False,
        min_value=50,
        max_value=400,
        help_text="Length of a grand, height of an upright.",
    )
    first_key = KeyField(label="First key", initial="A0", help_text="A note such as A0, or its number, 1.")
    last_key = KeyField(label="Last key", initial="C8", help_text="C8 is key 88, A7 is key 85.")
    last_wound_key = KeyField(
        label="Last key with wound strings", required=False, help_text="The break lies above it; for example E2."
    )
    bars_above = KeysField(
        label="Keys with a frame bar above them", required=False, help_text="Parted by commas; for example C4, F♯5."
    )
    finish = forms.CharField(max_length=80, required=False, help_text="French polish on walnut, polyester …")
    numbers = forms.CharField(
        max_length=200, required=False, help_text="Serial and other numbers, and where each one stands."
    )
    cautions = forms.CharField(
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Loose legs, ivory, listed timber, lead, old coatings: whoever handles it reads this first.",
    )
    note = forms.CharField(max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def clean_year(self) -> int | None:
        """Refuse a year still to come."""
        year: int | None = self.cleaned_data["year"]
        this_year = timezone.localdate().year
        if year is not None and year > this_year:
            raise ValidationError(
                f"{year} is still to come. Write the year it was built, {EARLIEST_YEAR} to {this_year}."
            )
        return year

    def clean(self) -> dict[str, Any]:
        """Refuse a compass no piano has, and a break or a bar outside it, each beside its own field."""
        super().clean()
        first, last = self.cleaned_data.get("first_key"), self.cleaned_data.get("last_key")
        if first is None or last is None:
            return self.cleaned_data
        try:
            compass = Compass(first, last)
        except ValueError as error:
            self.add_error("last_key", str(error))
            return self.cleaned_data
        wound = self.cleaned_data.get("last_wound_key")
        if wound is not None and wound not in compass:
            self.add_error("last_wound_key", f"The break must lie inside the compass, {compass.words()}.")
        if any(key not in compass for key in self.cleaned_data.get("bars_above") or ()):
            self.add_error("bars_above", f"Every bar must lie inside the compass, {compass.words()}.")
        return self.cleaned_data


class ClientChoice(forms.ModelChoiceField):
    """An existing client."""

    def label_from_instance(self, client: Any) -> str:
        """Show the name, and the e-mail address to tell two of a name apart."""
        return f"{client.name} ({client.email})" if client.email else str(client.name)


class InstrumentChoice(forms.ModelChoiceField):
    """An existing instrument."""

    def label_from_instance(self, instrument: Any) -> str:
        """Show number, words and owner."""
        return f"{instrument.number} {instrument.words} · {instrument.client}"


class InstrumentForm(InstrumentFields):
    """An instrument and its owner."""

    client = ClientChoice(
        Client.objects.all(), empty_label="choose …", error_messages={"required": "Choose whose instrument it is."}
    )
    field_order = ["client"]


class EnquiryForm(forms.Form):
    """What the owner hopes for, and about which instrument."""

    aim = forms.CharField(
        label="What the owner hopes for, in the owner’s words",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Write what the owner hopes for, in the owner’s own words."},
    )
    received_on = forms.DateField(
        label="Received on",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={
            "required": "Write the day the enquiry came.",
            "invalid": "That is not a day. Write it as 2027-01-11, or 11/01/2027.",
        },
    )
    client = ClientChoice(Client.objects.all(), required=False, empty_label="a new client, written below")
    instrument = InstrumentChoice(
        instruments_by_client(),
        required=False,
        empty_label="a new instrument, written below",
        help_text="A known instrument brings its owner with it.",
    )

    def clean_received_on(self) -> Any:
        """Refuse a day still to come."""
        day = self.cleaned_data["received_on"]
        if day > timezone.localdate():
            raise ValidationError("That day is still to come. Write the day the enquiry came.")
        return day


class DeclineForm(forms.Form):
    """What the owner is told when the work is not taken on."""

    words = forms.CharField(
        label="What you tell the owner",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="It stays with the enquiry. Nothing is sent from here.",
        error_messages={"required": "Write what you tell the owner; it stays with the enquiry."},
    )
