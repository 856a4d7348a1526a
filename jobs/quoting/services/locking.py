"""Holding a quote while it is changed: one writer at a time, and only a draft may change."""

from django.utils import timezone

from jobs.intake.models import Instrument
from jobs.quoting.models import Quote
from workshop.calendar.words import day_words_year
from workshop.web.errors import Refused


def quote_held(quote: Quote) -> Quote:
    """Return the quote as the database has it now, its row locked until the transaction ends."""
    return Quote.objects.select_for_update(of=("self",)).select_related("instrument__client").get(pk=quote.pk)


def instrument_held(quote: Quote) -> None:
    """Lock the quote's instrument, so that its quotes are sent one after the other. Always before the quote itself."""
    Instrument.objects.select_for_update().get(pk=quote.instrument_id)


def draft_held(quote: Quote) -> Quote:
    """Return the locked quote if it is a draft. Raises Refused when it was sent."""
    row = quote_held(quote)
    if row.state != Quote.State.DRAFT:
        when = f" on {day_words_year(timezone.localdate(row.sent_at))}" if row.sent_at else ""
        raise Refused(
            f"Quote {row.number} was sent{when} and stays as it was read. Copy it into a new quote and change that one."
        )
    return row
