"""What is asked for when: deposit, visible points of the work, balance."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from workshop.money.calc import round_money, split_amount, vat_in_gross

ZERO = Decimal("0.00")
BALANCE = "balance"
DEPOSIT = "deposit"

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


def stage_asks(agreed: Decimal, deposit_percent: Decimal, hours: Mapping[str, Decimal]) -> tuple[Ask, ...]:
    """Return what is asked for at each point; the amounts sum to ``agreed`` (with VAT) to the penny.

    The deposit comes first; the rest is shared over the points by the likely hours of their stages. ``hours``:
    stage -> likely hours. A job without work in a point skips it; whatever nothing else takes is the balance.
    Raises ValueError for a negative amount or a deposit outside 0 to 100 per cent.
    """
    if agreed < 0 or not 0 <= deposit_percent <= 100:
        raise ValueError("An agreed amount is not negative, and a deposit is between 0 and 100 per cent of it.")
    deposit = round_money(agreed * deposit_percent / 100)
    weights = [sum((hours.get(stage, ZERO) for stage in stages), ZERO) for _, _, stages in POINTS]
    shares = [
        weight if weight > 0 or point == BALANCE else ZERO
        for (point, _, _), weight in zip(POINTS, weights, strict=True)
    ]
    if not any(shares):
        shares[-1] = Decimal(1)
    amounts = split_amount(agreed - deposit, shares)
    first = (Ask(DEPOSIT, "deposit on acceptance", (), deposit),) if deposit else ()
    rest = tuple(
        Ask(point, words, stages, amount)
        for (point, words, stages), amount in zip(POINTS, amounts, strict=True)
        if amount or point == BALANCE
    )
    return (*first, *rest)


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
