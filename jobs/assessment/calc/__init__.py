"""Pitch, touch, climate, units, ranges and findings: numbers in, numbers and plain records out."""
