"""The list of quotes."""

from typing import Any

from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from jobs.intake.addresses import record_address
from jobs.quoting.models import Quote
from workshop.web.tables import DayColumn, ListColumn, ListTable, MoneyColumn, NumberColumn, StateColumn

LOOKS = {
    Quote.State.DRAFT: "pencil",
    Quote.State.SENT: "gone",
    Quote.State.ACCEPTED: "full",
    Quote.State.DECLINED: "struck",
    Quote.State.LAPSED: "struck",
}


def quote_look(quote: Any) -> tuple[str, str]:
    """Return the mark and word of a quote's state; a client who wants to talk and a day gone by come first."""
    if getattr(quote, "asks", False):
        return "pin", "asks you"
    if quote.state == Quote.State.SENT and quote.valid_until < timezone.localdate():
        return "wedge", "answer overdue"
    return LOOKS[quote.state], str(quote.get_state_display())


def hours_range(low: Any, high: Any) -> str:
    """Return whole hours of the least and the most of the ways, "105" or "105–218"."""
    if low is None or high is None:
        return ""
    first, last = f"{low:.0f}", f"{high:.0f}"
    return first if first == last else f"{first}–{last}"


class QuoteTable(ListTable):
    """Quotes, newest first."""

    what = "Quotes"
    row_name = "instrument"
    note = "prices with VAT"
    file_name = "quotes"
    nothing = "No quote yet. Begin one from an instrument: its number is all it takes."
    order_words = {"number": ("oldest first", "newest first"), "valid_until": ("due first", "due last")}

    number = ListColumn(verbose_name="No.", linkify=lambda record: reverse("quote-show", args=[record.number]))
    instrument = ListColumn(order_by=("instrument__number",))
    client = ListColumn(accessor="instrument__client", order_by=("instrument__client__name",))
    ways = NumberColumn(verbose_name="Ways", wide=True)
    price_from = MoneyColumn(verbose_name="From", pence=False)
    price_to = MoneyColumn(verbose_name="To", pence=False)
    hours_to = NumberColumn(verbose_name="Likely h", wide=True, order_by=("hours_to", "hours_from"))
    sent_at = DayColumn(verbose_name="Sent", wide=True)
    valid_until = DayColumn(verbose_name="Answer by")
    home_from = DayColumn(verbose_name="Home from", wide=True)
    state = StateColumn(look=quote_look)

    class Meta(ListTable.Meta):
        model = Quote
        fields = (
            "number",
            "instrument",
            "client",
            "ways",
            "price_from",
            "price_to",
            "hours_to",
            "sent_at",
            "valid_until",
            "home_from",
            "state",
        )
        order_by = ("-number",)

    def render_instrument(self, record: Any) -> SafeString:
        """Return number and words, the number leading to the record."""
        instrument = record.instrument
        return format_html('<a href="{}">{}</a> {}', record_address(instrument), instrument.number, instrument.words)

    def value_instrument(self, record: Any) -> str:
        """Return number and words."""
        return f"{record.instrument.number} {record.instrument.words}"

    def render_hours_to(self, record: Any) -> str:
        """Return the likely hours of the least and the most of the ways."""
        return hours_range(record.hours_from, record.hours_to)

    def value_hours_to(self, record: Any) -> str:
        """Return the same."""
        return hours_range(record.hours_from, record.hours_to)
