"""Expected arrivals as a calendar feed."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal

import icalendar

from parts.catalogue.words import amount_words
from parts.orders.models import OrderLine

PRODUCT = "-//Wrestplank//expected parts//EN"


def arrivals_calendar(lines: Iterable[OrderLine], *, domain: str, at: dt.datetime) -> bytes:
    """Return order lines still awaited as an iCalendar file (RFC 5545): one whole-day event a line.

    Each line needs ``expected_on`` and ``arrived`` (how much is here already, in the part's unit); ``domain`` ends
    the identifiers, which stay the same from one reading to the next.
    """
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", "Parts expected")
    for line in lines:
        calendar.add_component(_event(line, domain, at))
    return bytes(calendar.to_ical())


def _event(line: OrderLine, domain: str, at: dt.datetime) -> icalendar.Event:
    arrived: Decimal = getattr(line, "arrived", Decimal(0))
    event = icalendar.Event()
    event.add("uid", f"order-line-{line.pk}@{domain}")
    event.add("dtstamp", at.astimezone(dt.UTC))
    event.add("dtstart", line.expected_on)
    awaited = amount_words(line.quantity - arrived, line.part.unit)
    event.add("summary", f"{line.name}, {awaited}, from {line.order.supplier.name}")
    words = [f"Order {line.order.number}", f"for {line.for_words}" if line.for_words else "", line.measure]
    event.add("description", "\n".join(word for word in words if word))
    event.add("transp", "TRANSPARENT")
    return event
