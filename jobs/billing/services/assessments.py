"""An assessment invoiced on its own, and what becomes of that invoice when an order follows."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.assessment.models import Assessment
from jobs.billing.calc import gross_line
from jobs.billing.models import EarlierInvoice, Invoice
from jobs.billing.queries import assessment_charged, not_taken_up, order_after, standing_of_assessment
from jobs.billing.services.invoices import DAYS_TO_PAY
from jobs.billing.services.writing import invoice_write, next_number
from jobs.worklist.models import Job
from workshop.calendar.words import day_words_year
from workshop.house.queries import the_shop
from workshop.money.calc import round_money
from workshop.people.models import Person
from workshop.web.errors import Refused


@transaction.atomic
def assessment_invoice(*, assessment: Assessment, amount: Decimal, by: Person, on: dt.date, at: dt.datetime) -> Invoice:
    """Issue the invoice of a finished first assessment; ``amount`` in pounds, with VAT at the rate of the shop.

    Raises Refused for an assessment inside a job or not finished, one invoiced already or charged for in an order that
    followed, and for an amount that is not above nought or has a fraction of a penny.
    """
    held = Assessment.objects.select_for_update(of=("self",)).select_related("instrument__client").get(pk=assessment.pk)
    job = assessment_free(held, on)
    if not amount.is_finite() or amount <= 0 or amount != round_money(amount):
        raise Refused("Give the amount in pounds and whole pence, above nought: 145.00, say.")
    line = gross_line(f"Assessment of {day_words_year(held.on)}", amount, the_shop().vat_percent)
    instrument, client = held.instrument, held.instrument.client
    invoice = Invoice(
        number=next_number(),
        assessment=held,
        kind=Invoice.Kind.ASSESSMENT,
        issued_on=on,
        issued_by=by,
        due_on=on + dt.timedelta(days=DAYS_TO_PAY),
        to_name=client.name,
        to_address=client.address,
        about=f"{instrument.words}, our no. {instrument.number}: assessment of {day_words_year(held.on)}"[:200],
        net=line.net,
        vat=line.vat,
        total=line.gross,
    )
    invoice_write(invoice, (line,))
    if job is not None:
        EarlierInvoice.objects.create(invoice=invoice, job=job, deducted=False, decided_at=at)
    return invoice


def assessment_free(assessment: Assessment, on: dt.date) -> Job | None:
    """Return the order that followed by a day and does not charge for the assessment, if one did.

    Raises Refused when the assessment cannot be invoiced on its own.
    """
    if assessment.purpose != Assessment.Purpose.FIRST:
        raise Refused("This assessment is part of a job and is paid for within it.")
    if assessment.finished_at is None:
        raise Refused("The assessment is not finished yet: finish it, then ask for its price.")
    standing = standing_of_assessment(assessment)
    if standing is not None:
        raise Refused(f"Invoice {standing.number} asks for this already. Credit it first if it was wrong.")
    job = order_after(assessment, on)
    if job is not None and assessment_charged(job):
        raise Refused(
            f"An order followed on {day_words_year(job.accepted_on)}, and its price holds the assessment already. "
            "Ask for it on the money page of that job."
        )
    return job


@transaction.atomic
def earlier_invoices_take_up(*, job: Job, at: dt.datetime) -> None:
    """Note with a new job the assessments of its instrument that were invoiced before it.

    One is deducted where the job charges for assessing and came from that assessment: it would be paid for twice. An
    order whose price holds no assessment leaves it as it is: what the client paid for was done. The manager can change
    either.
    """
    # Held, so that none of them is being invoiced while the order comes.
    list(Assessment.objects.select_for_update().filter(instrument=job.instrument_id))
    charged = assessment_charged(job)
    named = job.quote.assessment_id if job.quote else None
    for invoice in not_taken_up(job.instrument_id):
        deducted = charged and named in (None, invoice.assessment_id)
        EarlierInvoice.objects.create(invoice=invoice, job=job, deducted=deducted, decided_at=at)


@transaction.atomic
def earlier_invoice_choose(*, row: EarlierInvoice, deducted: bool, by: Person, at: dt.datetime) -> EarlierInvoice:
    """Decide whether a job takes the invoice of its assessment off what it asks for.

    Raises Refused once the balance was asked for, and for an invoice that was taken back.
    """
    job = Job.objects.select_for_update().get(pk=row.job_id)
    row = EarlierInvoice.objects.select_for_update(of=("self",)).select_related("invoice").get(pk=row.pk)
    if not row.invoice.stands:
        raise Refused(f"Invoice {row.invoice.number} was taken back: there is nothing to take off.")
    balance = job.invoices.filter(kind=Invoice.Kind.BALANCE, stands=True).first()
    if balance is not None and row.deducted != deducted:
        raise Refused(f"The balance, invoice {balance.number}, was asked for without this change: credit that first.")
    row.deducted, row.decided_by, row.decided_at = deducted, by, at
    row.save(update_fields=["deducted", "decided_by", "decided_at"])
    return row
