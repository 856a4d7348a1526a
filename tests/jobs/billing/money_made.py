"""Jobs with money for tests."""

from decimal import Decimal
from typing import Any

from jobs.billing.models import Invoice
from jobs.billing.services import invoice_issue, payment_keep
from jobs.worklist.models import Job, Task
from tests.factories import (
    MOMENT,
    TODAY,
    make_instrument,
    make_job,
    make_manager,
    make_operation,
    make_quote,
    make_task,
)
from workshop.people.models import Person


def make_money_job(agreed: str = "5200.00", *, done: bool = True, vat: str = "20", **more: Any) -> Job:
    """A job of 10 h opening, 40 h action, 50 h tuning, with a deposit of 30 per cent."""
    instrument = more.pop("instrument", None) or make_instrument()
    quote = make_quote(instrument, vat_percent=Decimal(vat), deposit_percent=Decimal(more.pop("deposit", 30)))
    job = make_job(instrument, quote=quote, agreed_total=Decimal(agreed), **more)
    for stage, hours in (("opening", 10), ("action", 40), ("tuning", 50)):
        operation = make_operation(f"op-{stage}", stage=stage)
        make_task(job, operation, hours_likely=Decimal(hours), state=Task.State.DONE if done else Task.State.TO_COME)
    return job


def issue(job: Job, point: str, by: Person | None = None, **more: Any) -> Invoice:
    return invoice_issue(job=job, point=point, by=by or make_manager(), on=more.pop("on", TODAY), **more)


def pay(invoice: Invoice, amount: Any = None, **more: Any) -> Any:
    amount = Decimal(str(amount)) if amount is not None else invoice.total
    defaults = {"on": TODAY, "method": "transfer", "at": MOMENT}
    return payment_keep(
        invoice=invoice, amount=amount, by=more.pop("by", None) or make_manager(), **{**defaults, **more}
    )
