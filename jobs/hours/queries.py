"""Questions about logged time. Only entries that stand count: not those corrected or withdrawn."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import QuerySet, Sum

from jobs.hours.models import TimeEntry
from jobs.scheduling.models import Stint
from jobs.scheduling.queries import stints_on
from jobs.worklist.models import Job, Task
from jobs.worklist.queries import held_tasks
from workshop.people.models import Person


def standing() -> QuerySet[TimeEntry]:
    """Return the entries that stand."""
    return TimeEntry.objects.filter(replaced_by=None, withdrawn=False)


def hours_of(job: Job) -> dict[int, int]:
    """Return the minutes logged on each task of a job."""
    rows = standing().filter(task__job=job, minutes__isnull=False).order_by().values_list("task")
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
    """Return the minutes a person has logged on one day."""
    return standing().filter(person=person, on=day).aggregate(total=Sum("minutes"))["total"] or 0


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


def next_tasks(person: Person, day: dt.date, *, most: int = 8) -> list[NextTask]:
    """Return what a person does next: what the plan gives them today, or open tasks of their skills."""
    stints = stints_on(person, day)
    planned: dict[int, Stint] = {}
    for stint in stints:
        planned.setdefault(stint.task_id, stint)
    tasks = _tasks(list(planned)) if planned else _by_skill(person, most)
    minutes = minutes_of_open_tasks()
    held: dict[int, set[int]] = {}
    found = []
    for task in tasks:
        job_held = held.setdefault(task.job_id, held_tasks(task.job))
        start = planned[task.pk].starts_at if task.pk in planned else None
        found.append(NextTask(task, minutes.get(task.pk, 0), start, _waits(task, task.pk in job_held)))
    return sorted(found, key=lambda one: (one.planned_at is None, one.planned_at, one.task.position))[:most]


def _tasks(keys: list[int]) -> list[Task]:
    rows = Task.objects.filter(pk__in=keys, state__in=(Task.State.TO_COME, Task.State.AT_WORK))
    return list(rows.select_related("job__instrument", "operation").prefetch_related("after", "needs__part"))


def _by_skill(person: Person, most: int) -> list[Task]:
    """Return open tasks of a person's skills that nothing holds, where there is no plan for the day."""
    skills = [skill.pk for skill in person.skills.all()]
    rows = Task.objects.filter(
        job__state=Job.State.IN_HOUSE, skill__in=skills, state__in=(Task.State.TO_COME, Task.State.AT_WORK)
    )
    listed = rows.select_related("job__instrument", "operation").prefetch_related("after", "needs__part")
    ready = [task for task in listed.order_by("state", "position")[:80] if not _waits(task, False)]
    return ready[:most]


def _waits(task: Task, held: bool) -> str:
    """Return what a task waits for in words; empty when it may begin."""
    if held:
        return "the client’s answer to a variation"
    before = [first for first in task.after.all() if first.state not in (Task.State.DONE, Task.State.LEFT_OUT)]
    if before:
        return before[0].name
    parts = [need.part.name for need in task.needs.all() if need.state in ("open", "ordered")]
    return f"parts: {parts[0]}" if parts else ""


def entries_listed() -> QuerySet[TimeEntry]:
    """Return all entries that stand for the manager's list, with what they replaced."""
    return (
        standing()
        .filter(minutes__isnull=False)
        .select_related("task__job__instrument", "person", "replaces", "corrected_by")
    )


def minutes_by_day(first: dt.date, last: dt.date) -> dict[tuple[int, dt.date], int]:
    """Return (person, day) -> minutes logged, from one day to another, both included."""
    rows = standing().filter(on__gte=first, on__lte=last, minutes__isnull=False).order_by()
    return {
        (person, day): total for person, day, total in rows.values_list("person", "on").annotate(total=Sum("minutes"))
    }
