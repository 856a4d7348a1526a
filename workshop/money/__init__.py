"""Rounding, tax and totals on Decimal, and how an amount of money is written."""
