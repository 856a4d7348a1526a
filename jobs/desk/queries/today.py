"""What the manager reads first in the morning: decisions, orders, dates, messages, the week."""

import datetime as dt
import re
from dataclasses import dataclass

from jobs.billing.queries import open_invoices
from jobs.desk.queries.completion import passing_words
from jobs.desk.queries.decisions import Decision, decisions_open
from jobs.hours.queries import minutes_by_day
from jobs.scheduling.models import JobEnd, Promise, Stint
from jobs.scheduling.queries import (
    current_plan,
    planned_ends,
    planned_starts,
    promises_standing,
    week_of,
)
from jobs.supplies.queries import NeedRow, need_rows, open_needs
from jobs.updates.models import Update
from jobs.updates.queries import updates_to_release
from jobs.worklist.models import Job
from jobs.worklist.queries import open_jobs
from workshop.calendar.calc.working import ShopWeek
from workshop.calendar.queries import shop_week
from workshop.calendar.words import count_words
from workshop.house.queries import the_shop
from workshop.mail.queries import mails_in_doubt
from workshop.money.words import money
from workshop.people.models import Person
from workshop.places.models import Place

CLOSE_DAYS = 7  # a promise with fewer days in hand than this is shown
MOST_ORDERS = 8
MOST_DECISIONS = 12
SHORT_NAME = 26  # letters of a task's name that stand in a day of the week
ASKS_FOR_MORE = {"a", "and", "at", "for", "from", "in", "of", "on", "or", "the", "to", "with"}


@dataclass(frozen=True)
class Dated:
    """One promise that is broken or close: promised, planned, days in hand, and what decides it."""

    job: Job
    promise: Promise
    end: JobEnd
    days: int

    @property
    def is_late(self) -> bool:
        """Tell whether the plan ends after the promise."""
        return self.days < 0


@dataclass(frozen=True)
class DayWork:
    """One person's day: what is planned, and for how long."""

    day: dt.date
    words: str
    hours: float
    away: str


@dataclass(frozen=True)
class PersonWeek:
    """One person's week."""

    person: Person
    days: tuple[DayWork, ...]
    planned: float
    full: float


@dataclass(frozen=True)
class TodayPage:
    """Everything on the manager's first page."""

    over: str
    sentence: str
    decisions: tuple[Decision, ...]
    orders: tuple[NeedRow, ...]
    dated: tuple[Dated, ...]
    updates: tuple[Update, ...]
    week: tuple[PersonWeek, ...]
    week_days: tuple[dt.date, ...]
    has_plan: bool
    doubtful: int
    overdue: str
    passing: str


def today_page(today: dt.date) -> TodayPage:
    """Return the manager's first page. The number of questions to the database does not grow with the data."""
    shop = the_shop()
    week = shop_week(shop, today - dt.timedelta(days=7), today + dt.timedelta(days=14))
    jobs = list(open_jobs())
    decisions = decisions_open(today)
    orders = _orders(today)
    dated = _dated(jobs)
    updates = tuple(updates_to_release())
    days = tuple(day for day in _week_days(today) if week.is_open(day))
    return TodayPage(
        over=_over(jobs),
        sentence=_sentence(decisions, orders, dated, updates, today),
        decisions=tuple(decisions[:MOST_DECISIONS]),
        orders=tuple(orders[:MOST_ORDERS]),
        dated=tuple(dated),
        updates=updates,
        week=tuple(_week(days, week, today)),
        week_days=days,
        has_plan=current_plan() is not None,
        doubtful=mails_in_doubt().count(),
        overdue=_overdue(today),
        passing=passing_words(),
    )


def _week_days(today: dt.date) -> list[dt.date]:
    monday = today - dt.timedelta(days=today.weekday())
    if today.weekday() > 4:
        monday += dt.timedelta(days=7)
    return [monday + dt.timedelta(days=day) for day in range(7)]


def _over(jobs: list[Job]) -> str:
    inside = [job for job in jobs if job.booked_in_on]
    places = sum(Place.objects.filter(kind=Place.Kind.FLOOR, in_use=True).values_list("holds", flat=True))
    free = places - len(inside)
    state = (
        f"{count_words(free)} floor {'place' if free == 1 else 'places'} free" if free > 0 else "no floor place free"
    )
    return f"{len(inside) or 'no'} {'instrument' if len(inside) == 1 else 'instruments'} in the house, {state}"


def _sentence(
    decisions: list[Decision], orders: list[NeedRow], dated: list[Dated], updates: tuple[Update, ...], today: dt.date
) -> str:
    urgent = sum(1 for row in orders if row.slip and row.slip.last_safe_day <= today)
    late = sum(1 for one in dated if one.is_late)
    parts = [
        _count(len(decisions), "decision", "decisions"),
        _count(urgent, "order that cannot wait", "orders that cannot wait"),
        _count(late, "promise that will not hold", "promises that will not hold"),
        _count(len(updates), "message to read", "messages to read"),
    ]
    said = [part for part in parts if part]
    if not said:
        return "Nothing waits for you this morning."
    text = ", ".join(said)
    return f"{text[:1].upper()}{text[1:]}."


def _count(number: int, one: str, many: str) -> str:
    return f"{count_words(number)} {one if number == 1 else many}" if number else ""


def _orders(today: dt.date) -> list[NeedRow]:
    """Return what is still to be ordered and decides a date, the last safe day first."""
    rows = need_rows(open_needs(), planned_starts(), today)
    waiting = [
        row for row in rows if row.slip is not None and not row.shelf_gives_it and row.need.order_line_id is None
    ]
    return sorted(waiting, key=lambda row: (row.slip.last_safe_day if row.slip else today, row.need.pk))


def _dated(jobs: list[Job]) -> list[Dated]:
    ends = planned_ends()
    standing = promises_standing(jobs)
    found = []
    for job in jobs:
        promise, end = standing.get(job.pk), ends.get(job.pk)
        if promise is None or end is None:
            continue
        days = (promise.date - end.ends_on).days
        if days < CLOSE_DAYS:
            found.append(Dated(job, promise, end, days))
    return sorted(found, key=lambda one: one.days)


def _week(days: tuple[dt.date, ...], week: ShopWeek, today: dt.date) -> list[PersonWeek]:
    if not days:
        return []
    planned = week_of(days[0] - dt.timedelta(days=days[0].weekday()))
    logged = minutes_by_day(days[0], days[-1])
    people = Person.objects.filter(is_active=True, on_the_bench=True).prefetch_related("leaves")
    full = week.open_minutes / 60
    rows = []
    for person in people:
        own = planned.get(person.pk, {})
        cells = tuple(
            _gone(day, logged.get((person.pk, day), 0)) if day < today else _day(person, day, own.get(day, []))
            for day in days
        )
        working = sum(1 for cell in cells if not cell.away)
        rows.append(PersonWeek(person, cells, sum(cell.hours for cell in cells), full * working))
    return rows


def _gone(day: dt.date, minutes: int) -> DayWork:
    """Return a day that is over: what was logged on it."""
    return DayWork(day, "logged" if minutes else "", minutes / 60, "")


def _day(person: Person, day: dt.date, stints: list[Stint]) -> DayWork:
    hours = sum((stint.ends_at - stint.starts_at).total_seconds() / 3600 for stint in stints)
    away = ""
    if not stints:
        leave = [one for one in person.leaves.all() if one.first_day <= day <= one.last_day]
        away = leave[0].reason if leave else ("" if day.weekday() in person.workdays else "not in")
    numbers: dict[str, None] = {}
    for stint in stints:
        numbers[f"{stint.task.job.instrument.number} {_short(stint.task.name)}"] = None
    shown = list(numbers)[:2]
    more = f"and {len(numbers) - 2} more"
    return DayWork(day, "; ".join([*shown, more] if len(numbers) > 2 else shown), hours, away)


def _short(name: str) -> str:
    """Return the first words of a task, as a plan writes them: cut at a whole word that does not ask for another."""
    words = re.split(r"[:;,(]", name)[0].split()
    while len(words) > 1 and (len(" ".join(words)) > SHORT_NAME or words[-1].lower() in ASKS_FOR_MORE):
        words.pop()
    return " ".join(words)


def _overdue(today: dt.date) -> str:
    late = [invoice for invoice in open_invoices() if invoice.due_on < today]
    if not late:
        return ""
    total = sum((invoice.total - invoice.paid for invoice in late), start=late[0].total * 0)
    return f"{money(total)} on {count_words(len(late))} {'invoice' if len(late) == 1 else 'invoices'} is overdue."
