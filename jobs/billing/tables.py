"""The list of invoices."""

from typing import Any

from django.urls import reverse
from django.utils import timezone

from jobs.billing.models import Invoice
from workshop.web.tables import DayColumn, ListColumn, ListTable, MoneyColumn, StateColumn


def invoice_look(record: Any) -> tuple[str, str]:
    """Return mark and word of an invoice: paid, overdue, credited, to be paid back, or sent."""
    if record.still < 0:
        return "pin", "to be paid back"
    if record.kind == Invoice.Kind.CREDIT:
        return "struck", "credit"
    if not record.stands:
        return "struck", "credited"
    if record.still == 0:
        return "full", "paid"
    if record.due_on < timezone.localdate():
        return "wedge", "overdue"
    return "gone", "sent, to be paid"


class InvoiceTable(ListTable):
    """Invoices, newest first."""

    what = "Invoices"
    row_name = "to_name"
    note = "amounts with VAT"
    file_name = "invoices"
    nothing = "No invoice yet. The first is an assessment, or the deposit of an accepted quote."
    order_words = {
        "number": ("oldest first", "newest first"),
        "state": ("what is owed back first", "what is open first"),
    }

    number = ListColumn(verbose_name="No.", linkify=lambda record: reverse("invoice-show", args=[record.number]))
    to_name = ListColumn(verbose_name="To")
    instrument = ListColumn(accessor="instrument", order_by=("instrument_number",))
    kind = ListColumn()
    issued_on = DayColumn(verbose_name="Issued")
    due_on = DayColumn(verbose_name="Due", wide=True)
    total = MoneyColumn()
    paid = MoneyColumn(wide=True)
    state = StateColumn(look=invoice_look, order_by=("still", "number"))

    class Meta(ListTable.Meta):
        model = Invoice
        fields = ("number", "to_name", "instrument", "kind", "issued_on", "due_on", "total", "paid", "state")
        order_by = ("-number",)
