"""Questions about the plan and the promises."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Max, Min, Q, QuerySet
from django.utils import timezone

from jobs.operations.models import Operation as Catalogued
from jobs.operations.models import Stage
from jobs.scheduling.models import JobEnd, Plan, Promise, Stint
from jobs.worklist.models import Job as JobRow
from jobs.worklist.models import Task
from workshop.people.models import Person

# Visits at the client's home once the instrument has gone back: agreed one by one, in no plan.
AFTER_RETURN = Q(stage=Stage.FINISH, work_place=Catalogued.WorkPlace.HOME)


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


def plans_offered() -> list[Plan]:
    """Return the ways that wait for the manager's answer, the calmest first."""
    rows = Plan.objects.filter(is_offered=True).select_related("answers", "wish", "made_by")
    return list(rows.order_by("moved", "pk"))


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


def stints_for_calendar(person: Person, until: dt.date) -> list[Stint]:
    """Return what the plan in force gives one person to do, from its beginning to a day, in order."""
    plan = current_plan()
    return list(stints_of(plan, timezone.localdate(plan.made_at), until).filter(person=person)) if plan else []


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
    return JobEnd.objects.filter(plan__is_current=True, job=job).select_related("job__instrument").first()


def promise_of(job: JobRow) -> Promise | None:
    """Return the promise that stands for a job."""
    return job.promises.first()


def promises_standing(jobs: Iterable[JobRow]) -> dict[int, Promise]:
    """Return the promise that stands for each of some jobs."""
    standing: dict[int, Promise] = {}
    rows = Promise.objects.filter(job__in=[job.pk for job in jobs]).select_related("job__instrument")
    for promise in rows.order_by("given_at", "pk"):
        standing[promise.job_id] = promise
    return standing


def tasks_unplanned(plan: Plan | None) -> list[Task]:
    """Return the open tasks of the house that a plan does not hold, visits at the client's home left aside."""
    return list(_outside(plan).exclude(AFTER_RETURN).order_by("job", "position", "pk"))


def visits_unplanned(plan: Plan | None) -> int:
    """Return how many visits at a client's home are still to be agreed; they stand in no plan."""
    return _outside(plan).filter(AFTER_RETURN).count()


def _outside(plan: Plan | None) -> QuerySet[Task]:
    rows = Task.objects.filter(
        job__state__in=(JobRow.State.ACCEPTED, JobRow.State.IN_HOUSE),
        state__in=(Task.State.TO_COME, Task.State.AT_WORK),
    )
    planned = Stint.objects.filter(plan=plan).values("task") if plan else Stint.objects.none().values("task")
    return rows.exclude(pk__in=planned).select_related("job__instrument")


# ---- one plan beside the one before ----------------------------------------------------------------------

NEAR = dt.timedelta(days=14)  # ten working days of most shops


@dataclass(frozen=True)
class Moved:
    """How many tasks of the next two weeks have another person or day than in the plan before."""

    since: Plan
    moved: int
    of: int


def plans_before(plan: Plan, most: int = 10) -> list[Plan]:
    """Return the plans made before one, newest first."""
    rows = Plan.objects.exclude(pk=plan.pk).filter(made_at__lte=plan.made_at, is_offered=False)
    rows = rows.select_related("made_by")
    return list(rows.order_by("-made_at", "-pk")[:most])


def moved_since(plan: Plan) -> Moved | None:
    """Return how far a plan has moved the near work of the plan before it; None when there is none to compare.

    Only tasks both plans hold count, from the later plan's moment on.
    """
    before = next(iter(plans_before(plan, 1)), None)
    if before is None:
        return None
    old, new = _first_stints(before), _first_stints(plan)
    near = {
        task: first for task, first in old.items() if task in new and plan.made_at <= first[1] <= plan.made_at + NEAR
    }
    moved = sum(
        (person, timezone.localdate(starts)) != (new[task][0], timezone.localdate(new[task][1]))
        for task, (person, starts) in near.items()
    )
    return Moved(before, moved, len(near))


def _first_stints(plan: Plan) -> dict[int, tuple[int, dt.datetime]]:
    """Return task -> person and moment of its first stint."""
    firsts: dict[int, tuple[int, dt.datetime]] = {}
    for task, person, starts in plan.stints.order_by("starts_at").values_list("task", "person", "starts_at"):
        firsts.setdefault(task, (person, starts))
    return firsts
