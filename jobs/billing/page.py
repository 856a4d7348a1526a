"""What the pages of money show, beside the plain questions."""

from dataclasses import dataclass

from jobs.billing.calc import Ask
from jobs.billing.models import Invoice
from jobs.billing.queries import MoneyOfJob, invoices_listed, money_of
from jobs.worklist.models import Job
from jobs.worklist.queries import stages_of


@dataclass(frozen=True)
class AskRow:
    """One amount of a job: whether it was asked for, and whether its stages are done."""

    ask: Ask
    invoice: Invoice | None
    reached: bool


@dataclass(frozen=True)
class MoneyPage:
    """The money of one job."""

    job: Job
    money: MoneyOfJob
    asks: tuple[AskRow, ...]
    invoices: tuple[Invoice, ...]


def money_page(job: Job) -> MoneyPage:
    """Return the money of a job: what is asked for when, what was, and what is paid."""
    money = money_of(job)
    stages = stages_of(job)
    done = {stage.stage for stage in stages if stage.is_done}
    there = {stage.stage for stage in stages}
    invoices = tuple(invoices_listed().filter(job=job).order_by("number"))
    standing = {one.stage or one.kind: one for one in invoices if one.stands and one.kind != Invoice.Kind.CREDIT}
    rows = tuple(
        AskRow(ask, standing.get(ask.point), all(stage in done for stage in ask.stages if stage in there))
        for ask in money.asks
    )
    return MoneyPage(job, money, rows, invoices)
