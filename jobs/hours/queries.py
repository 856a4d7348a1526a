"""Questions about logged time. Only entries that stand count: not those corrected or withdrawn."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import QuerySet, Sum
from django.utils import timezone

from jobs.hours.house_queries import house_standing
from jobs.hours.models import TimeEntry
from jobs.scheduling.models import Stint
from jobs.scheduling.queries import stints_on
from jobs.supplies.models import Need
from jobs.worklist.models import Job, Task, Variation
from jobs.worklist.queries import OPEN as OPEN_JOBS
from jobs.worklist.queries import OPEN_STATES
from workshop.calendar.words import day_words
from workshop.people.models import Person

DAY_MINUTES = 24 * 60
PARTS_AWAY = (Need.State.OPEN, Need.State.ORDERED)


def standing() -> QuerySet[TimeEntry]:
    """Return the entries that stand."""
    return TimeEntry.objects.filter(replaced_by=None, withdrawn=False)


def hours_of(job: Job) -> dict[int, int]:
    """Return the minutes logged on each task of a job."""
    rows = standing().filter(task__job=job, minutes__isnull=False).order_by().values_list("task")
    return dict(rows.annotate(total=Sum("minutes")))


def minutes_by_task(jobs: Collection[Job]) -> dict[int, int]:
    """Return the minutes logged on each task of several jobs."""
    rows = standing().filter(task__job__in=jobs, minutes__isnull=False).order_by().values_list("task")
    return dict(rows.annotate(total=Sum("minutes")))


def minutes_of_open_tasks() -> dict[int, int]:
    """Return the minutes logged on each task that is at work or still to come."""
    open_states = (Task.State.AT_WORK, Task.State.TO_COME)
    rows = standing().filter(task__state__in=open_states, minutes__isnull=False).order_by().values_list("task")
    return dict(rows.annotate(total=Sum("minutes")))


def people_at_work() -> dict[int, int]:
    """Return, for each task at work, the person who logged on it last: who has begun it goes on with it."""
    rows = standing().filter(task__state=Task.State.AT_WORK).order_by("on", "started_at", "pk")
    return {entry.task_id: entry.person_id for entry in rows}


def last_at(task: Task) -> Person | None:
    """Return the person who logged on a task last; None where nobody has."""
    entry = standing().filter(task=task).select_related("person").order_by("-on", "-started_at", "-pk").first()
    return entry.person if entry else None


def minutes_of(task: Task) -> int:
    """Return the minutes logged on one task."""
    return standing().filter(task=task).aggregate(total=Sum("minutes"))["total"] or 0


def running_of(person: Person) -> TimeEntry | None:
    """Return the entry whose clock runs for a person."""
    return (
        TimeEntry.objects.filter(person=person, minutes=None, withdrawn=False)
        .select_related("task__job__instrument", "task__operation")
        .first()
    )


def today_of(person: Person, day: dt.date) -> list[TimeEntry]:
    """Return the entries of a person on one day that stand, in order."""
    rows = standing().filter(person=person, on=day).select_related("task__job__instrument", "replaces")
    return list(rows.order_by("started_at", "pk"))


def minutes_on(person: Person, day: dt.date) -> int:
    """Return the minutes a person has logged on one day, on tasks and for the house."""
    rows = (standing().filter(person=person, on=day), house_standing().filter(person=person, on=day))
    return sum(some.aggregate(total=Sum("minutes"))["total"] or 0 for some in rows)


def clock_minutes_on(person: Person, day: dt.date, at: dt.datetime, *, longest: dt.timedelta) -> int:
    """Return how many minutes of one day a person's running clock has counted by a moment.

    A clock that has run ``longest`` or more counts nothing: it was forgotten.
    """
    running = running_of(person)
    if running is None or running.started_at is None or at - running.started_at > longest:
        return 0
    midnight = timezone.make_aware(dt.datetime.combine(day, dt.time()))
    next_midnight = timezone.make_aware(dt.datetime.combine(day + dt.timedelta(days=1), dt.time()))
    begun, until = max(running.started_at, midnight), min(at, next_midnight)
    return max(0, round((until - begun).total_seconds() / 60))


def clock_overfills_day(person: Person, at: dt.datetime, *, longest: dt.timedelta) -> bool:
    """Tell whether a running clock and what is kept make a day longer than a day is; ``longest`` as above."""
    running = running_of(person)
    if running is None or running.started_at is None:
        return False
    days = {timezone.localdate(running.started_at), timezone.localdate(at)}
    return any(
        minutes_on(person, day) + clock_minutes_on(person, day, at, longest=longest) > DAY_MINUTES for day in days
    )


@dataclass(frozen=True)
class NextTask:
    """One task a person can begin: when it is planned, what is logged on it, and what holds it."""

    task: Task
    minutes: int
    planned_at: dt.datetime | None
    waits_for: str

    @property
    def can_start(self) -> bool:
        """Tell whether nothing holds it."""
        return not self.waits_for


def next_tasks(person: Person, day: dt.date, *, at: dt.datetime, most: int = 8) -> list[NextTask]:
    """Return what a person does next: what they have begun and what the plan gives them today.

    Where there is neither, open tasks of their skills that nothing holds. ``at`` is the moment at which work that
    rests after the task before it is asked for.
    """
    planned: dict[int, Stint] = {}
    for stint in stints_on(person, day):
        planned.setdefault(stint.task_id, stint)
    begun = standing().filter(person=person, task__state=Task.State.AT_WORK, minutes__isnull=False)
    own = set(begun.order_by().values_list("task", flat=True))
    tasks = _tasks({*planned, *own}) or _by_skill(person, at, most)
    keys = [task.pk for task in tasks]
    minutes, held = _minutes_on_tasks(keys), _held_among(keys)
    found = []
    for task in tasks:
        start = planned[task.pk].starts_at if task.pk in planned else None
        found.append(NextTask(task, minutes.get(task.pk, 0), start, _waits(task, held.get(task.pk, []), at)))
    last = dt.datetime.max.replace(tzinfo=dt.UTC)
    found.sort(key=lambda one: (not one.can_start, one.planned_at or last, not one.minutes, one.task.position))
    return found[:most]


def _tasks(keys: Collection[int]) -> list[Task]:
    rows = Task.objects.filter(
        pk__in=keys, state__in=(Task.State.TO_COME, Task.State.AT_WORK), job__state__in=OPEN_JOBS
    )
    return _with_what_holds(rows)


def _with_what_holds(rows: QuerySet[Task]) -> list[Task]:
    return list(rows.select_related("job__instrument", "operation").prefetch_related("after", "needs__part"))


def _by_skill(person: Person, at: dt.datetime, most: int) -> list[Task]:
    """Return open tasks of a person's skills that nothing holds."""
    rows = Task.objects.filter(
        job__state=Job.State.IN_HOUSE,
        skill__in=person.skills.all(),
        state__in=(Task.State.TO_COME, Task.State.AT_WORK),
    )
    free = (
        rows.exclude(after__state__in=(Task.State.TO_COME, Task.State.AT_WORK))
        .exclude(held_by__state__in=OPEN_STATES)
        .exclude(needs__state__in=PARTS_AWAY)
        .order_by("state", "job", "position")
    )
    return [task for task in _with_what_holds(free[: most * 4]) if not _waits(task, [], at)][:most]


def _minutes_on_tasks(keys: Collection[int]) -> dict[int, int]:
    rows = standing().filter(task__in=keys, minutes__isnull=False).order_by().values_list("task")
    return dict(rows.annotate(total=Sum("minutes")))


def _held_among(keys: Collection[int]) -> dict[int, list[int]]:
    """Return, of some tasks, those held by a variation, with the numbers of the variations."""
    held: dict[int, list[int]] = {}
    waiting = Variation.objects.filter(state__in=OPEN_STATES, affects__in=keys).order_by("number")
    for task, number in waiting.values_list("affects", "number"):
        held.setdefault(task, []).append(number)
    return held


def _waits(task: Task, held: Collection[int], at: dt.datetime) -> str:
    """Return what a task waits for in words; empty when it may begin."""
    if held:
        return f"variation {' and '.join(map(str, held))}"
    before = [first for first in task.after.all() if first.state not in (Task.State.DONE, Task.State.LEFT_OUT)]
    if before:
        return before[0].name
    parts = [need.part.name for need in task.needs.all() if need.state in PARTS_AWAY]
    if parts:
        return f"parts: {parts[0]}"
    rests = [
        (first.done_at + dt.timedelta(hours=first.wait_hours), first) for first in task.after.all() if first.done_at
    ]
    over, first = max(rests, key=lambda pair: pair[0], default=(at, None))
    if first is None or over <= at:
        return ""
    local = timezone.localtime(over)
    return f"{first.wait_reason or 'rest'}, till {day_words(local.date())}, {local:%H:%M}"


def entries_on(task: Task, person: Person) -> list[TimeEntry]:
    """Return the entries that stand on a task: a technician's own, all of them for the manager."""
    rows = standing().filter(task=task, minutes__isnull=False).select_related("person", "replaces")
    return list(rows if person.is_manager else rows.filter(person=person))


def minutes_by_day(first: dt.date, last: dt.date) -> dict[tuple[int, dt.date], int]:
    """Return (person, day) -> minutes logged, from one day to another, both included; on tasks and for the house."""
    found: dict[tuple[int, dt.date], int] = {}
    for rows in (standing().filter(minutes__isnull=False), house_standing()):
        days = rows.filter(on__gte=first, on__lte=last).order_by().values_list("person", "on")
        for person, day, total in days.annotate(total=Sum("minutes")):
            found[person, day] = found.get((person, day), 0) + total
    return found
