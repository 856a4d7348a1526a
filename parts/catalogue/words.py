"""Quantities as people read them."""

from decimal import Decimal

_ABBREVIATIONS = frozenset({"g", "kg", "m", "m²", "mm", "cm", "l", "ml"})
_UNCHANGED = frozenset({"pieces", "sets"})


def number_words(quantity: Decimal) -> str:
    """Return a quantity without needless noughts: "3", "0.42"; a minus sign when negative."""
    text = f"{quantity:,.2f}".rstrip("0").rstrip(".")
    return text.replace("-", "−")


def amount_words(quantity: Decimal, unit: str) -> str:
    """Return a quantity with its unit: "1 set", "2 sets", "0.42 litre", "3 m"."""
    plural = abs(quantity) > 1 and unit not in _ABBREVIATIONS and unit not in _UNCHANGED and not unit.endswith("s")
    return f"{number_words(quantity)} {unit}{'s' if plural else ''}"
