"""Hours in the past: who worked when, so that nobody worked twice at once or on a day off."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator

from workshop.calendar.calc.working import ShopWeek
from workshop.people.models import Person

DAY_MINUTES = 390  # attended minutes logged on a full day; common practice, no source
STEP = 5


class Diary:
    """The days already taken of each person. ``pieces`` hands out free minutes and takes them."""

    def __init__(self, week: ShopWeek, until: dt.date) -> None:
        self.week = week
        self.until = until
        self.taken: dict[tuple[int, dt.date], int] = defaultdict(int)

    def pieces(self, person: Person, minutes: int, from_day: dt.date) -> Iterator[tuple[dt.date, int, int]]:
        """Yield (day, minute of the day it begins, minutes) until all are placed or the diary's last day is over."""
        day = from_day
        while minutes > 0 and day <= self.until:
            if self.week.is_open(day) and day.weekday() in person.workdays:
                begun = self.taken[person.pk, day]
                piece = min(minutes, DAY_MINUTES - begun)
                if piece >= STEP or (0 < piece == minutes):
                    self.taken[person.pk, day] += piece
                    minutes -= piece
                    yield day, begun, piece
            day += dt.timedelta(days=1)
