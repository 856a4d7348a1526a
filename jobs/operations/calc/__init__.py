"""Scope closure, alternatives, refusals, order through operations left out, quantities."""
