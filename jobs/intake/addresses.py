"""Where an instrument is to be looked at."""

from django.urls import NoReverseMatch, reverse

from jobs.intake.models import Instrument


def record_address(instrument: Instrument) -> str:
    """Return the address of the instrument's record; of its change page while there is no record page."""
    try:
        return reverse("desk-instrument", args=[instrument.number])
    except NoReverseMatch:
        return reverse("instrument-change", args=[instrument.number])
