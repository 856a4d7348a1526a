"""What pages show of an assessment paid for on its own."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from jobs.assessment.models import Assessment
from jobs.billing.models import Invoice
from jobs.billing.queries import assessment_charged, order_after, standing_of_assessment
from jobs.billing.tables import invoice_look
from jobs.hours.house_queries import minutes_by_assessment
from jobs.worklist.models import Job
from workshop.house.queries import the_shop
from workshop.money.calc import round_money


@dataclass(frozen=True)
class AssessmentPrice:
    """What an assessment would cost on its own.

    ``amount`` is proposed, in pounds with VAT: the price of the shop, else its hours at the rate; None where there is
    neither. ``cost`` are the hours at the rate, without VAT.
    """

    amount: Decimal | None
    fixed: bool
    minutes: int
    cost: Decimal
    vat_percent: Decimal


def assessment_price(assessment: Assessment) -> AssessmentPrice:
    """Return the price of an assessment, and what it took."""
    shop = the_shop()
    minutes = minutes_by_assessment([assessment.pk]).get(assessment.pk, 0)
    cost = round_money(shop.hourly_rate * minutes / 60)
    by_hours = round_money(cost * (100 + shop.vat_percent) / 100) if minutes else None
    fixed = shop.assessment_price is not None
    amount = shop.assessment_price if fixed else by_hours
    return AssessmentPrice(amount, fixed, minutes, cost, shop.vat_percent)


@dataclass(frozen=True)
class AssessmentMoney:
    """How an assessment is paid for: by an invoice of its own, with its mark and word; within a job; or not yet."""

    invoice: Invoice | None
    look: tuple[str, str]
    within: Job | None
    may_invoice: bool


def assessment_money(assessment: Assessment, today: dt.date) -> AssessmentMoney | None:
    """Return how an assessment is paid for; None for one inside a job or not finished, which nothing can be said of."""
    if assessment.purpose != Assessment.Purpose.FIRST or assessment.finished_at is None:
        return None
    invoice = standing_of_assessment(assessment)
    if invoice is not None:
        return AssessmentMoney(invoice, invoice_look(invoice), None, may_invoice=False)
    job = order_after(assessment, today)
    if job is not None and assessment_charged(job):
        return AssessmentMoney(None, ("", ""), job, may_invoice=False)
    return AssessmentMoney(None, ("", ""), None, may_invoice=True)
