"""The planning problem of the whole house."""

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.utils import timezone

from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.house.maker import Hold, HoldKind, Maker
from jobs.scheduling.house.names import job_key, person_key, task_key
from jobs.scheduling.house.rows import people_on_the_bench, places_free, planned_jobs, planned_tasks
from jobs.worklist.models import Job as JobRow
from jobs.worklist.models import Task
from workshop.calendar.queries import closed_days
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.people.models import Person, Skill

__all__ = ["Hold", "HoldKind", "House", "house_problem", "next_slot"]

HORIZON_DAYS = 1100  # public holidays and leave are known to the plan this far ahead


@dataclass(frozen=True)
class House:
    """A problem with the rows behind its names, what holds tasks, and what had to be said while reading."""

    problem: Problem
    tasks: Mapping[str, Task]
    jobs: Mapping[str, JobRow]
    people: Mapping[str, Person]
    skills: Mapping[str, str] = field(default_factory=dict)
    holds: Mapping[str, Hold] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


def house_problem(
    *,
    at: dt.datetime,
    logged: Mapping[int, int] | None = None,
    working: Mapping[int, int] | None = None,
) -> House:
    """Return the problem of the whole house from ``at`` on.

    ``logged``: task -> minutes already worked, ``working``: task -> person who has it in hand; both belong to
    the step of hours and are handed in. Raises ValueError if the shop's own
    week cannot be planned in.
    """
    shop = the_shop()
    now = next_slot(timezone.localtime(at).replace(tzinfo=None), shop)
    closed = closed_days(shop, now.date(), now.date() + dt.timedelta(days=HORIZON_DAYS))
    jobs = {job_key(job.pk): job for job in planned_jobs()}
    tasks = {task_key(task.pk): task for task in planned_tasks(jobs.values())}
    people = {person_key(person.pk): person for person in people_on_the_bench()}
    maker = Maker(shop, now, tasks, people, logged or {}, working or {})
    places, notes = places_free(jobs.values(), tasks.values())
    problem = Problem(
        name=shop.name,
        start=now.date(),
        opens=shop.opens,
        closes=shop.closes,
        technicians=tuple(maker.technician(person) for person in people.values()),
        places=places,
        jobs=tuple(maker.job(job) for job in jobs.values()),
        operations=tuple(maker.operation(task) for task in tasks.values()),
        slot_minutes=shop.slot_minutes,
        workdays=tuple(shop.workdays),
        holidays=tuple(closed),
        now=now,
    )
    holds = {key: hold for key, task in tasks.items() if (hold := maker.hold(task)) is not None}
    skills = dict(Skill.objects.values_list("code", "name"))
    return House(problem, tasks, jobs, people, skills, holds, tuple(notes))


def next_slot(moment: dt.datetime, shop: Shop) -> dt.datetime:
    """Return the first slot of the shop's day that begins at or after a local moment; next morning if none."""
    opens = dt.datetime.combine(moment.date(), shop.opens)
    closes = dt.datetime.combine(moment.date(), shop.closes)
    if moment <= opens:
        return opens
    slots = math.ceil((moment - opens) / dt.timedelta(minutes=shop.slot_minutes))
    start = opens + slots * dt.timedelta(minutes=shop.slot_minutes)
    return start if start < closes else opens + dt.timedelta(days=1)
