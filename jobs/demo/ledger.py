"""Invoices of the demo: noted while the jobs are built, issued at the end in the order of their days.

One series of numbers runs through the whole house, so it must not be given out job by job.
"""

import datetime as dt
from dataclasses import dataclass, field

from django.db.models import Max
from django.utils import timezone

from jobs.assessment.models import Assessment
from jobs.billing.calc import ASSESSMENT, BALANCE, DEPOSIT
from jobs.billing.models import Invoice
from jobs.billing.queries import money_of
from jobs.billing.services import assessment_invoice, earlier_invoices_take_up, invoice_issue, payment_keep
from jobs.demo.moments import Moments
from jobs.demo.people import ASSESSMENT_PRICE
from jobs.worklist.models import Job
from workshop.people.models import Person

DAYS_TO_PAY = 6  # how soon the clients of the demo pay; invented


@dataclass(frozen=True)
class Asked:
    """One invoice to come: when, of which job and point, or of which assessment; whether paid in the usual time."""

    on: dt.date
    about: Job | Assessment
    point: str
    pays: bool


@dataclass
class Ledger:
    """Collects what is asked for; ``write`` issues it and keeps the payments."""

    by: Person
    moments: Moments
    rows: list[Asked] = field(default_factory=list)

    def ask(self, job: Job, point: str, on: dt.date, *, pays: bool = True) -> None:
        """Note an invoice of a job, issued that day."""
        self.rows.append(Asked(on, job, point, pays))

    def ask_assessment(self, assessment: Assessment, on: dt.date) -> None:
        """Note the invoice of an assessment on its own, issued that day and paid."""
        self.rows.append(Asked(on, assessment, ASSESSMENT, True))

    def ask_stages(self, job: Job, *, pays: bool) -> None:
        """Note the invoices of all points the work of a job has passed, each on the day its last task was done.

        The balance follows when the instrument was found ready.
        """
        job.refresh_from_db()
        money = money_of(job)
        for ask in money.asks:
            if ask.point != DEPOSIT and ask.point in money.points_reached:
                done = job.tasks.filter(stage__in=ask.stages).aggregate(last=Max("done_at"))["last"]
                on = timezone.localdate(done) if done else self.moments.today
                if ask.point == BALANCE and job.finished_on is not None:
                    on = max(on, job.finished_on)
                self.ask(job, ask.point, on, pays=pays and ask.point != BALANCE)

    def write(self) -> None:
        """Issue what was noted in the order of its days, and keep what was paid by today."""
        for row in sorted(self.rows, key=lambda row: row.on):
            invoice = self._issued(row)
            paid = self.moments.week.next_open(row.on + dt.timedelta(days=DAYS_TO_PAY))
            if row.pays and paid < self.moments.today and invoice.total > 0:
                payment_keep(
                    invoice=invoice,
                    amount=invoice.total,
                    on=paid,
                    method="transfer",
                    by=self.by,
                    at=self.moments.on(paid, 12),
                    note=f"{invoice.get_kind_display()} {invoice.number}",
                )
        self.rows = []

    def _issued(self, row: Asked) -> Invoice:
        at = self.moments.on(row.on, 12)
        if isinstance(row.about, Assessment):
            return assessment_invoice(assessment=row.about, amount=ASSESSMENT_PRICE, by=self.by, on=row.on, at=at)
        if row.point == DEPOSIT:  # as an acceptance does
            earlier_invoices_take_up(job=row.about, at=at)
        return invoice_issue(job=row.about, point=row.point, by=self.by, on=row.on)
