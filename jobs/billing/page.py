"""What the pages of money show, beside the plain questions."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Q

from jobs.billing.calc import BALANCE, Ask, vat_of_payments
from jobs.billing.models import EarlierInvoice, Invoice, Payment
from jobs.billing.queries import (
    ZERO,
    MoneyOfJob,
    assessment_charged,
    earlier_of_jobs,
    invoices_listed,
    money_of,
    money_of_jobs,
    open_invoices,
    owed_back,
)
from jobs.billing.series import series_check
from jobs.worklist.models import Job
from jobs.worklist.queries import open_jobs
from workshop.calendar.words import count_words
from workshop.money.words import money as money_words

MOST_ROWS = 12


@dataclass(frozen=True)
class AskRow:
    """One amount of a job: whether it was asked for, and whether its stages are done.

    ``in_all`` is what its invoice would ask for: the balance takes with it what was not asked for before.
    """

    ask: Ask
    invoice: Invoice | None
    reached: bool
    in_all: Decimal


@dataclass(frozen=True)
class MoneyPage:
    """The money of one job; ``earlier``: the assessments invoiced before it, whether ``charged`` for in it or not."""

    job: Job
    money: MoneyOfJob
    asks: tuple[AskRow, ...]
    invoices: tuple[Any, ...]
    earlier: tuple[EarlierInvoice, ...]
    charged: bool

    @property
    def balance(self) -> Invoice | None:
        """Return the balance, where it was asked for."""
        return next((row.invoice for row in self.asks if row.invoice and row.ask.point == BALANCE), None)


def money_page(job: Job) -> MoneyPage:
    """Return the money of a job: what is asked for when, what was, and what is paid."""
    money = money_of(job)
    earlier = tuple(earlier_of_jobs([job.pk]))
    counted = Q(job=job) | Q(taken_into__in=[row.pk for row in earlier if row.deducted])
    invoices = tuple(invoices_listed().filter(counted).order_by("number"))
    standing = {one.stage or one.kind: one for one in invoices if one.stands and one.kind != Invoice.Kind.CREDIT}
    left = sum((ask.amount for ask in money.asks if ask.point not in standing), ZERO)
    rows = tuple(
        AskRow(
            ask,
            standing.get(ask.point),
            ask.point in money.points_reached,
            left if ask.point == BALANCE else ask.amount,
        )
        for ask in money.asks
    )
    return MoneyPage(job, money, rows, invoices, earlier, bool(earlier) and assessment_charged(job))


@dataclass(frozen=True)
class House:
    """The money of the whole house: what is to be paid, what can be asked for, and the jobs in hand."""

    waiting: tuple[Any, ...]
    back: tuple[Any, ...]
    jobs: tuple[tuple[Job, MoneyOfJob], ...]
    today: dt.date
    wrong: tuple[str, ...]

    @property
    def due(self) -> Decimal:
        """Return what is to be paid on open invoices."""
        return sum((invoice.still for invoice in self.waiting), ZERO)

    @property
    def overdue(self) -> Decimal:
        """Return what should have been paid before today."""
        return sum((invoice.still for invoice in self.waiting if invoice.due_on < self.today), ZERO)

    @property
    def first_waiting(self) -> tuple[Any, ...]:
        """Return the open invoices that stand on the page, the longest due first."""
        return self.waiting[:MOST_ROWS]

    @property
    def askable(self) -> tuple[tuple[Job, Ask], ...]:
        """Return what can be asked for now, by job."""
        return tuple((job, money.next_ask) for job, money in self.jobs if money.next_ask and money.next_is_reached)

    @property
    def sentence(self) -> str:
        """Return how things stand, in two short sentences."""
        return f"{self._due_words} {self._next_words}".strip()

    @property
    def _due_words(self) -> str:
        if not self.due:
            return "Everything asked for is paid."
        if not self.overdue:
            return f"{money_words(self.due)} is to be paid; nothing is overdue."
        if self.overdue == self.due:
            return f"{money_words(self.overdue)} is overdue."
        return f"{money_words(self.due)} is to be paid, {money_words(self.overdue)} of it is overdue."

    @property
    def _next_words(self) -> str:
        found = self.askable
        if not found:
            return ""
        total = money_words(sum((ask.amount for _, ask in found), ZERO))
        if len(found) == 1:
            job, ask = found[0]
            return f"{total} can be asked for now: no. {job.instrument.number}, {ask.words}."
        return f"{total} can be asked for now, on {count_words(len(found))} jobs."


def house_page(today: dt.date) -> House:
    """Return the money of the house, in as many questions however many jobs and invoices there are."""
    jobs = list(open_jobs())
    money = money_of_jobs(jobs)
    return House(
        waiting=tuple(open_invoices()),
        back=tuple(owed_back()),
        jobs=tuple((job, money[job.pk]) for job in jobs),
        today=today,
        wrong=tuple(series_check()),
    )


def payments_with_vat(invoice: Invoice) -> list[tuple[Payment, Decimal]]:
    """Return the payments on an invoice in their order, each with the VAT in it.

    What goes back on a credit carries the VAT of the invoice it takes back, as the payment on that did.
    """
    payments = list(invoice.payments.select_related("kept_by").order_by("on", "pk"))
    return list(zip(payments, vat_of_payments(invoice.vat, invoice.total, [p.amount for p in payments]), strict=True))


def targets_of_carrying(invoice: Invoice, still: Decimal) -> list[Invoice]:
    """Return the open invoices that money owed back on this paper can be carried over to, as ``payment_carry`` does."""
    if still >= 0:
        return []
    piano = invoice.instrument
    alone = Q(assessment__instrument=piano)
    found = alone | Q(job=invoice.job_id) if invoice.job_id else alone | Q(job__instrument=piano)
    return list(open_invoices().filter(found).exclude(pk=invoice.pk))
