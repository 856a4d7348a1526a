"""Prices of a scope and the difference between scopes, on Decimal."""
