"""Payments: what arrived, what was paid back, what was carried over from one paper to another."""

import datetime as dt
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import still_of
from workshop.money.words import money
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def payment_keep(
    *, invoice: Invoice, amount: Decimal, on: dt.date, method: str, by: Person, at: dt.datetime, note: str = ""
) -> Payment:
    """Keep a payment on an invoice; where money is to be paid back, a repayment, kept as a negative amount.

    Raises Refused for nothing, for more than is open, on an invoice taken back, or for a day that is still to come.
    """
    invoice = Invoice.objects.select_for_update().get(pk=invoice.pk)
    still = still_of(invoice)
    if not invoice.stands:
        raise Refused(f"Invoice {invoice.number} was credited: keep the payment on the invoice that took its place.")
    if amount <= 0:
        raise Refused("A payment is more than nothing: write the amount that arrived, such as 1240.00.")
    if amount > abs(still):
        raise Refused(
            f"{money(amount)} is more than the {money(abs(still))} still open on invoice {invoice.number}. "
            "Keep what belongs to this invoice, and the rest on the next one."
        )
    if on > timezone.localdate(at):
        raise Refused("The day of a payment cannot be in the future.")
    return _keep(
        Payment(
            invoice=invoice,
            amount=amount if still > 0 else -amount,
            on=on,
            method=method,
            kept_by=by,
            kept_at=at,
            note=note.strip(),
        )
    )


@transaction.atomic
def payment_carry(*, credit: Invoice, invoice: Invoice, by: Person, at: dt.datetime) -> Payment:
    """Carry what is to be paid back on one paper over to an open invoice of the same job, as far as it goes.

    What was paid for an assessment alone can go to any invoice of its instrument. Returns the payment on the invoice.
    Raises Refused for another job, nothing to pay back, or nothing to pay.
    """
    rows = {
        row.pk: row
        for row in Invoice.objects.select_for_update(of=("self",))
        .select_related("job__instrument", "assessment__instrument")
        .filter(pk__in=(credit.pk, invoice.pk))
        .order_by("pk")
    }
    credit, invoice = rows[credit.pk], rows[invoice.pk]
    same_piano = credit.instrument.pk == invoice.instrument.pk
    if credit.job_id != invoice.job_id and not (same_piano and None in (credit.job_id, invoice.job_id)):
        raise Refused(
            "Money is carried over between the invoices of one job, or with an assessment of the same instrument."
        )
    back, still = -still_of(credit), still_of(invoice)
    if back <= 0:
        raise Refused(f"Nothing is to be paid back on {credit}.")
    if still <= 0:
        raise Refused(f"Nothing is open on {invoice}.")
    amount, on = min(back, still), timezone.localdate(at)
    came = Payment.objects.filter(invoice__in=(credit, credit.credits)).order_by("pk").last()
    method = came.method if came else Payment.Method.TRANSFER
    _keep(
        Payment(
            invoice=credit,
            amount=-amount,
            on=on,
            method=method,
            kept_by=by,
            kept_at=at,
            note=f"carried over to invoice {invoice.number}",
        )
    )
    return _keep(
        Payment(
            invoice=invoice,
            amount=amount,
            on=on,
            method=method,
            kept_by=by,
            kept_at=at,
            note=f"carried over from no. {credit.number}",
        )
    )


def _keep(payment: Payment) -> Payment:
    """Check a payment and save it."""
    row_check(payment)
    payment.save()
    return payment
