"""Measurements, run by hand: ``python -m tests.bench.<name> --help``. They print tables and assert nothing."""
