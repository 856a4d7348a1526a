"""Questions about money: what was agreed, asked for and paid."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import DecimalField, F, OuterRef, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from jobs.billing.calc import Ask, stage_asks
from jobs.billing.models import Invoice, Payment
from jobs.worklist.models import Job, Task
from jobs.worklist.queries import open_jobs
from workshop.house.queries import the_shop

MONEY: "DecimalField[Decimal, Decimal]" = DecimalField(max_digits=12, decimal_places=2)
ZERO = Decimal("0.00")


@dataclass(frozen=True)
class MoneyOfJob:
    """The money of one job, all with VAT. ``due`` is asked for and not paid, ``balance_open`` agreed and not paid."""

    agreed: Decimal
    invoiced: Decimal
    paid: Decimal
    asks: tuple[Ask, ...]
    points_invoiced: frozenset[str]

    @property
    def due(self) -> Decimal:
        """Return what was asked for and is not paid."""
        return self.invoiced - self.paid

    @property
    def balance_open(self) -> Decimal:
        """Return what was agreed and is not paid."""
        return self.agreed - self.paid

    @property
    def next_ask(self) -> Ask | None:
        """Return the first amount nobody has been asked for yet."""
        return next((ask for ask in self.asks if ask.point not in self.points_invoiced), None)


def _paid_of(outer: str) -> Coalesce:
    paid = (
        Payment.objects.filter(invoice=OuterRef(outer))
        .order_by()
        .values("invoice")
        .annotate(total=Sum("amount"))
        .values("total")
    )
    return Coalesce(Subquery(paid), Value(ZERO), output_field=MONEY)


def invoices_listed() -> Any:
    """Return all invoices with what was paid on each (``paid``), newest first."""
    return Invoice.objects.select_related("job__instrument__client").annotate(paid=_paid_of("pk"))


def open_invoices() -> Any:
    """Return the invoices not paid in full, the longest due first; credited ones are settled."""
    return (
        invoices_listed()
        .filter(stands=True)
        .exclude(kind=Invoice.Kind.CREDIT)
        .filter(paid__lt=F("total"))
        .order_by("due_on", "number")
    )


def asks_of(job: Job) -> tuple[Ask, ...]:
    """Return what is asked for at each visible point of a job."""
    hours: dict[str, Decimal] = {}
    for stage, likely in job.tasks.exclude(state=Task.State.LEFT_OUT).values_list("stage", "hours_likely"):
        hours[stage] = hours.get(stage, ZERO) + likely
    percent = job.quote.deposit_percent if job.quote else the_shop().deposit_percent
    return stage_asks(job.agreed_total, percent, hours)


def money_of(job: Job) -> MoneyOfJob:
    """Return the money of one job. A credit counts negative, so a credited invoice adds up to nothing."""
    invoiced = job.invoices.aggregate(total=Coalesce(Sum("total"), Value(ZERO), output_field=MONEY))["total"]
    paid = Payment.objects.filter(invoice__job=job).aggregate(
        total=Coalesce(Sum("amount"), Value(ZERO), output_field=MONEY)
    )["total"]
    standing = job.invoices.filter(stands=True).exclude(kind=Invoice.Kind.CREDIT)
    points = frozenset(stage or kind for kind, stage in standing.values_list("kind", "stage"))
    return MoneyOfJob(job.agreed_total, invoiced, paid, asks_of(job), points)


def paid_on(invoice: Invoice) -> Decimal:
    """Return what was paid on one invoice."""
    total = invoice.payments.aggregate(total=Coalesce(Sum("amount"), Value(ZERO), output_field=MONEY))["total"]
    return Decimal(total)


def invoice_content(invoice: Invoice, lines: Iterable[tuple[str, Decimal, Decimal, Decimal, Decimal]]) -> str:
    """Return the hash over everything printed on an invoice (SHA-256, hex); lines as (words, net, rate, vat, gross)."""
    page = {
        "number": invoice.number,
        "kind": invoice.kind,
        "stage": invoice.stage,
        "issued_on": invoice.issued_on.isoformat(),
        "due_on": invoice.due_on.isoformat(),
        "to": [invoice.to_name, invoice.to_address],
        "about": invoice.about,
        "totals": [f"{amount:.2f}" for amount in (invoice.net, invoice.vat, invoice.total)],
        "lines": [[words, *(f"{amount:.2f}" for amount in amounts)] for words, *amounts in lines],
    }
    return hashlib.sha256(json.dumps(page, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def invoice_check(invoice: Invoice) -> bool:
    """Tell whether an invoice still says what it said when it was issued."""
    lines = list(invoice.lines.values_list("words", "net", "vat_percent", "vat", "gross"))
    return invoice_content(invoice, lines) == invoice.content_hash


def jobs_with_money() -> Any:
    """Return the open jobs with ``invoiced`` and ``paid``, in one question however many there are."""
    asked = Invoice.objects.filter(job=OuterRef("pk")).order_by().values("job").annotate(sum=Sum("total")).values("sum")
    came = (
        Payment.objects.filter(invoice__job=OuterRef("pk"))
        .order_by()
        .values("invoice__job")
        .annotate(sum=Sum("amount"))
        .values("sum")
    )
    return open_jobs().annotate(
        invoiced=Coalesce(Subquery(asked), Value(ZERO), output_field=MONEY),
        paid=Coalesce(Subquery(came), Value(ZERO), output_field=MONEY),
    )


def due_words(today: dt.date) -> tuple[Decimal, Decimal]:
    """Return what is to be paid on open invoices, and how much of it is overdue."""
    due = overdue = ZERO
    for invoice in open_invoices():
        still = invoice.total - invoice.paid
        due += still
        overdue += still if invoice.due_on < today else ZERO
    return due, overdue
