"""Working-day arithmetic of one workshop."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, time, timedelta

_ONE_DAY = timedelta(days=1)
_LONGEST_CLOSURE_DAYS = 3660  # ten years; beyond that the calendar is wrong, not the workshop on holiday


@dataclass(frozen=True)
class ShopWeek:
    """When a workshop is open.

    ``workdays`` are ISO weekdays, 1 for Monday to 7 for Sunday; ``closed_days`` holds public holidays and the
    workshop's own closures; ``slot_minutes`` is the step the plan is made in. Raises ValueError with a
    sentence for a week nobody could work in.
    """

    workdays: frozenset[int] = frozenset({1, 2, 3, 4, 5})
    opens: time = time(8, 0)
    closes: time = time(17, 0)
    closed_days: frozenset[date] = field(default=frozenset())
    slot_minutes: int = 30

    def __post_init__(self) -> None:
        if not self.workdays:
            raise ValueError("A workshop week needs at least one working day.")
        if not self.workdays <= set(range(1, 8)):
            raise ValueError("Working days are numbered 1 for Monday to 7 for Sunday.")
        if self.opens >= self.closes:
            raise ValueError(f"The workshop opens at {self.opens:%H:%M}: closing must come later that day.")
        if not 1 <= self.slot_minutes <= self.open_minutes:
            raise ValueError(
                f"A slot of {self.slot_minutes} minutes does not fit a day of {self.open_minutes} minutes."
            )

    @property
    def open_minutes(self) -> int:
        """Minutes from opening to closing."""
        return (self.closes.hour - self.opens.hour) * 60 + self.closes.minute - self.opens.minute

    @property
    def slots_per_day(self) -> int:
        """Whole slots from opening to closing; a last part of a slot does not count."""
        return self.open_minutes // self.slot_minutes

    def is_open(self, day: date) -> bool:
        """Tell whether the workshop works on this day."""
        return day.isoweekday() in self.workdays and day not in self.closed_days

    def next_open(self, day: date) -> date:
        """Return this day if open, else the next open one. Raises ValueError if ten years have none."""
        return next(self._open_days(day, 1))

    def working_days_between(self, start: date, end: date) -> int:
        """Return the open days from ``start`` on, ``end`` not counted; negative when ``end`` comes first."""
        if end < start:
            return -self.working_days_between(end, start)
        return sum(self.is_open(start + timedelta(days=n)) for n in range((end - start).days))

    def add_working_days(self, day: date, n: int) -> date:
        """Return the open day ``n`` working days after ``day``, before it when ``n`` is negative.

        A closed ``day`` counts as the next open one, so from a Saturday 0 is Monday and 1 is Tuesday. Raises
        ValueError when no open day is found within ten years.
        """
        here = self.next_open(day)
        step = 1 if n > 0 else -1
        for _ in range(abs(n)):
            here = next(self._open_days(here + step * _ONE_DAY, step))
        return here

    def _open_days(self, day: date, step: int) -> Iterator[date]:
        closed = 0
        while closed < _LONGEST_CLOSURE_DAYS:
            if self.is_open(day):
                closed = 0
                yield day
            else:
                closed += 1
            day += step * _ONE_DAY
        raise ValueError(f"No open day within ten years of {day.isoformat()}: look through the closures.")
