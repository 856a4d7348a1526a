"""Moments of the demo: everything is counted in days from the day it is built."""

import datetime as dt
from dataclasses import dataclass

from django.utils import timezone

from workshop.calendar.calc.working import ShopWeek


@dataclass(frozen=True)
class Moments:
    """The day the demo is built, and the shop's week around it."""

    today: dt.date
    week: ShopWeek

    def day(self, days: int) -> dt.date:
        """Return the working day nearest after so many days from today (negative: before)."""
        found = self.week.next_open(self.today + dt.timedelta(days=days))
        return found if days > 0 or found <= self.today else self.week.add_working_days(found, -1)

    def at(self, days: int, hour: int = 10, minute: int = 0) -> dt.datetime:
        """Return an aware moment on that working day."""
        return self.on(self.day(days), hour, minute)

    def on(self, day: dt.date, hour: int = 10, minute: int = 0) -> dt.datetime:
        """Return an aware moment on a given day."""
        return dt.datetime.combine(day, dt.time(hour, minute), tzinfo=timezone.get_current_timezone())
