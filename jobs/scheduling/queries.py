"""Questions about the plan and the promises."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Max, Min, QuerySet
from django.utils import timezone

from jobs.scheduling.models import JobEnd, Plan, Promise, Stint
from jobs.worklist.models import Job as JobRow
from jobs.worklist.models import Task
from workshop.people.models import Person


@dataclass(frozen=True)
class PlannedTask:
    """One task as the plan in force has it."""

    task: int
    person: Person
    starts_at: dt.datetime
    ends_at: dt.datetime


def current_plan() -> Plan | None:
    """Return the plan in force."""
    return Plan.objects.filter(is_current=True).first()


def stints_of(plan: Plan | None, first: dt.date, last: dt.date) -> QuerySet[Stint]:
    """Return the stints of a plan from one day to another, both included, with task, job and person."""
    zone = timezone.get_current_timezone()
    begins = dt.datetime.combine(first, dt.time(), tzinfo=zone)
    ends = dt.datetime.combine(last + dt.timedelta(days=1), dt.time(), tzinfo=zone)
    return (
        Stint.objects.filter(plan=plan, starts_at__gte=begins, starts_at__lt=ends)
        .select_related("task__job__instrument", "task__operation", "person")
        .order_by("starts_at", "pk")
    )


def stints_on(person: Person, day: dt.date) -> list[Stint]:
    """Return what the plan in force gives one person to do on one day."""
    plan = current_plan()
    return list(stints_of(plan, day, day).filter(person=person)) if plan else []


def week_of(monday: dt.date) -> dict[int, dict[dt.date, list[Stint]]]:
    """Return the stints of a week: person -> day -> stints."""
    week: dict[int, dict[dt.date, list[Stint]]] = {}
    plan = current_plan()
    if plan is None:
        return week
    for stint in stints_of(plan, monday, monday + dt.timedelta(days=6)):
        day = timezone.localtime(stint.starts_at).date()
        week.setdefault(stint.person_id, {}).setdefault(day, []).append(stint)
    return week


def planned_tasks(plan: Plan | None, *, job: JobRow | None = None) -> dict[int, PlannedTask]:
    """Return who does each task of a plan, from when to when."""
    if plan is None:
        return {}
    rows = Stint.objects.filter(plan=plan)
    if job is not None:
        rows = rows.filter(task__job=job)
    spans = rows.values("task", "person").annotate(begins=Min("starts_at"), ends=Max("ends_at"))
    people = Person.objects.in_bulk({row["person"] for row in spans})
    return {row["task"]: PlannedTask(row["task"], people[row["person"]], row["begins"], row["ends"]) for row in spans}


def planned_starts() -> dict[int, dt.date]:
    """Return the day each task begins in the plan in force."""
    return {key: timezone.localtime(one.starts_at).date() for key, one in planned_tasks(current_plan()).items()}


def planned_ends() -> dict[int, JobEnd]:
    """Return what the plan in force says of each job."""
    return {end.job_id: end for end in JobEnd.objects.filter(plan__is_current=True)}


def planned_end(job: JobRow) -> JobEnd | None:
    """Return what the plan in force says of one job."""
    return JobEnd.objects.filter(plan__is_current=True, job=job).first()


def promise_of(job: JobRow) -> Promise | None:
    """Return the promise that stands for a job."""
    return job.promises.first()


def promises_standing(jobs: Iterable[JobRow]) -> dict[int, Promise]:
    """Return the promise that stands for each of some jobs."""
    standing: dict[int, Promise] = {}
    for promise in Promise.objects.filter(job__in=list(jobs)).order_by("given_at", "pk"):
        standing[promise.job_id] = promise
    return standing


def tasks_unplanned(plan: Plan | None) -> QuerySet[Task]:
    """Return the open tasks of the house that a plan does not hold."""
    return Task.objects.filter(
        job__state__in=(JobRow.State.ACCEPTED, JobRow.State.IN_HOUSE),
        state__in=(Task.State.TO_COME, Task.State.AT_WORK),
    ).exclude(stints__plan=plan)
