"""Lists of clients and enquiries."""

from typing import Any

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from jobs.intake.models import Client, Enquiry
from workshop.web.tables import DayColumn, ListColumn, ListTable, NumberColumn, StateColumn

ENQUIRY_LOOKS = {Enquiry.State.OPEN: "pin", Enquiry.State.ASSESSING: "half", Enquiry.State.DECLINED: "struck"}


class ClientTable(ListTable):
    """Clients by name."""

    what = "Clients"
    file_name = "clients"
    nothing = "No client yet. The first enquiry brings one."

    name = ListColumn(linkify=lambda record: reverse("client-show", args=[record.pk]))
    email = ListColumn(verbose_name="E-mail")
    phone = ListColumn(verbose_name="Telephone")
    address = ListColumn(wide=True)
    instruments_count = NumberColumn(verbose_name="Instruments")
    last_enquiry = DayColumn(verbose_name="Last enquiry", wide=True)

    class Meta(ListTable.Meta):
        model = Client
        fields = ("name", "email", "phone", "address", "instruments_count", "last_enquiry")
        order_by = ("name",)


class EnquiryTable(ListTable):
    """Enquiries, newest first."""

    what = "Enquiries"
    row_name = "client"
    file_name = "enquiries"
    nothing = "No enquiry yet."
    row_head = "received_on"
    order_words = {"received_on": ("oldest first", "newest first")}

    received_on = DayColumn(verbose_name="Received")
    client = ListColumn(
        accessor="instrument__client",
        order_by=("instrument__client__name",),
        linkify=lambda record: reverse("client-show", args=[record.instrument.client_id]),
    )
    instrument = ListColumn(order_by=("instrument__number",))
    aim = ListColumn(verbose_name="Hopes for", orderable=False)
    state = StateColumn(look=lambda record: (ENQUIRY_LOOKS[record.state], record.get_state_display()))
    answer = ListColumn(empty_values=(), orderable=False, exclude_from_export=True)

    class Meta(ListTable.Meta):
        model = Enquiry
        fields = ("received_on", "client", "instrument", "aim", "state", "answer")
        order_by = ("-received_on",)

    def render_instrument(self, record: Any) -> SafeString:
        """Return number and words, leading to the record."""
        from jobs.intake.addresses import record_address

        instrument = record.instrument
        return format_html('<a href="{}">{}</a> {}', record_address(instrument), instrument.number, instrument.words)

    def value_instrument(self, record: Any) -> str:
        """Return number and words."""
        return f"{record.instrument.number} {record.instrument.words}"

    def render_answer(self, record: Any) -> SafeString:
        """Return the two answers an open enquiry can have."""
        if record.state != Enquiry.State.OPEN:
            return SafeString("")
        return format_html(
            '<a href="{}">assess</a> or <a href="{}">decline</a>',
            reverse("assessment-start", args=[record.instrument.number]),
            reverse("enquiry-decline", args=[record.pk]),
        )
