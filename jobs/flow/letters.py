"""What goes out to the client: messages released, invoices issued."""

import datetime as dt
from decimal import Decimal

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from jobs.assessment.models import Assessment
from jobs.billing import services as billing_services
from jobs.billing.models import Invoice
from jobs.portal import services as portal_services
from jobs.scheduling import queries as scheduling_queries
from jobs.scheduling import services as scheduling_services
from jobs.updates import services as updates_services
from jobs.updates.models import Update
from jobs.worklist.models import Job
from workshop.people.models import Person


@transaction.atomic
def update_released(update: Update, by: Person, at: dt.datetime) -> Update:
    """Put a message into the outbox with a fresh private link in it. Raises Refused as releasing does.

    A message that gives the client another date gives that promise with it. Raises Refused when the day has passed.
    """
    token = portal_services.link_make(client=update.client, instrument=update.instrument, at=at)
    link = settings.SITE_URL + reverse("portal-enter", args=[token])
    released = updates_services.update_release(update=update, by=by, at=at, link_url=link)
    if released.new_date is not None and released.job is not None:
        end = scheduling_queries.planned_end(released.job)
        scheduling_services.promise_give(
            job=released.job,
            date=released.new_date,
            chance=end.chance_by(released.new_date) if end else None,
            by=by,
            at=at,
            reason=released.reason,
        )
    return released


@transaction.atomic
def invoice_issued(
    job: Job, point: str, by: Person, on: dt.date, at: dt.datetime, *, all_the_same: bool = False
) -> Invoice:
    """Issue the invoice of one point of a job, then draft the message about it. Raises Refused as issuing does."""
    invoice = billing_services.invoice_issue(job=job, point=point, by=by, on=on, all_the_same=all_the_same)
    _invoice_told(invoice, at)
    return invoice


@transaction.atomic
def assessment_invoiced(assessment: Assessment, amount: Decimal, by: Person, on: dt.date, at: dt.datetime) -> Invoice:
    """Issue the invoice of an assessment alone, then draft the message about it. Raises Refused as issuing does."""
    invoice = billing_services.assessment_invoice(assessment=assessment, amount=amount, by=by, on=on, at=at)
    _invoice_told(invoice, at)
    return invoice


def _invoice_told(invoice: Invoice, at: dt.datetime) -> None:
    updates_services.update_draft(
        event=Update.Event.INVOICE,
        event_key=f"invoice:{invoice.pk}",
        instrument=invoice.instrument,
        job=invoice.job,
        happened_at=at,
        facts={
            "number": invoice.number,
            "total": invoice.total,
            "about": invoice.about,
            "due_on": invoice.due_on,
        },
        written_from=f"invoice {invoice.number}",
    )
