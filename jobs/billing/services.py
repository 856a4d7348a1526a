"""Invoices issued in an unbroken series, credits, payments."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.billing.calc import BALANCE, DEPOSIT, Ask, Line, gross_line, less_line, sum_lines
from jobs.billing.models import Invoice, InvoiceLine, InvoiceSeries, Payment
from jobs.billing.queries import asks_of, invoice_content, paid_on
from jobs.worklist.models import Job
from workshop.house.queries import the_shop
from workshop.money.words import money
from workshop.people.models import Person
from workshop.web.errors import Refused

DAYS_TO_PAY = 14  # common practice, no source


@transaction.atomic
def invoice_issue(*, job: Job, point: str, by: Person, on: dt.date) -> Invoice:
    """Issue the invoice of one point of a job: deposit, a visible point of the work, or the balance.

    The balance is everything agreed less all that was asked for before, so the invoices of a job sum to the
    agreed total and its VAT to the penny. Raises Refused when the point was invoiced already, is none of this
    job, or would ask for nothing.
    """
    job = Job.objects.select_for_update().select_related("instrument__client", "quote").get(pk=job.pk)
    ask = next((one for one in asks_of(job) if one.point == point), None)
    if ask is None:
        raise Refused(f"This job has no point “{point}” to invoice.")
    kind, stage = _kind_and_stage(point)
    standing = job.invoices.filter(kind=kind, stage=stage, stands=True).first()
    if standing:
        raise Refused(f"Invoice {standing.number} asks for this already. Credit it first if it was wrong.")
    lines = _lines(job, ask)
    net, vat, total = sum_lines(lines)
    if total <= 0:
        raise Refused("There is nothing left to ask for: what was agreed has been invoiced.")
    client = job.instrument.client
    invoice = Invoice(
        number=_next_number(),
        job=job,
        kind=kind,
        stage=stage,
        issued_on=on,
        issued_by=by,
        due_on=on + dt.timedelta(days=DAYS_TO_PAY),
        to_name=client.name,
        to_address=client.address,
        about=f"{job.instrument.words}, our no. {job.instrument.number}: {ask.words}"[:200],
        net=net,
        vat=vat,
        total=total,
    )
    return _write(invoice, lines)


@transaction.atomic
def invoice_credit(*, invoice: Invoice, by: Person, on: dt.date, reason: str) -> Invoice:
    """Take an invoice back in full by a credit with a number of its own; a new one may then be issued.

    Raises Refused without a reason, for a credit, or for an invoice credited before.
    """
    invoice = Invoice.objects.select_for_update().select_related("job__instrument").get(pk=invoice.pk)
    if invoice.kind == Invoice.Kind.CREDIT:
        raise Refused("A credit cannot be credited: issue the invoice again instead.")
    if not invoice.stands:
        raise Refused(f"Invoice {invoice.number} was credited already.")
    if not reason.strip():
        raise Refused("Say why the invoice is taken back; the reason is printed on the credit.")
    later = invoice.job.invoices.filter(kind=Invoice.Kind.BALANCE, stands=True, number__gt=invoice.number).first()
    if later:
        raise Refused(f"The balance, invoice {later.number}, takes this one into account: credit that first.")
    lines = tuple(
        less_line(line.words, line.net, line.vat, line.vat_percent) for line in invoice.lines.order_by("position")
    )
    credit = Invoice(
        number=_next_number(),
        job=invoice.job,
        kind=Invoice.Kind.CREDIT,
        stage=invoice.stage,
        issued_on=on,
        issued_by=by,
        due_on=on,
        to_name=invoice.to_name,
        to_address=invoice.to_address,
        about=f"Credit of invoice {invoice.number}: {reason.strip()}"[:200],
        net=-invoice.net,
        vat=-invoice.vat,
        total=-invoice.total,
        credits=invoice,
    )
    invoice.stands = False
    invoice.save(update_fields=["stands"])
    return _write(credit, lines)


@transaction.atomic
def payment_keep(
    *, invoice: Invoice, amount: Decimal, on: dt.date, method: str, by: Person, at: dt.datetime, note: str = ""
) -> Payment:
    """Keep a payment on an invoice; on a credit a repayment, kept as a negative amount.

    Raises Refused for nothing, for more than is open, or for a day that is still to come.
    """
    invoice = Invoice.objects.select_for_update().get(pk=invoice.pk)
    sign = -1 if invoice.kind == Invoice.Kind.CREDIT else 1
    still = sign * (invoice.total - paid_on(invoice))
    if amount <= 0:
        raise Refused("A payment is more than nothing: write the amount that arrived, such as 1240.00.")
    if amount > still:
        raise Refused(
            f"{money(amount)} is more than the {money(still)} still open on invoice {invoice.number}. "
            "Keep what belongs to this invoice, and the rest on the next one."
        )
    if on > at.date():
        raise Refused("The day of a payment cannot be in the future.")
    payment = Payment(
        invoice=invoice, amount=sign * amount, on=on, method=method, kept_by=by, kept_at=at, note=note.strip()
    )
    payment.full_clean()
    payment.save()
    return payment


def _kind_and_stage(point: str) -> tuple[str, str]:
    if point == DEPOSIT:
        return Invoice.Kind.DEPOSIT, ""
    if point == BALANCE:
        return Invoice.Kind.BALANCE, ""
    return Invoice.Kind.STAGE, point


def _lines(job: Job, ask: Ask) -> tuple[Line, ...]:
    """Return the lines of an invoice: one amount, or for the balance all that was agreed less all asked before."""
    percent = job.quote.vat_percent if job.quote else the_shop().vat_percent
    if ask.point != BALANCE:
        return (gross_line(f"{ask.words[:1].upper()}{ask.words[1:]}", ask.amount, percent),)
    before = job.invoices.filter(stands=True).exclude(kind=Invoice.Kind.CREDIT).order_by("number")
    less = tuple(less_line(f"Less invoice {one.number}", one.net, one.vat, percent) for one in before)
    return (gross_line("All work agreed, variations included", job.agreed_total, percent), *less)


def _next_number() -> int:
    """Take the next number of the series under a lock; the transaction gives it back if anything fails."""
    InvoiceSeries.objects.get_or_create(pk=1)
    series = InvoiceSeries.objects.select_for_update().get(pk=1)
    series.last_number += 1
    series.save(update_fields=["last_number"])
    return series.last_number


def _write(invoice: Invoice, lines: tuple[Line, ...]) -> Invoice:
    """Write a frozen invoice with its lines."""
    rows = [(line.words, line.net, line.vat_percent, line.vat, line.gross) for line in lines]
    invoice.content_hash = invoice_content(invoice, rows)
    invoice.full_clean()
    invoice.save()
    InvoiceLine.objects.bulk_create(
        InvoiceLine(
            invoice=invoice,
            position=place,
            words=line.words,
            net=line.net,
            vat_percent=line.vat_percent,
            vat=line.vat,
            gross=line.gross,
        )
        for place, line in enumerate(lines, start=1)
    )
    return invoice
