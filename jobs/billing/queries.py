"""Questions about money: what was agreed, asked for and paid."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Case, DecimalField, F, OuterRef, Q, QuerySet, Subquery, Sum, Value, When
from django.db.models.functions import Coalesce, Round

from jobs.assessment.models import Assessment
from jobs.billing.calc import ASSESSMENT, BALANCE, Ask, points_reached, stage_asks
from jobs.billing.models import EarlierInvoice, Invoice, Payment
from jobs.intake.models import Instrument
from jobs.operations.models import Stage
from jobs.quoting.models import Quote, Scope, ScopeOperation
from jobs.worklist.models import Job, Task
from workshop.house.queries import the_shop

MONEY: "DecimalField[Decimal, Decimal]" = DecimalField(max_digits=12, decimal_places=2)
ZERO = Decimal("0.00")


@dataclass(frozen=True)
class MoneyOfJob:
    """The money of one job, all with VAT; with the assessment invoiced before it where that is deducted.

    ``due`` is asked for and not paid, ``balance_open`` agreed and not paid; below nought, it is the client's.
    """

    agreed: Decimal
    invoiced: Decimal
    paid: Decimal
    asks: tuple[Ask, ...]
    points_invoiced: frozenset[str]
    points_reached: frozenset[str]

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
        """Return the next amount to ask for: the first whose stages are done, or else the first to come."""
        left = [ask for ask in self.asks if ask.point not in self.points_invoiced]
        return next((ask for ask in left if ask.point in self.points_reached), left[0] if left else None)

    @property
    def next_is_reached(self) -> bool:
        """Tell whether the next amount can be asked for now."""
        return self.next_ask is not None and self.next_ask.point in self.points_reached

    @property
    def changed_since(self) -> Decimal:
        """Return by how much the agreed amount has changed since the balance was asked for."""
        return self.agreed - self.invoiced if BALANCE in self.points_invoiced else ZERO


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
    """Return all invoices, newest first, with ``paid`` on each and ``still``: to be paid, or below nought paid back.

    A credit gives back what was paid on the invoice it takes back, and that one is settled. ``instrument_number`` is
    there to sort by.
    """
    return (
        Invoice.objects.select_related("job__instrument__client", "assessment__instrument__client", "credits")
        .annotate(paid=_paid_of("pk"), paid_before=_paid_of("credits"))
        .annotate(instrument_number=Coalesce("job__instrument__number", "assessment__instrument__number"))
        .annotate(
            still=Round(
                Case(
                    When(kind=Invoice.Kind.CREDIT, then=Value(ZERO) - F("paid_before") - F("paid")),
                    When(stands=False, then=Value(ZERO)),
                    default=F("total") - F("paid"),
                    output_field=MONEY,
                ),
                precision=2,  # SQLite takes decimals for floating numbers: what is nought must be nought
            )
        )
    )


def invoices_of_instrument(instrument: Instrument) -> Any:
    """Return the invoices of an instrument, of all its jobs and assessments, as ``invoices_listed`` does."""
    return invoices_listed().filter(Q(job__instrument=instrument) | Q(assessment__instrument=instrument))


def open_invoices() -> Any:
    """Return the invoices not paid in full, the longest due first; credited ones are settled."""
    return invoices_listed().filter(still__gt=0).order_by("due_on", "number")


def owed_back() -> Any:
    """Return the papers on which money is to be paid back, the oldest first."""
    return invoices_listed().filter(still__lt=0).order_by("issued_on", "number")


def still_of(invoice: Invoice) -> Decimal:
    """Return what is still to be paid on an invoice; below nought, what is to be paid back."""
    found: Decimal = invoices_listed().values_list("still", flat=True).get(pk=invoice.pk)
    return found


def paid_on(invoice: Invoice) -> Decimal:
    """Return what was paid on one invoice."""
    total = invoice.payments.aggregate(total=Coalesce(Sum("amount"), Value(ZERO), output_field=MONEY))["total"]
    return Decimal(total)


def money_of_jobs(jobs: Iterable[Job]) -> dict[int, MoneyOfJob]:
    """Return the money of jobs by their key, in five questions however many there are."""
    rows = {job.pk: job for job in jobs}
    hours, open_stages = _stages_of_jobs(rows)
    asked: dict[int, dict[str, Decimal]] = {}
    invoiced: dict[int, Decimal] = {}
    fields = ("job", "kind", "stage", "stands", "total")
    for job, kind, stage, stands, total in Invoice.objects.filter(job__in=rows).values_list(*fields):
        invoiced[job] = invoiced.get(job, ZERO) + total
        if stands and kind != Invoice.Kind.CREDIT:
            asked.setdefault(job, {})[stage or kind] = total
    earlier = {row.invoice_id: row for row in earlier_of_jobs(rows) if row.deducted}
    for row in earlier.values():
        invoiced[row.job_id] = invoiced.get(row.job_id, ZERO) + row.invoice.total
        before = asked.setdefault(row.job_id, {})
        before[ASSESSMENT] = before.get(ASSESSMENT, ZERO) + row.invoice.total
    paid: dict[int, Decimal] = {}
    payments = Payment.objects.filter(Q(invoice__job__in=rows) | Q(invoice__in=earlier))
    for invoice, own, amount in payments.values_list("invoice", "invoice__job", "amount"):
        job = earlier[invoice].job_id if invoice in earlier else own
        paid[job] = paid.get(job, ZERO) + amount
    usual = the_shop().deposit_percent
    return {
        pk: MoneyOfJob(
            job.agreed_total,
            invoiced.get(pk, ZERO),
            paid.get(pk, ZERO),
            stage_asks(
                job.agreed_total,
                job.quote.deposit_percent if job.quote else usual,
                hours.get(pk, {}),
                asked.get(pk),
            ),
            frozenset(asked.get(pk, {})),
            points_reached(open_stages.get(pk, frozenset())),
        )
        for pk, job in rows.items()
    }


def _stages_of_jobs(jobs: Mapping[int, Job]) -> tuple[dict[int, dict[str, Decimal]], dict[int, set[str]]]:
    """Return job -> stage -> likely hours, and job -> stages with a task still to do."""
    grouped = (
        Task.objects.filter(job__in=jobs)
        .exclude(state=Task.State.LEFT_OUT)
        .order_by()
        .values_list("job", "stage")
        .annotate(hours=Sum("hours_likely"), left=Sum(Case(When(~Q(state=Task.State.DONE), then=1), default=0)))
    )
    hours: dict[int, dict[str, Decimal]] = {}
    open_stages: dict[int, set[str]] = {}
    for job, stage, likely, left in grouped:
        hours.setdefault(job, {})[stage] = likely
        if left:
            open_stages.setdefault(job, set()).add(stage)
    return hours, open_stages


def money_of(job: Job) -> MoneyOfJob:
    """Return the money of one job. A credit counts negative, so a credited invoice adds up to nothing."""
    return money_of_jobs([job])[job.pk]


def asks_of(job: Job) -> tuple[Ask, ...]:
    """Return what is asked for at each visible point of a job."""
    return money_of(job).asks


def earlier_of_jobs(jobs: Iterable[int]) -> QuerySet[EarlierInvoice]:
    """Return the assessments invoiced before some jobs (primary keys) and not taken back, with their invoices."""
    rows = EarlierInvoice.objects.filter(job__in=list(jobs), invoice__stands=True)
    return rows.select_related("invoice__assessment", "decided_by").order_by("invoice__number")


def standing_of_assessment(assessment: Assessment) -> Invoice | None:
    """Return the invoice that asks for an assessment alone and was not taken back, as ``invoices_listed`` has it."""
    found: Invoice | None = (
        invoices_listed().filter(assessment=assessment, kind=Invoice.Kind.ASSESSMENT, stands=True).first()
    )
    return found


def order_after(assessment: Assessment, day: dt.date) -> Job | None:
    """Return the first job of the instrument agreed from the day of an assessment up to a day, if there is one."""
    rows = Job.objects.filter(instrument=assessment.instrument_id, accepted_on__range=(assessment.on, day))
    return rows.order_by("accepted_on", "pk").first()


def assessment_charged(job: Job) -> bool:
    """Tell whether the price of a job holds the assessment: whether assessing is among its tasks."""
    return job.tasks.filter(stage=Stage.ASSESSING).exclude(state=Task.State.LEFT_OUT).exists()


def coming_off(scope: Scope) -> list[Invoice]:
    """Return the invoices of assessments that an order of a way takes off, as ``earlier_invoices_take_up`` does."""
    return [invoice for invoice, ways in asked_before(scope.quote) if scope.position in ways]


def asked_before(quote: Quote) -> list[tuple[Invoice, list[int]]]:
    """Return assessments invoiced alone that no order has taken up, each with the ways (numbers) that take it off.

    In two questions however many ways there are; in one where nothing was asked for.
    """
    asked = list(not_taken_up(quote.instrument_id))
    if not asked:
        return []
    work = ScopeOperation.objects.filter(scope__quote=quote, operation__stage=Stage.ASSESSING)
    charged = set(work.exclude(because=ScopeOperation.Because.REFUSED).values_list("scope__position", flat=True))
    return [(one, sorted(charged) if quote.assessment_id in (None, one.assessment_id) else []) for one in asked]


def not_taken_up(instrument: int) -> QuerySet[Invoice]:
    """Return the standing invoices of assessments of an instrument (its key) that no order has taken up."""
    rows = Invoice.objects.filter(kind=Invoice.Kind.ASSESSMENT, stands=True, taken_into=None)
    return rows.filter(assessment__instrument=instrument).order_by("number")


def invoiced_alone(assessments: Iterable[int] | None = None) -> QuerySet[Invoice]:
    """Return the standing invoices of assessments paid for on their own, which no job has deducted.

    ``assessments``: primary keys to keep to; None for all.
    """
    rows = Invoice.objects.filter(kind=Invoice.Kind.ASSESSMENT, stands=True).exclude(taken_into__deducted=True)
    return rows if assessments is None else rows.filter(assessment__in=list(assessments))
