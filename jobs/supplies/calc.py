"""When a part must be ordered, and what happens if it is not.

Lead times are calendar days from order to arrival; a parcel that would come on a closed day is there on the next
open one, in the morning, so work may begin the same day.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from workshop.calendar.calc.working import ShopWeek
from workshop.calendar.words import count_words, day_words

# Sold only whole; everything else is measured out.
COUNTED_UNITS = frozenset({"lot", "pair", "piece", "roll", "set", "sheet", "strip", "unit"})
_SMALLEST = Decimal("0.01")


def arrival_day(ordered_on: date, lead_days: int, week: ShopWeek) -> date:
    """Return the day an ordered part is there: ``lead_days`` calendar days later, or the next open day.

    Raises ValueError for a lead time below nought.
    """
    if lead_days < 0:
        raise ValueError(f"A lead time of {lead_days} days is below nought: nothing comes before it is ordered.")
    return week.next_open(ordered_on + timedelta(days=lead_days))


def last_safe_order_day(needed_on: date, lead_days: int, week: ShopWeek) -> date:
    """Return the last open day on which an order still brings the part by ``needed_on`` (there that morning).

    Raises ValueError as ``arrival_day`` does.
    """
    day = needed_on - timedelta(days=lead_days)
    while not week.is_open(day) or arrival_day(day, lead_days, week) > needed_on:
        day = week.add_working_days(day, -1) if week.is_open(day) else day - timedelta(days=1)
    return day


@dataclass(frozen=True)
class Slip:
    """What ordering on one day means for a day of work.

    ``days`` counts working days: above nought how many the work waits, below nought how many are in hand before
    the order must go.
    """

    last_safe_day: date
    arrives_on: date
    needed_on: date
    days: int

    @property
    def is_late(self) -> bool:
        """Tell whether the part comes after the day it is needed."""
        return self.days > 0

    @property
    def words(self) -> str:
        """Return the consequence in a few words."""
        if self.is_late:
            return f"comes {_working_days(self.days)} late: the work waits until {day_words(self.arrives_on)}"
        if not self.days:
            return "today is the last safe day"
        return f"{_working_days(-self.days)} in hand"


def order_slip(*, ordered_on: date, needed_on: date, lead_days: int, week: ShopWeek) -> Slip:
    """Return what ordering on ``ordered_on`` means for work planned to begin on ``needed_on``."""
    arrives = arrival_day(ordered_on, lead_days, week)
    last = last_safe_order_day(needed_on, lead_days, week)
    if arrives > needed_on:
        # At least one: a day of work planned on a closed day is lost all the same.
        return Slip(last, arrives, needed_on, max(1, week.working_days_between(needed_on, arrives)))
    return Slip(last, arrives, needed_on, -week.working_days_between(ordered_on, last))


def needed_quantity(*, quantity: Decimal, per_unit: bool, units: Decimal, sold_by: str) -> Decimal:
    """Return how much of a part one task needs, in the part's unit.

    ``quantity`` is for the whole task, or for each of its ``units``. What is sold whole is rounded up to whole
    ones, the rest to hundredths, never down to nothing. Raises ValueError when there is nothing to need.
    """
    wanted = quantity * units if per_unit else quantity
    if wanted <= 0:
        raise ValueError(f"A quantity of {wanted} is not above nought.")
    if sold_by in COUNTED_UNITS:
        return wanted.to_integral_value(ROUND_CEILING)
    return max(_SMALLEST, wanted.quantize(_SMALLEST, ROUND_HALF_UP))


def covered(wanted: Iterable[Decimal], available: Decimal) -> list[bool]:
    """Return for each quantity, in order, whether what is available covers it; what is too large is passed over."""
    found = []
    for quantity in wanted:
        found.append(quantity <= available)
        if found[-1]:
            available -= quantity
    return found


def _working_days(count: int) -> str:
    return f"{count_words(count)} working day{'' if count == 1 else 's'}"
