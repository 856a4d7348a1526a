"""Amounts of money as people read them, in British form whatever the locale of the machine."""

from decimal import ROUND_HALF_UP, Decimal

from babel.numbers import format_currency, format_decimal

_LOCALE = "en_GB"


def money(amount: Decimal, currency: str = "GBP") -> str:
    """Return an exact amount, e.g. "£1,240.00"; ``currency`` is an ISO 4217 code. Rounds half up."""
    return format_currency(_to_hundredths(amount), currency, locale=_LOCALE)


def money_round(amount: Decimal, currency: str = "GBP") -> str:
    """Return an amount to the whole pound, e.g. "£1,240", for estimates. Rounds half up."""
    return format_currency(_whole(amount), currency, format="¤#,##0", locale=_LOCALE, currency_digits=False)


def money_range(low: Decimal, high: Decimal, currency: str = "GBP") -> str:
    """Return a range to the whole pound, e.g. "£5,200–6,300", or one amount when both ends round alike.

    Raises ValueError when ``low`` is above ``high``.
    """
    if low > high:
        raise ValueError(f"A range cannot run from {low} down to {high}: give the lower amount first.")
    first = money_round(low, currency)
    if _whole(low) == _whole(high):
        return first
    if low < 0:
        return f"{first} to {money_round(high, currency)}"
    return f"{first}–{format_decimal(_whole(high), format='#,##0', locale=_LOCALE)}"


def _whole(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal(1), ROUND_HALF_UP)


def _to_hundredths(amount: Decimal) -> Decimal:
    # Babel rounds halves to even; the rest of the project rounds them up.
    return amount.quantize(Decimal("0.01"), ROUND_HALF_UP)
