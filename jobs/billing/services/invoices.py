"""Invoices issued in an unbroken series, and the credits that take them back."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.assessment.models import Assessment
from jobs.billing.calc import ASSESSMENT, BALANCE, DEPOSIT, Ask, Line, gross_line, less_line, sum_lines
from jobs.billing.models import EarlierInvoice, Invoice
from jobs.billing.queries import earlier_of_jobs, money_of
from jobs.billing.services.writing import invoice_write, next_number
from jobs.worklist.models import Job
from workshop.calendar.words import day_words_year
from workshop.house.queries import the_shop
from workshop.people.models import Person
from workshop.web.errors import Refused

DAYS_TO_PAY = 14  # common practice, no source


@transaction.atomic
def invoice_issue(*, job: Job, point: str, by: Person, on: dt.date, all_the_same: bool = False) -> Invoice:
    """Issue the invoice of one point of a job: deposit, a visible point of the work, or the balance.

    The balance is everything agreed less all that was asked for before, so the invoices of a job sum to the
    agreed total and its VAT to the penny; it comes to nought, or is paid back, when enough was asked for before. An
    assessment invoiced before the order counts among them where it is deducted.
    Raises Refused when the point was invoiced already or is none of this job, when the work it stands for is not
    done (unless it is wanted ``all_the_same``), or when there is nothing to ask for.
    """
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument__client", "quote").get(pk=job.pk)
    ask = _ask(job, point, all_the_same)
    kind, stage = _kind_and_stage(point)
    lines = _lines(job, ask)
    net, vat, total = sum_lines(lines)
    client = job.instrument.client
    invoice = Invoice(
        number=next_number(),
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
    return invoice_write(invoice, lines)


def _ask(job: Job, point: str, all_the_same: bool) -> Ask:
    """Return what is asked for at a point. Raises Refused when it cannot be asked for now."""
    standing = {one.stage or one.kind: one for one in _standing(job)}
    if point in standing:
        raise Refused(f"Invoice {standing[point].number} asks for this already. Credit it first if it was wrong.")
    if BALANCE in standing:
        raise Refused(
            f"The balance, invoice {standing[BALANCE].number}, asks for all that was agreed. Credit it first if it "
            "was too early."
        )
    money_now = money_of(job)
    ask = next((one for one in money_now.asks if one.point == point != ASSESSMENT), None)
    if ask is None:
        raise Refused("There is nothing to ask for at this point of the job. Choose one of those on its money page.")
    if point not in money_now.points_reached and not all_the_same:
        raise Refused(f"Not all of the work is done that “{ask.words}” stands for. Say that you ask all the same.")
    if not job.agreed_total and not standing:
        raise Refused("There is nothing to ask for: no price was agreed for this job.")
    return ask


def _standing(job: Job) -> list[Invoice]:
    """Return the invoices of a job that were not taken back, in their order."""
    return list(job.invoices.filter(stands=True).exclude(kind=Invoice.Kind.CREDIT).order_by("number"))


@transaction.atomic
def invoice_credit(*, invoice: Invoice, by: Person, on: dt.date, reason: str) -> Invoice:
    """Take an invoice back in full by a credit with a number of its own; a new one may then be issued.

    What was paid on it is then to be paid back, or carried over to another invoice. Raises Refused without a
    reason, for a credit, or for an invoice credited before or counted in a balance.
    """
    job = _held(invoice)
    invoice = Invoice.objects.select_for_update(of=("self",)).get(pk=invoice.pk)
    if invoice.kind == Invoice.Kind.CREDIT:
        raise Refused("A credit cannot be credited: issue the invoice again instead.")
    if not invoice.stands:
        raise Refused(f"Invoice {invoice.number} was credited already.")
    if not reason.strip():
        raise Refused("Say why the invoice is taken back; the reason is printed on the credit.")
    later = Invoice.objects.filter(job=job, kind=Invoice.Kind.BALANCE, stands=True).exclude(pk=invoice.pk).first()
    if job is not None and later:
        raise Refused(f"The balance, invoice {later.number}, takes this one into account: credit that first.")
    lines = tuple(
        less_line(line.words, line.net, line.vat, line.vat_percent) for line in invoice.lines.order_by("position")
    )
    credit = Invoice(
        number=next_number(),
        job=invoice.job,
        assessment=invoice.assessment,
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
    return invoice_write(credit, lines)


def _held(invoice: Invoice) -> Job | None:
    """Hold what an invoice is about, first as issuing does, and return the job whose balance may count it.

    A balance must not count an invoice that is being taken back.
    """
    jobs, key = Job.objects.select_for_update(of=("self",)), invoice.job_id
    if key is not None:
        return jobs.get(pk=key)
    list(Assessment.objects.select_for_update(of=("self",)).filter(invoices=invoice))
    job = jobs.filter(earlier_invoices__invoice=invoice).first()
    return job if EarlierInvoice.objects.filter(invoice=invoice, deducted=True).exists() else None


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
    earlier = [row.invoice for row in earlier_of_jobs([job.pk]) if row.deducted]
    less = tuple(_less(one, _percent_of(one)) for one in earlier) + tuple(_less(one, percent) for one in _standing(job))
    return (gross_line("All work agreed, variations included", job.agreed_total, percent), *less)


def _less(invoice: Invoice, percent: Decimal) -> Line:
    words = (
        f"Less {invoice.get_kind_display().lower()}, invoice {invoice.number} of {day_words_year(invoice.issued_on)}"
    )
    return less_line(words, invoice.net, invoice.vat, percent)


def _percent_of(invoice: Invoice) -> Decimal:
    """Return the rate of an invoice of one line."""
    return invoice.lines.values_list("vat_percent", flat=True)[0]
