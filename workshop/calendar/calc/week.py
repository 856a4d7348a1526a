"""Week dates."""

from datetime import date


def iso_week_label(day: date) -> str:
    """Return the week date of a day, e.g. "2026-W53-5" for 1 January 2027. Source: ISO 8601 week date."""
    year, week, weekday = day.isocalendar()
    return f"{year:04d}-W{week:02d}-{weekday}"
