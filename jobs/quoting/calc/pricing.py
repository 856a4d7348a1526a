"""From hours, parts and rates to the lines and totals of one scope.

Money is Decimal in the currency's main unit, rates are per cent, hours are Decimal. A quote is priced in one of
two ways: ``net`` (VAT is added at the foot) or ``gross`` (every amount shown includes VAT, as private clients
are owed). The printed line is exact in the way the quote is priced; the other side of it is for information.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from workshop.money.calc import (
    DocumentTotals,
    GrossLine,
    TotalLine,
    document_totals,
    gross_document_totals,
    round_money,
    split_amount,
    vat_in_gross,
)

NET = "net"
GROSS = "gross"
TENTH_OF_AN_HOUR = Decimal("0.1")


@dataclass(frozen=True)
class Amount:
    """One line: what it comes to without and with VAT, in whole pennies, and its rate in per cent."""

    net: Decimal
    gross: Decimal
    rate: Decimal

    def shown(self, mode: str) -> Decimal:
        """Return the amount as the quote is priced."""
        return self.gross if mode == GROSS else self.net


@dataclass(frozen=True)
class PartUse:
    """So many units of a part at a price for one unit, without VAT and without mark-up."""

    code: str
    name: str
    unit: str
    quantity: Decimal
    price: Decimal


def priced_hours(hours: float | Decimal) -> Decimal:
    """Return hours to a tenth, half up, as they are printed and charged."""
    return Decimal(str(hours)).quantize(TENTH_OF_AN_HOUR, ROUND_HALF_UP)


def amount_from_net(net: Decimal, rate: Decimal, mode: str) -> Amount:
    """Return a line from an exact net amount; the side the quote is priced in is rounded from it directly."""
    if mode == GROSS:
        return amount_from_gross(round_money(net * (100 + rate) / 100), rate)
    rounded = round_money(net)
    return Amount(rounded, rounded + round_money(rounded * rate / 100), rate)


def amount_from_gross(gross: Decimal, rate: Decimal) -> Amount:
    """Return a line from a gross amount in whole pennies; its VAT is taken out and rounded half up."""
    return Amount(gross - vat_in_gross(gross, rate), gross, rate)


def amount_by_hand(shown: Decimal, rate: Decimal, mode: str) -> Amount:
    """Return a line from an amount typed as the quote is priced."""
    return amount_from_gross(shown, rate) if mode == GROSS else amount_from_net(shown, rate, NET)


def labour_by_stage(
    hours: Decimal, hourly_rate: Decimal, weights: Mapping[str, Decimal], rate: Decimal, mode: str
) -> dict[str, Amount]:
    """Return the labour of each stage: hours times the hourly rate (without VAT), shared by the stages' hours.

    The lines add up to the penny to the price of all the hours, which is what the client can work out again.
    The hours of the bundle are a little more than the sum of its tasks (ESTIMATING: the mean of a skewed
    figure lies above its middle), so the stages are given their share of the whole and not their own sum.
    """
    used = {stage: weight for stage, weight in weights.items() if weight > 0}
    if not used:
        return {}
    whole = amount_from_net(hours * hourly_rate, rate, mode)
    parts = split_amount(whole.shown(mode), list(used.values()))
    return {stage: amount_by_hand(part, rate, mode) for stage, part in zip(used, parts, strict=True)}


def parts_together(uses: Iterable[PartUse]) -> list[PartUse]:
    """Return the parts with the quantities of the same part added up, in the order they are first used."""
    found: dict[str, PartUse] = {}
    for use in uses:
        before = found[use.code].quantity if use.code in found else Decimal(0)
        found[use.code] = PartUse(use.code, use.name, use.unit, before + use.quantity, use.price)
    return list(found.values())


def part_amount(use: PartUse, markup_percent: Decimal, rate: Decimal, mode: str) -> Amount:
    """Return the price of a part: quantity times price plus mark-up."""
    return amount_from_net(use.quantity * use.price * (100 + markup_percent) / 100, rate, mode)


def totals(amounts: Sequence[Amount], mode: str) -> DocumentTotals:
    """Return the totals of a scope. Source: EN 16931 BR-CO-10 to -17 (net); HMRC Notice 700, 17.6 (gross)."""
    if mode == GROSS:
        return gross_document_totals([GrossLine(each.gross, each.rate) for each in amounts])
    return document_totals([TotalLine(each.net, each.rate) for each in amounts])
