"""Clock times as whole numbers: the axis of the shop's working slots.

Position ``p`` is slot ``p % day`` of the shop's working day number ``p // day``. Nights, weekends and
closures take no room on it. An end is the position after the last slot worked, so "ends at 16:00" and "next
morning" are one position.
"""

from bisect import bisect_left
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from jobs.scheduling.calc.problem import Problem, Stint, Technician, minutes_of

DAY = timedelta(days=1)
DAY_MINUTES = 24 * 60


@dataclass(frozen=True, slots=True)
class OwnDays:
    """When one technician works, on the shop's axis."""

    working: tuple[bool, ...]
    """For each shop day: at work?"""
    before: tuple[int, ...]
    """For each shop day: own days before it."""
    shop_day: tuple[int, ...]
    """For each own day: the shop day it is."""
    next_leave: tuple[int, ...]
    """For each shop day: the first shop day of leave on or after it."""
    run: tuple[int, ...]
    """For each shop day: own days in the stretch between two leaves around it."""


class Timeline:
    """The shop's working slots over ``days`` calendar days from the plan's start, and back to clock times."""

    def __init__(self, problem: Problem, days: int) -> None:
        self.opens = minutes_of(problem.opens)
        self.slot = problem.slot_minutes
        self.day = problem.day_minutes // problem.slot_minutes
        self.start = problem.start
        closed = set(problem.holidays)
        dates = (problem.start + DAY * number for number in range(days))
        self.dates = [day for day in dates if day.weekday() in problem.workdays and day not in closed]
        self.numbers = [(day - self.start).days for day in self.dates]
        self.end = len(self.dates) * self.day

    def own_days(self, technician: Technician) -> OwnDays:
        """The technician's days on this axis."""
        away = [any(first <= day <= last for first, last in technician.leave) for day in self.dates]
        working = [
            day.weekday() in technician.workdays and not gone for day, gone in zip(self.dates, away, strict=True)
        ]
        before, count = [], 0
        for at_work in working:
            before.append(count)
            count += at_work
        last = len(self.dates)
        next_leave = [last] * last
        for number in range(last - 1, -1, -1):
            following = next_leave[number + 1] if number + 1 < last else last
            next_leave[number] = number if away[number] else following
        shop_day = tuple(number for number, at_work in enumerate(working) if at_work)
        return OwnDays(tuple(working), (*before, count), shop_day, tuple(next_leave), tuple(_runs(working, away)))

    def position(self, moment: datetime) -> int:
        """First working slot that starts at or after a moment (0 before the plan's start)."""
        return self.position_at((moment.date() - self.start).days * DAY_MINUTES + minutes_of(moment.time()))

    def position_of_day(self, day: date) -> int:
        """First working slot on or after a date."""
        return self.position(datetime.combine(day, time()))

    def position_at(self, minutes: float) -> int:
        """First working slot at or after so many clock minutes since the start date's midnight."""
        number, rest = divmod(minutes, DAY_MINUTES)
        index = bisect_left(self.numbers, number)
        if index == len(self.numbers) or self.numbers[index] > number:
            return index * self.day
        slots = max(0, -(-(rest - self.opens) // self.slot))
        return index * self.day + int(min(slots, self.day))

    def end_minutes(self, end: int) -> int:
        """Clock minutes since the start date's midnight of an end position."""
        number, slot = divmod(end - 1, self.day)
        return self.numbers[number] * DAY_MINUTES + self.opens + (slot + 1) * self.slot

    def clock(self, number: int, slots: int) -> datetime:
        """The moment after so many slots of shop day ``number``."""
        return datetime.combine(self.dates[number], time()) + timedelta(minutes=self.opens + slots * self.slot)

    def work_end(self, own: OwnDays, start: int, slots: int) -> int:
        """End position of uninterrupted work of ``slots`` begun at ``start``, a slot of the technician's."""
        number, slot = divmod(start, self.day)
        days, rest = divmod(own.before[number] * self.day + slot + slots - 1, self.day)
        return own.shop_day[days] * self.day + rest + 1

    def stints(self, own: OwnDays, start: int, slots: int) -> list[Stint]:
        """The same work as stints, one a day."""
        number, slot = divmod(start, self.day)
        found = []
        while slots > 0:
            if own.working[number]:
                length = min(slots, self.day - slot)
                found.append(Stint(self.clock(number, slot), self.clock(number, slot + length)))
                slots -= length
                slot = 0
            number += 1
        return found


def _runs(working: list[bool], away: list[bool]) -> list[int]:
    """Own working days in the stretch without leave that each day belongs to (0 on leave)."""
    runs = [0] * len(working)
    first = 0
    for number in range(len(working) + 1):
        if number == len(working) or away[number]:
            length = sum(working[first:number])
            runs[first:number] = [length] * (number - first)
            first = number + 1
    return runs
