"""What the house bears: assessments that led to no order, and visits under guarantee; what invoiced ones brought."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from jobs.assessment.models import Assessment
from jobs.billing.queries import invoiced_alone
from jobs.desk.queries.completion import JobAtEnd, ends_of, margin_words
from jobs.hours.house_queries import house_standing, minutes_by_assessment
from jobs.quoting.models import Quote
from jobs.worklist.models import Job
from workshop.house.queries import the_shop

DECLINED = "the quote was declined"
LOOKED_BACK = dt.timedelta(days=365)  # how far back a house looks at what it bore; our judgement


@dataclass(frozen=True)
class Unpaid:
    """An assessment that led to no order: when that was settled and why, its hours, and their cost."""

    assessment: Assessment
    settled_on: dt.date
    why: str
    hours: float
    cost: Decimal


@dataclass(frozen=True)
class PaidAlone:
    """An assessment invoiced on its own: number and day, what it brings and what its hours cost, £ without VAT."""

    assessment: Assessment
    number: int
    issued_on: dt.date
    income: Decimal
    hours: float
    cost: Decimal

    @property
    def margin(self) -> Decimal:
        """Return what is left of its price."""
        return self.income - self.cost

    @property
    def margin_words(self) -> str:
        """Return what is left of its price, "£240" or "−£96"."""
        return margin_words(self.margin)


@dataclass(frozen=True)
class HouseCosts:
    """What the house bore in the last twelve months, £ at the house's rate or the quote's, without VAT.

    ``undecided`` is how many assessments still may lead to an order. ``visited``: jobs gone home, visited under
    guarantee, with the margin those visits left. ``alone``: assessments paid for on their own, which nobody bears.
    """

    unpaid: tuple[Unpaid, ...]
    undecided: int
    visited: tuple[JobAtEnd, ...]
    alone: tuple[PaidAlone, ...] = ()

    @property
    def unpaid_hours(self) -> float:
        """Return the hours of assessments that led to no order."""
        return sum(one.hours for one in self.unpaid)

    @property
    def visit_hours(self) -> float:
        """Return the hours of visits under guarantee."""
        return sum(one.whole.visits for one in self.visited)

    @property
    def unpaid_cost(self) -> Decimal:
        """Return the cost of assessments that led to no order."""
        return sum((one.cost for one in self.unpaid), Decimal(0))

    @property
    def alone_margin(self) -> Decimal:
        """Return what is left of all assessments paid for on their own."""
        return sum((one.margin for one in self.alone), Decimal(0))

    @property
    def alone_margin_words(self) -> str:
        """Return it in words, "£240" or "−£96"."""
        return margin_words(self.alone_margin)

    @property
    def cost(self) -> Decimal:
        """Return the cost of both together."""
        visits = (Decimal(str(round(one.whole.visits, 2))) * one.whole.rate for one in self.visited)
        return self.unpaid_cost + sum(visits, Decimal(0))


def house_costs(today: dt.date | None = None) -> HouseCosts:
    """Return what the house bore; never more questions for more rows."""
    day = today or timezone.localdate()
    since = day - LOOKED_BACK
    unpaid, undecided = _unpaid(day, since)
    visits = house_standing().filter(job__isnull=False, on__gte=since)
    jobs = Job.objects.filter(pk__in=visits.values("job")).select_related("instrument__client", "quote", "scope")
    visited = sorted(ends_of(jobs), key=lambda one: (one.whole.margin, one.job.pk))
    return HouseCosts(tuple(unpaid), undecided, tuple(visited), tuple(_alone(since)))


def _alone(since: dt.date) -> list[PaidAlone]:
    """Return the assessments invoiced on their own since a day, which no job has taken over, the newest first."""
    invoices = list(invoiced_alone().filter(issued_on__gte=since).select_related("assessment__instrument"))
    minutes, shop = minutes_by_assessment(one.assessment_id for one in invoices if one.assessment_id), the_shop()
    found = []
    for invoice in invoices:
        if invoice.assessment is None:
            continue
        hours = minutes.get(invoice.assessment.pk, 0) / 60
        cost = Decimal(str(round(hours, 2))) * shop.hourly_rate
        found.append(PaidAlone(invoice.assessment, invoice.number, invoice.issued_on, invoice.net, hours, cost))
    return sorted(found, key=lambda one: -one.number)


def _unpaid(day: dt.date, since: dt.date) -> tuple[list[Unpaid], int]:
    kept = house_standing().filter(assessment__isnull=False, on__gte=since)
    kept = kept.exclude(assessment__in=invoiced_alone().values("assessment"))
    assessments = list(Assessment.objects.filter(pk__in=kept.values("assessment")).select_related("instrument__client"))
    quotes: dict[int, list[Quote]] = defaultdict(list)
    for quote in Quote.objects.filter(instrument__in=[one.instrument_id for one in assessments]).select_related(
        "answer"
    ):
        quotes[quote.instrument_id].append(quote)
    minutes, shop = minutes_by_assessment(one.pk for one in assessments), the_shop()
    found, undecided = [], 0
    for one in assessments:
        led = [quote for quote in quotes[one.instrument_id] if _follows(quote, one)]
        if any(quote.state == Quote.State.ACCEPTED for quote in led):
            continue
        last, why = _settled(one, led, shop.quote_valid_days)
        if last >= day and why != DECLINED:
            undecided += 1
            continue
        hours = minutes[one.pk] / 60
        found.append(Unpaid(one, last, why, hours, Decimal(str(round(hours, 2))) * shop.hourly_rate))
    return sorted(found, key=lambda one: (-one.cost, one.assessment.pk)), undecided


def _follows(quote: Quote, assessment: Assessment) -> bool:
    if quote.assessment_id is not None:
        return quote.assessment_id == assessment.pk
    return timezone.localdate(quote.created_at) >= assessment.on


def _settled(assessment: Assessment, quotes: Iterable[Quote], valid_days: int) -> tuple[dt.date, str]:
    """Return the last day on which an order could still come, and why none did; a quote declined settles it."""
    sent = [quote for quote in quotes if quote.valid_until is not None]
    open_until = [quote.valid_until for quote in sent if quote.state != Quote.State.DECLINED and quote.valid_until]
    if open_until:
        return max(open_until), "the quote lapsed"
    if sent:
        answers = [getattr(quote, "answer", None) for quote in sent]
        return max((timezone.localdate(one.at) for one in answers if one), default=assessment.on), DECLINED
    return assessment.on + dt.timedelta(days=valid_days), "no quote was sent"
