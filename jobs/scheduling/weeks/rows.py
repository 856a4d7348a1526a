"""The plan in force and the house as it stands, as the arithmetic of the weeks reads them."""

import datetime as dt
import statistics
from collections import defaultdict
from dataclasses import dataclass, replace

from django.db.models import Sum
from django.utils import timezone

from jobs.scheduling.calc.load import Planned
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.problem import Stint as Piece
from jobs.scheduling.calc.solution import Solution, Work
from jobs.scheduling.house import House, job_key, person_key, skill_key, task_key
from jobs.scheduling.models import Plan, Stint
from jobs.worklist.models import Job
from workshop.places.models import Place

LATELY = 40  # instruments that went home last: how long owners take to fetch theirs
ENOUGH = 5


@dataclass(frozen=True)
class InForce:
    """What a plan still says from now on. ``overdue``: hours planned for days that are over and not done."""

    stints: tuple[Planned, ...]
    solution: Solution
    overdue: float


def in_force(plan: Plan | None, house: House, now: dt.datetime) -> InForce:
    """Return what a plan says of open work from ``now`` (local) on; nothing without a plan."""
    rows = (
        plan.stints.select_related("task__skill", "task__job").order_by("starts_at") if plan else Stint.objects.none()
    )
    stints: list[Planned] = []
    pieces: dict[str, list[Piece]] = defaultdict(list)
    who: dict[str, str] = {}
    overdue = 0.0
    for row in rows:
        task = task_key(row.task_id)
        if task not in house.tasks:
            continue
        first, last = (timezone.localtime(moment).replace(tzinfo=None) for moment in (row.starts_at, row.ends_at))
        overdue += max(0.0, (min(last, now) - first) / dt.timedelta(hours=1))
        if last <= now:
            continue
        person = person_key(row.person_id)
        stints.append(Planned(person, skill_key(row.task.skill.code), job_key(row.task.job_id), first, last))
        pieces[task].append(Piece(first, last))
        who[task] = person
    return InForce(tuple(stints), Solution({key: Work(who[key], tuple(own)) for key, own in pieces.items()}), overdue)


def with_all_places(problem: Problem) -> Problem:
    """Return the problem with every floor place of the shop, those that finished instruments stand on included."""
    rows = Place.objects.filter(kind=Place.Kind.FLOOR, in_use=True).aggregate(total=Sum("holds"))
    return replace(problem, places=replace(problem.places, floor=rows["total"] or 0))


def days_to_collect() -> int | None:
    """Return the days half of the owners took at most to fetch a finished instrument lately; None when few did."""
    rows = (
        Job.objects.filter(returned_on__isnull=False, finished_on__isnull=False)
        .order_by("-returned_on", "-pk")
        .values_list("finished_on", "returned_on")[:LATELY]
    )
    days = [(returned - finished).days for finished, returned in rows if finished and returned]
    return round(statistics.median(days)) if len(days) >= ENOUGH else None
