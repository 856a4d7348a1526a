"""Quantities as people read them."""

from decimal import Decimal
from typing import Any

from django import template

from parts.catalogue.words import amount_words, number_words

register = template.Library()


@register.filter
def amount(quantity: Any, unit: str = "") -> str:
    """Return a quantity with its unit, "2 sets", or alone; empty for None."""
    if quantity in (None, ""):
        return ""
    return amount_words(Decimal(quantity), unit) if unit else number_words(Decimal(quantity))
