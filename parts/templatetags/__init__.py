"""Filters of the parts pages."""
