"""What a variation costs: work and parts it adds as a quote prices them, and what is left out taken off again."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from jobs.estimating.services import estimator
from jobs.operations.calc.closure import Entry
from jobs.operations.models import Operation
from jobs.quoting.calc.pricing import NET, PartUse, part_amount, priced_hours
from jobs.quoting.models import ScopeOperation
from jobs.worklist.models import Job, Task, Variation, VariationOperation
from jobs.worklist.services.tasks import kept_hours
from workshop.house.queries import the_shop
from workshop.money.calc import round_money, split_amount

NOTHING = Decimal(0)
TENTH = Decimal("0.1")  # counts and charged hours go by tenths


@dataclass(frozen=True)
class Rates:
    """What an hour costs without VAT, the VAT and the mark-up on parts, both in per cent."""

    hour: Decimal
    vat: Decimal
    parts: Decimal


def rates_of(job: Job) -> Rates:
    """Return the rates of the quote a job was accepted with; where there is none, those of the house."""
    shop, quote = the_shop(), job.quote
    if quote is None:
        return Rates(shop.hourly_rate, shop.vat_percent, shop.parts_markup_percent)
    return Rates(quote.hourly_rate, quote.vat_percent, shop.parts_markup_percent)


def rows_added(
    variation: Variation, entries: Mapping[str, Entry], wanted: Mapping[str, Decimal], rows: Mapping[str, Operation]
) -> list[VariationOperation]:
    """Return the rows of the operations a variation adds, and write their hours together into the variation.

    As in a quote the hours of the bundle are charged, to a tenth; each row has its share of them, so that the rows
    add up to the whole. Raises Refused for a count an operation cannot have.
    """
    kind, rates = variation.job.instrument.kind, rates_of(variation.job)
    estimate = estimator()
    hours = {code: estimate.hours_for(operation=rows[code], quantity=wanted[code], kind=kind) for code in wanted}
    bundle = estimate.bundle_hours(hours.values())
    variation.hours_likely, variation.hours_80 = priced_hours(bundle.likely), kept_hours(bundle.figure_80)
    weights = [Decimal(str(each.likely)) for each in hours.values()]
    shares = split_amount(variation.hours_likely, weights) if hours else []
    made = []
    for (code, each), share in zip(hours.items(), shares, strict=True):
        parts = parts_price(rows[code], wanted[code], kind, rates)
        because = [rows[other].name if other in rows else other for other in entries[code].implied_by]
        made.append(
            VariationOperation(
                variation=variation,
                operation=rows[code],
                quantity=wanted[code],
                hours_likely=share,
                hours_80=max(share, kept_hours(each.figure_80)),
                net=round_money(share * rates.hour) + parts,
                reason=_cut("because of: " + "; ".join(because), 300) if because else "",
                words=_cut(rows[code].in_plain_words + (", parts included" if parts else ""), 300),
            )
        )
    return made


def rows_left_out(
    variation: Variation, codes: Mapping[str, bool], rows: Mapping[str, Operation]
) -> list[VariationOperation]:
    """Return the rows of the operations a variation leaves out, as amounts to take off.

    ``codes``: operation -> whether its parts were bought already and stay charged. Work is taken off at the hours
    the accepted scope charged for it.
    """
    kind, rates = variation.job.instrument.kind, rates_of(variation.job)
    made = []
    for code, parts_bought in codes.items():
        waiting = list(variation.job.tasks.filter(operation=rows[code], state=Task.State.TO_COME))
        count = sum((task.quantity for task in waiting), NOTHING)
        hours = kept_hours(float(_charged_hours(variation.job, rows[code], waiting)))
        parts = NOTHING if parts_bought else parts_price(rows[code], count, kind, rates)
        still = "; its parts are bought and stay with you" if parts_bought else ""
        made.append(
            VariationOperation(
                variation=variation,
                operation=rows[code],
                quantity=count,
                adds=False,
                hours_likely=-hours,
                hours_80=-hours,
                net=-round_money(hours * rates.hour) - parts,
                words=_cut(rows[code].in_plain_words, 300 - len(still)) + still,
            )
        )
    return made


def parts_price(operation: Operation, quantity: Decimal, kind: str, rates: Rates) -> Decimal:
    """Return what the parts of so many units of an operation cost without VAT, mark-up included."""
    total = NOTHING
    for need in operation.parts.all():
        if need.fits(kind):
            count = need.quantity * (quantity if need.per_unit else 1)
            use = PartUse(need.part.code, need.part.name, need.part.unit, count, need.part.price)
            total += part_amount(use, rates.parts, rates.vat, NET).net
    return total


def _charged_hours(job: Job, operation: Operation, waiting: list[Task]) -> Decimal:
    """Return the hours that were charged for tasks still waiting: their share of the whole of the accepted scope."""
    hours = sum((task.hours_likely for task in waiting), NOTHING)
    if job.scope is None or job.scope.hours_likely is None or any(task.variation_id for task in waiting):
        return hours
    inside = job.scope.operations.exclude(because=ScopeOperation.Because.REFUSED)
    by_operation = dict(inside.values_list("operation", "hours_likely"))
    together = sum(by_operation.values(), NOTHING)
    if operation.pk not in by_operation or not together:
        return hours
    return hours * job.scope.hours_likely / together


def _cut(words: str, most: int) -> str:
    return words if len(words) <= most else words[: most - 1] + "…"
