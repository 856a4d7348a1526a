"""Days, hours, chances and counts as people say them, in English whatever the locale of the machine."""

from collections.abc import Collection
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_COUNTS = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip


def day_words(day: date) -> str:
    """Return a day as "Fri 12 Mar"."""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]}"


def day_words_year(day: date) -> str:
    """Return a day as "Fri 12 Mar 2027"."""
    return f"{day_words(day)} {day.year}"


def weekdays_words(days: Collection[int]) -> str:
    """Return weekdays, Monday 0, as "Monday to Friday", "Monday, Tuesday and Friday" or "on no day"."""
    names = [name for number, name in enumerate(_WEEKDAYS) if number in days]
    if not names:
        return "on no day"
    if len(names) > 2 and max(days) - min(days) == len(names) - 1:
        return f"{names[0]} to {names[-1]}"
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def hours_words(hours: float | Decimal) -> str:
    """Return hours in a sentence: "29.5 h", "8 h", "0.25 h"; one decimal, two below an hour, no noughts at the end."""
    words = _rounded(hours, 2 if abs(float(hours)) < 1 else 1)
    return f"{words.rstrip('0').rstrip('.')} h"


def hours_in_column(hours: float | Decimal, places: int = 1) -> str:
    """Return hours as all cells of a column have them, so that they can be compared: "29.5 h", "8.0 h", "0.3 h"."""
    return f"{_rounded(hours, places)} h"


def hours_exact(hours: float | Decimal) -> str:
    """Return hours to the hundredth as a norm is written: "2.25 h", "8 h"."""
    return f"{_rounded(hours, 2).rstrip('0').rstrip('.')} h"


def _rounded(hours: float | Decimal, places: int) -> str:
    """Return a number with so many decimals, halves upwards as people round: 1.25 is 1.3."""
    exact = Decimal(str(round(abs(float(hours)), 6))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return f"{'−' if hours < 0 and exact else ''}{exact:,}"


def minutes_words(minutes: int) -> str:
    """Return minutes as "1 h 24", "1 h" or "45 min". Raises ValueError below nought."""
    if minutes < 0:
        raise ValueError(f"{minutes} minutes is below nought: a time taken cannot be.")
    whole, rest = divmod(minutes, 60)
    if not whole:
        return f"{rest} min"
    return f"{whole:,} h {rest:02d}" if rest else f"{whole:,} h"


def clock_words(hours: float | Decimal) -> str:
    """Return hours to the nearest five minutes, as time is kept at the bench: "3 h 20", "25 min"; at least five."""
    return minutes_words(max(5, 5 * round(float(hours) * 12)))


def chance_words(chance: float) -> str:
    """Return a chance between 0 and 1 as "8 in 10", to the nearest tenth.

    What would round to a certainty is said as "more than 9 in 10" or "less than 1 in 10". Raises ValueError
    outside 0 to 1.
    """
    if not 0 <= chance <= 1:
        raise ValueError(f"A chance lies between 0 and 1, not at {chance}.")
    tenths = int(round(chance * 10, 6) + 0.5)
    if tenths == 10:
        return "more than 9 in 10"
    return f"{tenths} in 10" if tenths else "less than 1 in 10"


def count_words(count: int) -> str:
    """Return a count before a noun: "no", "one" to "twelve", then figures ("13", "1,240")."""
    return _COUNTS[count] if 0 <= count <= 12 else f"{count:,}"
