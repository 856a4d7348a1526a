"""What is asked for when: deposit, visible points of the work, balance."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from workshop.money.calc import round_money, split_amount, vat_in_gross

ZERO = Decimal("0.00")
BALANCE = "balance"
DEPOSIT = "deposit"
ASSESSMENT = "assessment"  # asked for before the order, and deducted from it

# The points at which an owner can see what was done, and the stages each covers. Common practice, no source.
POINTS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("opened", "opened up and reviewed", ("assessing", "opening", "structure")),
    ("strung", "strung", ("strings",)),
    ("finished", "case finished", ("case",)),
    ("rebuilt", "action and keys rebuilt", ("action", "keys")),
    (BALANCE, "regulated, tuned, proved and ready", ("regulation", "tuning", "finish")),
)


@dataclass(frozen=True)
class Ask:
    """One amount to ask for, with VAT: ``point`` is deposit, a key of POINTS, or balance."""

    point: str
    words: str
    stages: tuple[str, ...]
    amount: Decimal


@dataclass(frozen=True)
class Line:
    """One line of an invoice; ``gross`` = ``net`` + ``vat``."""

    words: str
    net: Decimal
    vat: Decimal
    gross: Decimal
    vat_percent: Decimal


def stage_asks(
    agreed: Decimal,
    deposit_percent: Decimal,
    hours: Mapping[str, Decimal],
    asked: Mapping[str, Decimal] | None = None,
) -> tuple[Ask, ...]:
    """Return what is asked for at each point; the amounts sum to ``agreed`` (with VAT) to the penny.

    The deposit comes first; the rest is shared over the points by the likely hours of their stages. ``hours``:
    stage -> likely hours; ``asked``: point -> amount of the invoice that stands for it. What was asked stays as it
    was, and what is left of the agreed amount is shared over the points still to come, so a variation changes the
    later amounts only; so does an assessment deducted, point ``ASSESSMENT``. A job without work in a point
    skips it; whatever nothing else takes is the balance, which is below nought when more was asked for than is agreed
    now. Once the balance was asked for nothing follows it.
    Raises ValueError for a negative amount or a deposit outside 0 to 100 per cent.
    """
    if agreed < 0 or not 0 <= deposit_percent <= 100:
        raise ValueError("An agreed amount is not negative, and a deposit is between 0 and 100 per cent of it.")
    amounts = dict(asked or {})
    if BALANCE not in amounts:
        left = agreed - sum(amounts.values(), ZERO)
        if DEPOSIT not in amounts:
            amounts[DEPOSIT] = min(round_money(agreed * deposit_percent / 100), max(left, ZERO))
            left -= amounts[DEPOSIT]
        amounts |= _shared(left, hours, amounts)
    kept = set(asked or {})
    words = ((ASSESSMENT, "assessment, before the order", ()), (DEPOSIT, "deposit on acceptance", ()), *POINTS)
    return tuple(
        Ask(point, says, stages, amounts[point])
        for point, says, stages in words
        if point in kept or point == BALANCE and point in amounts or amounts.get(point)
    )


def _shared(left: Decimal, hours: Mapping[str, Decimal], taken: Mapping[str, Decimal]) -> dict[str, Decimal]:
    """Return point -> amount: what is left, by the likely hours, over the points not in ``taken``."""
    open_points = [(point, stages) for point, _, stages in POINTS if point not in taken]
    weights = [max(sum((hours.get(stage, ZERO) for stage in stages), ZERO), ZERO) for _, stages in open_points]
    if left <= 0 or not any(weights):
        weights = [Decimal(point == BALANCE) for point, _ in open_points]
    return {point: amount for (point, _), amount in zip(open_points, split_amount(left, weights), strict=True)}


def points_reached(open_stages: Collection[str]) -> frozenset[str]:
    """Return the points whose stages are all done; ``open_stages`` are those with a task still to do."""
    reached = {point for point, _, stages in POINTS if not any(stage in open_stages for stage in stages)}
    return frozenset({DEPOSIT, *reached})


def gross_line(words: str, gross: Decimal, vat_percent: Decimal) -> Line:
    """Return a line priced with VAT; the VAT in it is rounded half up (HMRC Notice 700, 17.6: never down)."""
    vat = vat_in_gross(abs(gross), vat_percent)
    vat = -vat if gross < 0 else vat
    return Line(words, gross - vat, vat, gross, vat_percent)


def less_line(words: str, line_net: Decimal, line_vat: Decimal, vat_percent: Decimal) -> Line:
    """Return a line that takes off exactly what an earlier paper asked for, its VAT to the penny."""
    return Line(words, -line_net, -line_vat, -(line_net + line_vat), vat_percent)


def sum_lines(lines: tuple[Line, ...]) -> tuple[Decimal, Decimal, Decimal]:
    """Return net, VAT and total of the lines (EN 16931 BR-CO-13 to 15 on lines already rounded)."""
    net = sum((line.net for line in lines), ZERO)
    vat = sum((line.vat for line in lines), ZERO)
    return net, vat, net + vat


def vat_of_payments(vat: Decimal, total: Decimal, payments: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """Return the VAT in each payment on an invoice, in their order; paid in full they sum to its VAT to the penny.

    A payment on account makes a tax point for what is in it (HMRC Notice 700, section 14), so each receipt needs its
    own figure. The share is that of the invoice, rounded half up on the running sum so that no penny is lost.
    Raises ValueError for payments on an invoice that comes to nothing.
    """
    if payments and not total:
        raise ValueError("An invoice that comes to nothing takes no payment.")
    shares, paid, before = [], ZERO, ZERO
    for payment in payments:
        paid += payment
        upto = round_money(vat * paid / total)
        shares.append(upto - before)
        before = upto
    return tuple(shares)
