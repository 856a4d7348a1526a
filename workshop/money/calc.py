"""Rounding, VAT, totals and stage amounts, on Decimal throughout.

Amounts are in the currency's main unit (pounds); "penny" stands for its hundredth part. Rates are in per
cent, 20 meaning 20 %, as EN 16931 writes them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from enum import StrEnum

PENNY = Decimal("0.01")
TENTH_OF_A_PENNY = Decimal("0.001")
ZERO = Decimal("0.00")


class Rounding(StrEnum):
    """How VAT on net prices is brought to whole pennies.

    Source: HMRC Notice 700, 17.5 (invoice traders), and EN 16931 BR-CO-17 for the first. Whichever is chosen,
    use it throughout. Rounding down is for traders whose prices are net; see ``vat_in_gross`` for the others.
    """

    DOCUMENT_HALF_UP = "document_half_up"
    DOCUMENT_DOWN = "document_down"
    LINE_NEAREST = "line_nearest"
    LINE_TENTH_THEN_DOWN = "line_tenth_then_down"


@dataclass(frozen=True)
class TotalLine:
    """One line of a document priced without VAT: the net amount in whole pennies and the rate in per cent."""

    net: Decimal
    rate: Decimal


@dataclass(frozen=True)
class GrossLine:
    """One line of a document priced with VAT: the gross amount in whole pennies and the rate in per cent."""

    gross: Decimal
    rate: Decimal


@dataclass(frozen=True)
class RateTotal:
    """What a document charges at one rate: the base without VAT, and the VAT on it."""

    rate: Decimal
    without_vat: Decimal
    vat: Decimal


@dataclass(frozen=True)
class DocumentTotals:
    """The totals of a quote or an invoice, in whole pennies.

    ``line_total``, ``allowance`` and ``charge`` are as priced: without VAT in a net document, with VAT when
    ``prices_include_vat``. ``rates`` runs from the highest rate down.
    """

    line_total: Decimal
    allowance: Decimal
    charge: Decimal
    rates: tuple[RateTotal, ...]
    without_vat: Decimal
    vat: Decimal
    with_vat: Decimal
    paid: Decimal
    rounding_amount: Decimal
    due: Decimal
    prices_include_vat: bool


def round_money(amount: Decimal) -> Decimal:
    """Return an amount rounded to whole pennies, halves away from zero (half up)."""
    return amount.quantize(PENNY, ROUND_HALF_UP)


def vat_on_net(lines: Iterable[Decimal], rate: Decimal, rounding: Rounding = Rounding.DOCUMENT_HALF_UP) -> Decimal:
    """Return the VAT on net amounts at one rate (per cent), in whole pennies.

    Rounding down goes towards zero, so a credit mirrors the invoice it takes back. Raises ValueError for a
    rate outside 0 to 100. Source: HMRC Notice 700, 17.5.1 (document, down) and 17.5.2 (line by line).
    """
    share = _rate_share(rate)
    line_vat = [net * share for net in lines]
    match rounding:
        case Rounding.DOCUMENT_HALF_UP:
            return round_money(sum(line_vat, ZERO))
        case Rounding.DOCUMENT_DOWN:
            return sum(line_vat, ZERO).quantize(PENNY, ROUND_DOWN)
        case Rounding.LINE_NEAREST:
            return sum((round_money(vat) for vat in line_vat), ZERO)
        case Rounding.LINE_TENTH_THEN_DOWN:
            tenths = (vat.quantize(TENTH_OF_A_PENNY, ROUND_HALF_UP) for vat in line_vat)
            return sum(tenths, ZERO).quantize(PENNY, ROUND_DOWN)


def vat_in_gross(gross: Decimal, rate: Decimal) -> Decimal:
    """Return the VAT inside a gross amount at a rate in per cent, rounded half up to whole pennies.

    Prices that include VAT are never rounded down: HMRC Notice 700, 17.6 (retailers). Raises ValueError for a
    rate outside 0 to 100.
    """
    share = _rate_share(rate)
    return round_money(gross * share / (1 + share))


def document_totals(
    lines: Sequence[TotalLine],
    *,
    allowance: Decimal = ZERO,
    charge: Decimal = ZERO,
    paid: Decimal = ZERO,
    rounding_amount: Decimal = ZERO,
    rounding: Rounding = Rounding.DOCUMENT_HALF_UP,
) -> DocumentTotals:
    """Return the totals of a document priced without VAT.

    ``allowance`` (a discount on the whole document) and ``charge`` are positive amounts without VAT; with
    several rates they are shared among them in proportion to the net lines. Source: EN 16931 rules BR-CO-10
    to BR-CO-17; BR-CO-17 is the default rounding, per rate and half up. The others are HMRC's.
    Raises ValueError for a fraction of a penny, a negative allowance or charge, or one that nothing can bear.
    """
    _check_amounts([line.net for line in lines], allowance, charge, paid, rounding_amount)
    groups = _by_rate([(line.net, line.rate) for line in lines])
    off, on = _shared(allowance, groups), _shared(charge, groups)
    rates = tuple(
        RateTotal(
            rate,
            sum(nets, ZERO) - off[rate] + on[rate],
            vat_on_net([*nets, -off[rate], on[rate]], rate, rounding),
        )
        for rate, nets in groups.items()
    )
    line_total = sum((line.net for line in lines), ZERO)
    without_vat = line_total - allowance + charge
    vat = sum((entry.vat for entry in rates), ZERO)
    with_vat = without_vat + vat
    due = with_vat - paid + rounding_amount
    return DocumentTotals(
        line_total, allowance, charge, rates, without_vat, vat, with_vat, paid, rounding_amount, due, False
    )


def gross_document_totals(
    lines: Sequence[GrossLine],
    *,
    allowance: Decimal = ZERO,
    charge: Decimal = ZERO,
    paid: Decimal = ZERO,
    rounding_amount: Decimal = ZERO,
) -> DocumentTotals:
    """Return the totals of a document priced with VAT; the VAT is taken out of the gross sum of each rate.

    ``allowance`` and ``charge`` are positive amounts with VAT, shared among the rates in proportion. The base
    of each rate is its gross sum less its VAT, so what the client was shown is what the client pays.
    Source: HMRC Notice 700, 17.6 (no rounding down). Raises ValueError as ``document_totals``.
    """
    _check_amounts([line.gross for line in lines], allowance, charge, paid, rounding_amount)
    groups = _by_rate([(line.gross, line.rate) for line in lines])
    off, on = _shared(allowance, groups), _shared(charge, groups)
    rates = []
    for rate, amounts in groups.items():
        gross = sum(amounts, ZERO) - off[rate] + on[rate]
        vat_here = vat_in_gross(gross, rate)
        rates.append(RateTotal(rate, gross - vat_here, vat_here))
    line_total = sum((line.gross for line in lines), ZERO)
    with_vat = line_total - allowance + charge
    vat = sum((entry.vat for entry in rates), ZERO)
    due = with_vat - paid + rounding_amount
    return DocumentTotals(
        line_total,
        allowance,
        charge,
        tuple(rates),
        with_vat - vat,
        vat,
        with_vat,
        paid,
        rounding_amount,
        due,
        True,
    )


def split_amount(total: Decimal, shares: Sequence[Decimal | int]) -> list[Decimal]:
    """Return ``total`` split by ``shares`` into whole pennies that add up to it exactly.

    Shares are weights, none negative (30, 40, 30 or 1, 1, 1). Largest remainder: each part is first rounded
    down, and the pennies left go to the parts that lost most, the earlier first. Raises ValueError for a
    total with a fraction of a penny, no shares, a negative share, or shares that are all nought.
    """
    if total != round_money(total):
        raise ValueError(f"{total} has a fraction of a penny: round it before splitting it.")
    weights = [Decimal(share) for share in shares]
    if not weights or min(weights) < 0 or not any(weights):
        raise ValueError("To split an amount give at least one share above nought, and none below.")
    return _apportion(total, weights)


def _apportion(total: Decimal, weights: Sequence[Decimal]) -> list[Decimal]:
    whole = sum(weights, Decimal(0))
    exact = [total * weight / whole for weight in weights]
    parts = [part.quantize(PENNY, ROUND_DOWN) for part in exact]
    left = total - sum(parts, ZERO)
    step = PENNY.copy_sign(left)
    lost = sorted(range(len(parts)), key=lambda index: -(exact[index] - parts[index]) * step)
    for index in lost[: int(abs(left) / PENNY)]:
        parts[index] += step
    return parts


def _by_rate(amounts: Iterable[tuple[Decimal, Decimal]]) -> dict[Decimal, list[Decimal]]:
    groups: dict[Decimal, list[Decimal]] = {}
    for amount, rate in sorted(amounts, key=lambda pair: -pair[1]):
        groups.setdefault(rate, []).append(amount)
    return groups


def _shared(amount: Decimal, groups: dict[Decimal, list[Decimal]]) -> dict[Decimal, Decimal]:
    if not amount:
        return dict.fromkeys(groups, ZERO)
    weights = [sum(amounts, ZERO) for amounts in groups.values()]
    if not sum(weights, ZERO):
        raise ValueError(f"An allowance or charge of {amount} needs lines that come to more than nought.")
    return dict(zip(groups, _apportion(amount, weights), strict=True))


def _rate_share(rate: Decimal) -> Decimal:
    if not 0 <= rate <= 100:
        raise ValueError(f"A VAT rate of {rate} % is not possible: write a figure from 0 to 100, 20 for 20 %.")
    return rate / 100


def _check_amounts(
    lines: Sequence[Decimal], allowance: Decimal, charge: Decimal, paid: Decimal, rounding_amount: Decimal
) -> None:
    for number, amount in enumerate(lines, start=1):
        if amount != round_money(amount):
            raise ValueError(f"Line {number} comes to {amount}: round each line to whole pennies first.")
    named = {"allowance": allowance, "charge": charge, "sum paid": paid, "rounding amount": rounding_amount}
    for name, amount in named.items():
        if amount != round_money(amount):
            raise ValueError(f"The {name} of {amount} has a fraction of a penny: round it first.")
    for name in ("allowance", "charge"):
        if named[name] < 0:
            raise ValueError(f"The {name} of {named[name]} is below nought: write it as a positive amount.")
